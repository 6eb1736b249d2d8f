"""Holes and bits against the drill, screw and rivet tables."""

import pytest

from builds.estimator.accessory import MOUNTINGS, Opening
from builds.estimator.bits import bit_of, bit_text, clearance_mm, fastener_of, hole_mm, pilot_mm, rivet_hole_mm
from builds.estimator.files import catalogue
from builds.estimator.published import rows_of
from tests.estimator.electrics import reference_rows

INCH_MM = 25.4


def hole(fastener=None, diameter_mm=5.2, **changes):
    given = {"shape": "round", "diameter_mm": diameter_mm, "purpose": "fastener", "fastener": fastener, **changes}
    return Opening(**given)


@pytest.mark.parametrize("row", rows_of("drill_sizes"), ids=lambda row: row["size"])
def test_each_drill_of_the_table_names_itself(row):
    # drill_sizes.csv: numbers, letters and fractions with their inches; its millimetres are inches times 25.4.
    size_mm = float(row["decimal_in"]) * INCH_MM
    assert size_mm == pytest.approx(float(row["diameter_mm"]), abs=6e-4)
    bit = bit_of(min(size_mm, 12.99))
    if size_mm < 12.99:
        # Two drills are less than 0.03 mm apart in places; then the smaller does for both.
        assert size_mm - 0.03 <= bit.inch_mm <= size_mm
        assert bit.mm == pytest.approx(size_mm + 0.05, abs=0.0501)


def test_a_drill_is_never_more_than_a_hair_under_its_hole_nor_far_over():
    for tenths in range(10, 130):
        bit = bit_of(tenths / 10)
        assert bit.mm == tenths / 10
        assert -0.03 <= bit.inch_mm - tenths / 10 <= 0.40  # above 10.49 mm only 64ths of an inch (0.397 mm) are left


@pytest.mark.parametrize(
    ("hole_is", "text"),
    [
        (4.9, "4.9 mm, no. 10"),  # 0.1935 in = 4.915 mm
        (5.2, "5.2 mm, no. 6"),  # 0.2040 in = 5.182 mm
        (6.2, "6.2 mm, letter D"),  # 0.2460 in = 6.248 mm
        (3.1, "3.1 mm, 1/8 in"),  # 3.175 mm
        (10.0, "10 mm, letter X"),  # 0.3970 in = 10.084 mm
        (13.0, "13 mm, 33/64 in"),  # 13.097 mm
        (19.0, "19 mm hole saw, 3/4 in"),  # 19.05 mm
        (25.0, "25 mm hole saw, 1 in"),  # 25.4 mm
        (54.0, "54 mm hole saw, 2 1/8 in"),  # 53.975 mm
    ],
)
def test_bits_have_a_name_in_millimetres_and_one_in_inches(hole_is, text):
    assert bit_of(hole_is).text == text


@pytest.mark.parametrize("row", rows_of("iso1478_tapping_thread"), ids=lambda row: row["thread"])
def test_a_pilot_lets_the_core_in_and_leaves_the_thread_its_hold(row):
    # ISO 1478: d2 the core, d1 the thread. The pilot is at or above the core and at most 85 % of the thread.
    pilot = pilot_mm(row["thread"])
    assert float(row["d2_max_mm"]) <= pilot <= 0.85 * float(row["d1_max_mm"])
    assert pilot - float(row["d2_max_mm"]) < 0.1


def test_pilots_are_near_the_drills_that_a_table_recommends_for_light_metal():
    # type_ab_screw_holes.csv (ANSI B18.6.4 screws): the same cores; drills for metal are wider than for plastic.
    for row in reference_rows("type_ab_screw_holes"):
        thread = {"4": "ST2.9", "6": "ST3.5", "7": "ST3.9", "8": "ST4.2", "10": "ST4.8", "12": "ST5.5"}.get(
            row["screw_number"]
        )
        if thread:
            assert (
                INCH_MM * float(row["minor_min_in"]) < pilot_mm(thread) <= INCH_MM * float(row["drill_light_metal_in"])
            )


@pytest.mark.parametrize(("rivet_mm", "inch"), [(2.4, "3/32 in"), (3.2, "1/8 in"), (4.0, "5/32 in"), (6.4, "1/4 in")])
def test_a_rivet_s_hole_lies_between_the_limits_of_the_table(rivet_mm, inch):
    # US Army TM 10-5410-221-14, Table 4-3, as in rivet_and_wellnut_holes.csv.
    row = next(row for row in reference_rows("rivet_and_wellnut_holes") if row["size"] == inch)
    least, most = (INCH_MM * float(row[key]) for key in ("hole_min_in", "hole_max_in"))
    assert least - 0.01 <= rivet_hole_mm(rivet_mm) <= most + 0.01


def test_the_usual_rivet_takes_4_9_mm_and_a_well_nut_10_mm():
    # rivet_and_wellnut_holes.csv: 4.8 mm blind rivet 4.9 (from memory), well nut M5 10 mm (seen).
    holes = {row["size"]: row for row in reference_rows("rivet_and_wellnut_holes")}
    assert rivet_hole_mm(4.8) == float(holes["4.8 mm"]["hole_mm"]) == 4.9
    assert hole_mm(hole("M5"), "well_nut") == float(holes["M5"]["hole_mm"]) == 10.0


def test_a_riveted_bolt_pattern_is_drilled_for_rivets_and_a_well_nutted_one_for_well_nuts():
    for bolt in ("M4", "M5", "M6"):
        assert (fastener_of(hole(bolt), "rivet"), hole_mm(hole(bolt), "rivet")) == ("rivet 4.8", 4.9)
        assert (fastener_of(hole(bolt), "well_nut"), hole_mm(hole(bolt), "well_nut")) == ("well nut M5", 10.0)
    assert fastener_of(hole("rivet 4.8", 4.9), "well_nut") == "well nut M5"
    assert fastener_of(hole("M8", 8.2), "rivet") == "M8"
    assert fastener_of(hole("ST4.2", 3.1), "rivet") == "ST4.2"
    assert fastener_of(hole("M5"), "through_bolt") == "M5"
    assert fastener_of(hole(None, 19, purpose="gland body"), "rivet") is None


def test_a_clearance_hole_is_a_tenth_to_three_tenths_wider_than_its_bolt():
    assert hole_mm(hole("M5", 5.1), "through_bolt") == 5.1
    assert hole_mm(hole("M5", 5.3), "through_bolt") == 5.3
    assert hole_mm(hole("M5", 5.0), "through_bolt") == 5.2  # the bolt would not go through
    assert hole_mm(hole("M5", 7.0), "through_bolt") == 5.2  # a hole too wide cannot be undone
    assert clearance_mm(6) == 6.2


def test_a_hole_for_no_fastener_stays_as_wide_as_its_part():
    assert hole_mm(hole(None, 54, purpose="tube body"), "rivet") == 54


def test_a_slot_is_drilled_at_its_ends_and_a_rectangle_at_its_corners_then_sawn():
    slot = Opening(shape="slot", width_mm=25, height_mm=8, purpose="exit")
    assert hole_mm(slot, "rivet") is None
    assert bit_text(slot, "rivet") == "8 mm, letter O at both ends, then jigsaw"
    square = Opening(shape="rectangle", width_mm=95, height_mm=60, corner_mm=3, purpose="panel body")
    assert bit_text(square, "flush_cutout") == "6 mm, letter B at the corners, then jigsaw"
    assert bit_text(Opening(shape="rectangle", width_mm=95, height_mm=60, purpose="body"), "flush_cutout") == "jigsaw"


def test_every_hole_of_the_catalogue_has_a_bit_under_every_mounting_and_bolts_keep_their_clearance():
    for kind in catalogue().accessories.values():
        for opening in kind.openings:
            for mounting in MOUNTINGS:
                assert bit_text(opening, mounting)
                fastener, drilled = fastener_of(opening, mounting), hole_mm(opening, mounting)
                if fastener and fastener.startswith("M"):
                    assert 0.1 - 1e-9 <= drilled - float(fastener[1:]) <= 0.3 + 1e-9
