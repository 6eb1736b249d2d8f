"""Openings: places, heights above the water, letters, count and room, by hand and by the trade's rules."""

import json
import math
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builds.estimator.document import read_sheet
from builds.estimator.estimate import document, estimate
from builds.estimator.files import catalogue
from builds.estimator.mends import apply
from builds.estimator.openings import letters
from tests.estimator.builders import JOBS, job, jobs, kind, sheet_of
from tests.estimator.electrics import HULL

BOX = 1e6
DECK = {"id": "deck", "name": "Deck", "x_m": 2.0, "y_m": 0.1, "z_m": 0.36, "surface": "deck", "hand_reach": True}
FAR = {**DECK, "id": "far", "name": "Aft deck", "x_m": 3.0}
LOW = {**DECK, "id": "low", "name": "Well floor", "x_m": 2.4, "z_m": 0.14}
PORT = {**DECK, "id": "port", "name": "Port side", "y_m": -0.4, "z_m": 0.26, "surface": "side"}
STARBOARD = {**PORT, "id": "starboard", "name": "Starboard side", "y_m": 0.4}
BOTTOM = {**DECK, "id": "bottom", "name": "Bottom", "y_m": 0.0, "z_m": 0.0, "surface": "bottom"}
INSIDE = {**DECK, "id": "inside", "name": "Hatch, inside", "z_m": 0.05, "surface": "inside"}
# A box of 4.0 m by 0.8 m: 320 kg float it level at 0.1 m in fresh water (1000 * 4.0 * 0.8 * 0.1).
BOAT = {
    **HULL,
    "beam_m": 0.8,
    "mass_kg": 320,
    "cog_z_m": 0.1,
    "waterplane_exponent": BOX,
    "section_exponent": BOX,
    "stations": [DECK, FAR, LOW, PORT, STARBOARD, BOTTOM, INSIDE],
}
DRAFT_MM = 100.0


def hole(dx_mm=0.0, dy_mm=0.0, fastener="M5", diameter_mm=5.2, **changes):
    purpose = "fastener" if fastener else "tube"
    return {
        "shape": "round",
        "diameter_mm": diameter_mm,
        "dx_mm": dx_mm,
        "dy_mm": dy_mm,
        "purpose": purpose,
        "fastener": fastener,
        **changes,
    }


def part(*openings, mountings=("through_bolt", "rivet", "well_nut", "adhesive"), **changes):
    return kind(mountings=list(mountings), openings=list(openings), craft=["sit_on_top_kayak"], **changes)


def fitted_out(parts, lines=None, **changes):
    places = {key: {"station": "deck", **(lines or {}).get(key, {})} for key in parts}
    return estimate(sheet_of(parts, places, hull={**BOAT, **changes.pop("hull", {})}, **changes))


def of(found, code):
    return [caution for caution in found.cautions if caution.code == code]


# Where an opening lies


def test_on_deck_an_opening_lies_aft_and_to_starboard_of_its_line():
    found = fitted_out({"base": part(hole(30, -20))}, {"base": {"offset_m": [0.1, 0.05, 0.0]}})
    (one,) = found.openings
    assert (one.x_mm, one.y_mm, one.z_mm) == pytest.approx((2000 + 100 + 30, 100 + 50 - 20, 360))


def test_on_a_side_the_second_offset_is_up():
    (one,) = fitted_out({"eye": part(hole(30, 15))}, {"eye": {"station": "port"}}).openings
    assert (one.x_mm, one.y_mm, one.z_mm) == pytest.approx((2030, -400, 275))


def test_an_opening_s_own_surface_goes_before_the_station_s():
    (one,) = fitted_out({"pump": part(hole(0, 150, surface="side"))}, {"pump": {"station": "inside"}}).openings
    assert (one.surface, one.z_mm) == ("side", pytest.approx(200))


def test_what_a_deck_pattern_puts_through_the_bottom_lies_at_the_keel_and_not_at_the_deck_s_height():
    found = fitted_out({"drain": part(hole(surface="bottom"))})
    assert found.openings[0].z_mm == 0.0
    assert of(found, "opening_below_water")


def test_a_line_without_a_place_is_reckoned_amidships_on_deck_at_half_depth():
    (one,) = fitted_out({"base": part(hole())}, {"base": {"station": None}}).openings
    assert (one.x_mm, one.y_mm, one.z_mm, one.surface) == pytest.approx((2000, 0, 180, "deck"))


# What is listed and counted


def test_every_unit_s_openings_are_counted_for_the_count_stands_above_the_signature():
    found = fitted_out({"base": part(hole(-20), hole(20))}, {"base": {"quantity": 3}})
    assert len(found.openings) == document(found)["opening_count"] == 6
    assert [one.unit for one in found.openings] == [1, 2, 3, 1, 2, 3]
    assert len({one.place for one in found.openings}) == 3


def test_what_is_inside_or_on_the_boat_already_is_neither_listed_nor_counted():
    parts = {"box": part(hole()), "old": part(hole()), "new": part(hole())}
    lines = {"box": {"station": "inside"}, "old": {"supplied_by": "already_fitted", "station": "far"}}
    assert [one.line for one in fitted_out(parts, lines).openings] == ["new"]


def test_a_customer_s_own_part_is_drilled_for_like_any_other():
    assert len(fitted_out({"base": part(hole())}, {"base": {"supplied_by": "customer"}}).openings) == 1


def test_only_what_the_line_s_mounting_makes_is_listed():
    base = part(hole(mountings=["through_bolt"]), hole(20, mountings=["rivet"]), hole(40))
    assert [one.x_mm for one in fitted_out({"base": base}).openings] == pytest.approx([2000, 2040])
    assert [one.x_mm for one in fitted_out({"base": base}, {"base": {"mounting": "rivet"}}).openings] == pytest.approx(
        [2020, 2040]
    )


@pytest.mark.parametrize(
    ("mounting", "drilled", "fastener"),
    [("through_bolt", 5.2, "M5"), ("rivet", 4.9, "rivet 4.8"), ("well_nut", 10.0, "well nut M5")],
)
def test_the_hole_and_its_fastener_follow_the_line_s_mounting(mounting, drilled, fastener):
    (one,) = fitted_out({"base": part(hole())}, {"base": {"mounting": mounting}}).openings
    assert (one.diameter_mm, one.fastener) == (drilled, fastener)
    assert one.bit.startswith(f"{drilled:g} mm, ")


def test_letters_run_from_the_deck_to_the_bottom_then_aft_then_to_starboard():
    parts = {"keel": part(hole()), "side": part(hole()), "aft": part(hole()), "fore": part(hole(0, 20), hole(0, -20))}
    lines = {"keel": {"station": "bottom"}, "side": {"station": "port"}, "aft": {"station": "far"}}
    found = fitted_out(parts, lines).openings
    assert [(one.letter, one.line) for one in found] == [
        ("A", "fore"),
        ("B", "fore"),
        ("C", "aft"),
        ("D", "side"),
        ("E", "keel"),
    ]
    assert found[0].y_mm < found[1].y_mm


def test_openings_within_a_tenth_of_a_millimetre_go_by_the_order_of_their_lines():
    parts = {"one": part(hole(0.04)), "two": part(hole(0.0)), "three": part(hole(-0.04))}
    assert [one.line for one in fitted_out(parts).openings] == ["one", "two", "three"]


def test_after_z_come_two_letters():
    assert [letters(n) for n in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


@settings(max_examples=12)
@given(st.permutations(range(6)))
def test_the_order_of_the_lines_changes_no_place_height_or_count(order):
    parts = {f"p{i}": part(hole(11 * i), hole(11 * i, 30), hole(7 * i, -30)) for i in range(6)}

    def rows(found):
        return [(one.line, one.letter, one.x_mm, one.y_mm, one.height_above_water_mm) for one in found.openings]

    assert rows(fitted_out({f"p{i}": parts[f"p{i}"] for i in order})) == rows(fitted_out(parts))


# Heights above the water


def test_a_deck_opening_stands_above_the_water_by_its_own_height():
    # Level box: 360 mm of deck less 100 mm of draft. The variants of a box are boxes: the band is nothing.
    (one,) = fitted_out({"base": part(hole(0, -100))}).openings
    assert one.height_above_water_mm == pytest.approx(360 - DRAFT_MM, abs=0.2)
    assert one.height_at_figure_mm == pytest.approx(360 - DRAFT_MM, abs=0.2)


def test_a_side_opening_counts_from_its_lowest_edge():
    (one,) = fitted_out(
        {"skin": part(hole(fastener=None, diameter_mm=25))}, {"skin": {"station": "starboard"}}
    ).openings
    assert one.height_above_water_mm == pytest.approx(260 - 12.5 - DRAFT_MM, abs=0.2)
    slot = {"shape": "slot", "width_mm": 60, "height_mm": 20, "purpose": "exit"}
    (one,) = fitted_out({"exit": part(slot)}, {"exit": {"station": "starboard"}}).openings
    assert one.height_above_water_mm == pytest.approx(260 - 10 - DRAFT_MM, abs=0.2)


def test_a_list_lowers_the_openings_of_the_low_side_and_lifts_the_others():
    # 32 kg at 0.4 m to starboard; the rest of the boat is lighter by as much.
    parts = {"port": part(hole()), "starboard": part(hole())}
    lines = {"port": {"station": "port"}, "starboard": {"station": "starboard"}}
    kit = [{"name": "kit", "mass_kg": 32, "station": "starboard"}]
    found = fitted_out(parts, lines, gear=kit, hull={"mass_kg": 288})
    at = {one.line: one.height_above_water_mm for one in found.openings}
    level, slope = (at["port"] + at["starboard"]) / 2, found.flotation.tan_heel
    assert slope > 0
    assert at["port"] - level == pytest.approx(400 * slope, rel=1e-6)
    assert at["starboard"] - level == pytest.approx(-400 * slope, rel=1e-6)


def test_heights_are_judged_on_the_worst_water_of_the_band():
    found = fitted_out(
        {"base": part(hole())}, hull={"waterplane_exponent": 2.6, "section_exponent": 4.0, "mass_kg": 120}
    )
    (one,) = found.openings
    deepest = found.flotation.band.draft_mid_mm[1]
    assert one.height_above_water_mm == pytest.approx(360 - deepest, abs=2)  # the place is amidships
    assert one.height_above_water_mm < one.height_at_figure_mm


def test_after_a_float_test_the_water_may_still_stand_5_mm_higher():
    hull = {"waterplane_exponent": 2.6, "section_exponent": 4.0, "mass_kg": 40}
    tested = {**hull, "float_test": {"draft_mid_m": 0.11, "load_kg": 110}}
    (one,) = fitted_out({"base": part(hole())}, hull=tested).openings
    assert one.height_above_water_mm == pytest.approx(one.height_at_figure_mm - 5)


def test_where_the_boat_does_not_float_heights_are_not_known_and_holes_are_still_listed():
    found = fitted_out(
        {"base": part(hole())}, hull={"mass_kg": 900}, gear=[{"name": "lead", "mass_kg": 900, "station": "deck"}]
    )
    assert not found.flotation.fits
    assert [one.height_above_water_mm for one in found.openings] == [None]
    assert not of(found, "opening_below_water") and not of(found, "opening_low")


def test_nothing_is_drilled_below_the_loaded_waterline():
    found = fitted_out({"eye": part(hole(0, -165))}, {"eye": {"station": "port"}})
    (stop,) = of(found, "opening_below_water")
    assert stop.severity == "stop"
    assert stop.figures["height_above_water_mm"] == pytest.approx(260 - 165 - 2.6 - DRAFT_MM, abs=0.2)
    assert "under the loaded waterline" in stop.sentence


def test_what_is_made_to_sit_below_the_water_may():
    keel = part(hole(), may_sit_below_water=True, opening_min_height_mm=0)
    found = fitted_out({"keel": keel}, {"keel": {"station": "bottom"}})
    assert found.openings[0].height_above_water_mm == pytest.approx(-DRAFT_MM, abs=0.2)
    assert not of(found, "opening_below_water") and not of(found, "opening_low")


@pytest.mark.parametrize(("least_mm", "low"), [(None, True), (30, False), (50, True)])
def test_an_opening_wants_the_height_of_its_type_75_mm_where_none_is_named(least_mm, low):
    # The well floor stands 40 mm above the water. 75 mm: common practice, no source.
    found = fitted_out({"base": part(hole(), opening_min_height_mm=least_mm)}, {"base": {"station": "low"}})
    assert found.openings[0].height_above_water_mm == pytest.approx(40, abs=0.3)
    assert bool(of(found, "opening_low")) == low


def test_a_low_opening_is_offered_places_that_are_high_enough_and_each_clears_it():
    sheet = sheet_of({"base": part(hole())}, {"base": {"station": "low"}}, hull=BOAT)
    (caution,) = of(estimate(sheet), "opening_low")
    assert [mend["station"] for mend in caution.mends] == ["deck", "far"]  # the nearest first
    for mend in caution.mends:
        assert not of(estimate(apply(sheet, mend)), "opening_low")


def test_a_low_opening_in_the_side_is_offered_a_place_further_up():
    sheet = sheet_of({"eye": part(hole(0, -120))}, {"eye": {"station": "port"}}, hull=BOAT)
    (caution,) = of(estimate(sheet), "opening_low")
    assert caution.mends[0]["offset_m"] == pytest.approx((0.0, 0.0, 0.038))  # 260 - 120 - 2.6 - 100 + 38 = 75.4
    assert not of(estimate(apply(sheet, caution.mends[0])), "opening_low")


# Room


def test_outlines_of_two_lines_that_cross_stop_the_quote_and_name_both():
    found = fitted_out({"one": part(hole(fastener=None, diameter_mm=54)), "two": part(hole(28))})
    (stop,) = of(found, "openings_overlap")
    assert (stop.severity, stop.figures["lines"]) == ("stop", ("one", "two"))


def test_two_lines_of_one_type_at_one_place_cross_hole_by_hole():
    found = fitted_out({"one": part(hole()), "two": part(hole())}, {"two": {"accessory": "one_type"}})
    assert [stop.figures["lines"] for stop in of(found, "openings_overlap")] == [("one", "two")]


def test_the_units_of_one_line_are_laid_out_at_the_bench():
    assert not of(fitted_out({"one": part(hole())}, {"one": {"quantity": 4}}), "openings_overlap")


def test_what_is_on_the_boat_already_takes_part():
    found = fitted_out({"old": part(hole()), "new": part(hole(4))}, {"old": {"supplied_by": "already_fitted"}})
    (stop,) = of(found, "openings_overlap")
    assert stop.line == "new"


def test_port_and_starboard_are_two_surfaces():
    parts = {"one": part(hole()), "two": part(hole())}
    assert not of(fitted_out(parts, {"one": {"station": "port"}, "two": {"station": "starboard"}}), "openings_overlap")


def test_holes_of_two_lines_want_the_larger_diameter_between_them():
    near = fitted_out({"one": part(hole()), "two": part(hole(10))})
    (caution,) = of(near, "opening_near_edge")
    assert caution.severity == "caution"
    assert caution.figures["gap_mm"] == pytest.approx(10 - 5.2)
    assert not of(fitted_out({"one": part(hole()), "two": part(hole(10.4))}), "opening_near_edge")  # 5.2 mm apart


def test_crossing_and_crowding_are_offered_moves_that_clear_them():
    for dx in (4, 10):
        sheet = sheet_of(
            {"one": part(hole()), "two": part(hole(dx))}, {k: {"station": "deck"} for k in ("one", "two")}, hull=BOAT
        )
        (caution,) = of(estimate(sheet), "openings_overlap") + of(estimate(sheet), "opening_near_edge")
        assert caution.mends
        for mend in caution.mends:
            mended = estimate(apply(sheet, mend))
            assert not of(mended, "openings_overlap") and not of(mended, "opening_near_edge")


@pytest.mark.parametrize(("dy_mm", "near"), [(284.5, True), (284.3, False)])
def test_a_deck_hole_wants_three_diameters_to_the_gunwale(dy_mm, near):
    # Half the beam is 400 mm, the line sits at 100: 400 - 384.4 = 15.6 = 3 * 5.2 mm. Common practice, no source.
    assert bool(of(fitted_out({"base": part(hole(0, dy_mm))}), "opening_near_edge")) == near


@pytest.mark.parametrize(("dy_mm", "near"), [(84.5, True), (84.3, False)])
def test_a_side_hole_wants_three_diameters_to_the_gunwale(dy_mm, near):
    # The line sits 100 mm under the gunwale.
    found = fitted_out({"eye": part(hole(0, dy_mm))}, {"eye": {"station": "port"}})
    assert bool(of(found, "opening_near_edge")) == near


def test_a_large_cut_out_wants_75_mm_to_the_gunwale_and_no_more():
    # A diameter counts as at most 25 mm.
    for dy_mm, near in ((224.9, False), (225.1, True)):
        found = fitted_out({"hatch": part(hole(0, dy_mm, fastener=None, diameter_mm=160))})
        assert bool(of(found, "opening_near_edge")) == near


def test_too_near_the_gunwale_is_offered_a_move_inboard_that_clears_it():
    for station, dy_mm in (("deck", 290), ("port", 90)):
        sheet = sheet_of({"base": part(hole(0, dy_mm))}, {"base": {"station": station}}, hull=BOAT)
        (caution,) = of(estimate(sheet), "opening_near_edge")
        assert len(caution.mends) == 1
        assert not of(estimate(apply(sheet, caution.mends[0])), "opening_near_edge")


def test_a_move_that_would_bring_a_stop_is_not_offered():
    # Down the side from the gunwale the hole meets another line's.
    parts = {"high": part(hole(0, 95)), "below": part(hole(0, 84), hole(0, 79))}
    found = fitted_out(parts, {key: {"station": "port"} for key in parts})
    caution = next(one for one in of(found, "opening_near_edge") if one.figures["lines"] == ("high",))
    assert caution.mends == ()


# The ten jobs and many random sheets


@pytest.mark.parametrize("name", jobs())
def test_each_job_s_schedule_counts_what_its_lines_drill(name):
    sheet = job(name)
    found = estimate(sheet)
    wanted = sum(
        one.quantity
        for one in found.fitted
        if one.is_new
        for opening in one.openings
        if (opening.surface or one.station.surface) != "inside"
    )
    assert len(found.openings) == wanted
    assert [one.letter for one in found.openings] == [letters(n) for n in range(wanted)]
    keys = [(("deck", "side", "bottom").index(o.surface), round(o.x_mm, 1), round(o.y_mm, 1)) for o in found.openings]
    assert keys == sorted(keys)


def test_heights_of_a_job_are_those_of_its_waterlines():
    found = estimate(job("first_fishing_rig"))
    hull = found.sheet.hull
    for one in found.openings:
        low_mm = one.z_mm - (one.diameter_mm / 2 if one.surface == "side" else 0)
        waters = [
            1000 * water.level_m(hull.length_m, one.x_mm / 1000, one.y_mm / 1000)
            for water in found.flotation.waterlines
        ]
        assert one.height_above_water_mm == pytest.approx(low_mm - max(waters), abs=1e-6)


@pytest.mark.parametrize("name", ["night_lights", "first_fishing_rig"])
def test_any_place_for_any_line_gives_finite_figures_and_sentences(name):
    record = json.loads((JOBS / f"{name}.json").read_text(encoding="utf-8"))
    draw = random.Random(name)
    stations = [station["id"] for station in record["hull"]["stations"]] + [None]
    for _ in range(25):
        for line in record["lines"]:
            line["station"] = draw.choice(stations)
            line["offset_m"] = [draw.uniform(-2, 2), draw.uniform(-1, 1), draw.uniform(-0.5, 0.5)]
        found = estimate(read_sheet(record, catalogue()))
        for one in found.openings:
            assert math.isfinite(one.height_above_water_mm or 0.0)
        assert not any("nan" in caution.sentence for caution in found.cautions)


def test_an_estimate_with_its_lines_turned_round_lists_the_same_holes():
    sheet = job("first_fishing_rig")
    turned = replace(sheet, lines=tuple(reversed(sheet.lines)))

    def holes(found):
        return sorted((o.line, o.x_mm, o.y_mm, o.z_mm, o.bit) for o in found.openings)

    assert holes(estimate(sheet)) == holes(estimate(turned))
