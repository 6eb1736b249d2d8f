"""Flotation (method, section 2): balance, closed forms, published examples, and rules of the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.estimator.estimate import document, estimate
from builds.estimator.files import catalogue
from builds.estimator.fitted import fit_lines
from builds.estimator.flotation_cautions import tank_cautions
from builds.estimator.specs import Unusable
from tests.estimator.builders import estimated, job, jobs, part, reference_rows
from tests.estimator.electrics import HULL, sheet_of

BOX = 1e6
MID = {"id": "mid", "name": "middle", "x_m": 2.0, "y_m": 0.0, "z_m": 0.1, "surface": "deck"}
AFT = {**MID, "id": "aft", "x_m": 2.6}
SIDE = {**MID, "id": "side", "y_m": 0.3}
STATIONS = [MID, AFT, SIDE]


def hull(**changes):
    return {**HULL, "stations": STATIONS, **changes}


def floated(gear=((100.0, "mid"),), *, parts=None, lines=None, water="fresh", **changes):
    """The estimate of a hull with gear aboard: kilograms and station of each."""
    items = [{"name": "kit", "mass_kg": mass, "station": station} for mass, station in gear]
    return estimated(parts or {}, lines, hull=hull(**changes), gear=items, water=water)


def codes(found):
    return [caution.code for caution in found.cautions]


def caution(found, code):
    return next(one for one in found.cautions if one.code == code)


def example(row):
    return next(r for r in reference_rows("hydrostatics_examples") if r["id"] == row)


# Closed forms and published examples


def test_the_parabolic_hull_laden_to_its_gunwale_has_the_closed_form_s_draft_and_stability():
    """wigley_hull_closed_form.csv: 128 kg in fresh water, 12 cm of draft, KB 75 mm, BM 257 mm; a little less fits."""
    found = floated(
        ((128 * 0.999 - 20, "mid"),),
        length_m=4,
        beam_m=0.6,
        depth_m=0.12,
        mass_kg=20,
        waterplane_exponent=2,
        section_exponent=2,
    ).flotation
    assert found.fits
    assert found.greatest_load_kg == pytest.approx(128 - 20, rel=1e-3)
    assert found.draft_mid_mm == pytest.approx(120 - 0.128 / 1.6, rel=1e-3)
    assert found.kb_mm == pytest.approx(75, rel=2e-3)
    assert found.bm_mm == pytest.approx(257.143, rel=2e-3)


def test_a_box_floats_at_its_mass_over_its_waterplane():
    """By hand: 288 kg on 4.0 m x 0.6 m of fresh water is 120 mm; KB 60 mm; BM = B^2 / (12 T) = 250 mm."""
    found = floated(
        ((268, "mid"),), length_m=4, beam_m=0.6, depth_m=0.4, mass_kg=20, waterplane_exponent=BOX, section_exponent=BOX
    ).flotation
    assert found.draft_mid_mm == pytest.approx(120, rel=1e-3)
    assert found.kb_mm == pytest.approx(60, rel=1e-3)
    assert found.bm_mm == pytest.approx(250, rel=1e-3)
    assert found.immersion_kg_per_cm == pytest.approx(24, rel=1e-3)
    assert found.freeboard_mm == pytest.approx(280, rel=1e-3)


def test_tonnes_per_centimetre_are_those_of_the_published_example():
    """hydrostatics_examples.csv h9, h10: 2926.83 m2 of fresh water carry 29.268 t a centimetre; 1/100 of the length."""
    area_m2 = float(example("h9")["published"]) / 1e3
    found = floated(
        length_m=3.0, beam_m=area_m2 / 3.0, depth_m=1, waterplane_exponent=BOX, section_exponent=BOX
    ).flotation
    assert found.immersion_kg_per_cm == pytest.approx(float(example("h10")["published"]), rel=1e-3)


def test_the_list_is_that_of_the_published_example():
    """hydrostatics_examples.csv h26: W 5000 t, GM 0.3 m, 20 t moved 5 m list her 3.8 deg (3.814); here in kilograms."""
    assert listed_box() == pytest.approx(float(example("h26")["recomputed"]), rel=1e-3)


def test_the_list_is_moment_over_weight_and_metacentric_height():
    found = floated(((100.0, "mid"), (10.0, "side")))
    lever_m = 10.0 * 0.3 / found.weights.displacement_kg
    expected = math.degrees(math.atan(lever_m / (found.flotation.gm_mm / 1000)))
    assert found.flotation.heel_deg == pytest.approx(expected, rel=1e-9)


def listed_box():
    """The list of a box of 5000 kg and GM 0.3 m with 20 kg 5 m off the centreline."""
    length, beam = 12.0, 2.0
    draft = 5.0 / (length * beam)
    kg = draft / 2 + beam**2 / (12 * draft) - 0.3
    place = {"x_m": 6.0, "surface": "deck", "name": "place"}
    stations = [{**place, "id": "mid", "y_m": 0.0, "z_m": kg}, {**place, "id": "out", "y_m": 5.0, "z_m": kg}]
    found = floated(
        ((960, "mid"),) * 5 + ((20, "out"),),
        length_m=length,
        beam_m=beam,
        depth_m=2.0,
        mass_kg=180,
        cog_z_m=kg,
        waterplane_exponent=BOX,
        section_exponent=BOX,
        stations=stations,
    )
    assert found.weights.displacement_kg == pytest.approx(5000)
    assert found.flotation.gm_mm == pytest.approx(300, rel=1e-3)
    return found.flotation.heel_deg


@pytest.mark.parametrize("name", jobs())
def test_every_job_floats_and_is_balanced_within_the_method_s_tolerance(name):
    found = estimate(job(name)).flotation
    assert found.fits
    assert abs(found.volume_error) < 1e-6
    assert abs(found.arm_error_m) < 1e-6
    assert found.trim_mm == pytest.approx(found.draft_stern_mm - found.draft_bow_mm)
    assert found.draft_mid_mm == pytest.approx((found.draft_bow_mm + found.draft_stern_mm) / 2)


# Float test and band


def test_a_float_test_gives_its_draft_back_at_its_load():
    """The load of the test on the level hull: the draft that was measured."""
    found = floated(((110.0, "mid"),), float_test={"draft_mid_m": 0.115, "load_kg": 110.0}).flotation
    assert found.float_tested
    assert found.draft_mid_mm == pytest.approx(115.0, abs=1e-6)
    assert found.band.draft_mid_mm == pytest.approx((110.0, 120.0), abs=1e-6)
    assert found.band.freeboard_mm == pytest.approx((found.freeboard_mm - 5, found.freeboard_mm + 5))
    assert found.band.trim_mm == pytest.approx((found.trim_mm - 10, found.trim_mm + 10))
    assert found.band.deck_freeboard_mm is None


def test_a_float_test_out_of_reach_names_the_drafts_that_are_in_reach():
    """By hand, n = 2.6: the sections hold V / (B L n/(n+1)) = 144/1000 m3 over 3.36 m2 x 0.7222 = 59.3 mm mean depth.

    p = 1: u^2/2 = 0.0593/0.36, u = 0.574, draft 0.2067 m; p = 40: u - 1/41 = 0.1648, u = 0.1892, draft 0.0681 m.
    """
    with pytest.raises(Unusable) as refused:
        floated(float_test={"draft_mid_m": 0.3, "load_kg": 110.0})
    (problem,) = refused.value.problems
    assert problem.path == "hull.float_test.draft_mid_m"
    # What is named is within reach: rounded inwards.
    assert "from 0.0682 to 0.2067" in problem.message


def test_a_float_test_that_no_hull_of_these_dimensions_carries_is_refused():
    with pytest.raises(Unusable, match="no hull of these dimensions"):
        floated(float_test={"draft_mid_m": 0.3, "load_kg": 999.0}, depth_m=0.3)


def test_the_same_boat_floats_higher_in_the_sea():
    fresh, sea = (floated(water=water).flotation for water in ("fresh", "sea"))
    assert sea.draft_mid_mm < fresh.draft_mid_mm
    assert sea.greatest_load_kg > fresh.greatest_load_kg


def test_a_float_test_counts_in_the_water_of_the_sheet():
    """Nothing says in which water the boat was tested; the same draft at the same load is the cautious reading."""
    tested = {"float_test": {"draft_mid_m": 0.115, "load_kg": 110.0}}
    for water in ("fresh", "sea"):
        found = floated(((110.0, "mid"),), water=water, **tested).flotation
        assert found.draft_mid_mm == pytest.approx(115.0, abs=1e-6)


def test_without_a_float_test_the_band_is_that_of_a_finer_and_a_fuller_form():
    """The variants (0.85 n, 0.7 p) and (1.15 n, 1.4 p), each as a hull of its own."""
    found = floated(((100.0, "aft"), (5.0, "side"))).flotation
    others = [
        floated(((100.0, "aft"), (5.0, "side")), waterplane_exponent=2.6 * by_n, section_exponent=4.0 * by_p).flotation
        for by_n, by_p in ((0.85, 0.7), (1.15, 1.4))
    ]
    for figure in ("draft_mid_mm", "trim_mm", "freeboard_mm"):
        three = [getattr(one, figure) for one in (found, *others)]
        assert getattr(found.band, figure) == pytest.approx((min(three), max(three)))


def test_an_exponent_of_a_variant_is_never_below_one():
    found = floated(waterplane_exponent=1.0, section_exponent=1.1).flotation
    assert min(water.waterplane_exponent for water in found.waterlines) == 1.0
    assert min(water.section_exponent for water in found.waterlines) == 1.0


def test_a_variant_that_does_not_fit_leaves_no_band_and_is_said():
    most = floated().flotation.greatest_load_kg
    found = floated(((most * 0.98, "mid"),), cog_z_m=0.0)
    assert found.flotation.fits
    assert found.flotation.band.draft_mid_mm is None
    assert caution(found, "may_not_fit").severity == "caution"


# What fits


@pytest.mark.parametrize("station", ["mid", "aft"])
@pytest.mark.parametrize("shape", [(2.6, 4.0), (1.2, 1.5), (6.0, 30.0), (BOX, BOX)])
def test_just_under_the_greatest_load_floats_and_just_over_does_not(station, shape):
    """All weight at one place, so that more of it leaves the centre of gravity where it is."""
    place = next(s for s in STATIONS if s["id"] == station)
    form = {"waterplane_exponent": shape[0], "section_exponent": shape[1], "cog_x_m": place["x_m"], "cog_z_m": 0.1}
    most = floated(((10.0, station),), **form).flotation.greatest_load_kg
    for share, fits in ((0.999, True), (1.001, False)):
        heap = ((most * share / 2, station),) * 2
        found = floated(heap, **form).flotation
        assert found.fits is fits
        assert found.greatest_load_kg == pytest.approx(most, rel=1e-6)


def test_what_does_not_fit_stops_with_the_greatest_load_and_no_other_figure():
    found = floated(((999.0, "mid"),))
    flotation = document(found)["flotation"]
    assert flotation["fits"] is False
    assert flotation["greatest_load_kg"] > 300
    for figure in ("draft_mid_mm", "draft_bow_mm", "trim_mm", "heel_deg", "gm_mm", "freeboard_mm", "kb_mm"):
        assert flotation[figure] is None
    assert set(flotation["band"].values()) == {None}
    stop = caution(found, "does_not_fit")
    assert stop.severity == "stop"
    assert stop.figures["greatest_load_kg"] == pytest.approx(flotation["greatest_load_kg"])
    assert stop.mends[0]["do"] == "remove_mass"


def test_weight_at_the_very_end_is_told_to_move_and_not_to_come_off():
    bow = {**MID, "id": "bow", "x_m": 0.02}
    found = floated(((150.0, "bow"),), stations=[bow])
    assert not found.flotation.fits
    stop = caution(found, "does_not_fit")
    assert stop.severity == "stop"
    assert "too far from the middle" in stop.sentence
    assert stop.mends == ()


def test_a_greatest_load_counts_the_hull_where_the_rating_does():
    bare, whole = (floated(rating_includes_hull=flag).flotation.greatest_load_kg for flag in (False, True))
    assert whole - bare == pytest.approx(34.0)


# Floors, heel, stability, tanks


WELL = {"id": "floor", "name": "floor", "x_m": 2.0, "y_m": 0.0, "surface": "deck", "well_half_width_m": 0.2}


def floor(z_m, gear=((100.0, "mid"),), **changes):
    return floated(gear, stations=[*STATIONS, {**WELL, "z_m": z_m}], **changes)


def test_a_floor_stands_above_the_water_by_its_height_less_the_water_at_its_lower_edge():
    level = floated().flotation.draft_mid_mm
    assert floor(0.12).flotation.deck_freeboard_mm == pytest.approx(120 - level)
    listed = floor(0.12, ((100.0, "mid"), (10.0, "side"))).flotation
    lower = listed.draft_mid_mm + 200 * math.tan(math.radians(listed.heel_deg))
    assert listed.deck_freeboard_mm == pytest.approx(120 - lower)


def test_a_floor_under_water_is_a_strong_caution_and_a_low_one_a_caution():
    level_m = floated().flotation.draft_mid_mm / 1000
    awash, low, dry = (floor(level_m + by) for by in (-0.005, 0.010, 0.030))
    assert caution(awash, "deck_awash").figures["strong"] is True
    assert caution(awash, "deck_awash").severity == "caution"
    assert "deck_low" in codes(low) and "deck_awash" not in codes(low)
    assert not {"deck_low", "deck_awash"} & set(codes(dry))
    assert caution(awash, "deck_awash").mends[0]["do"] == caution(low, "deck_low").mends[0]["do"] == "remove_mass"


def test_a_boat_without_such_a_floor_has_no_figure_for_it():
    assert floated().flotation.deck_freeboard_mm is None


def test_without_stability_no_heel_is_given():
    tall = floated(((200.0, "high"),), stations=[{**MID, "id": "high", "z_m": 0.9}])
    assert tall.flotation.gm_mm < 20
    assert tall.flotation.heel_deg is None
    assert caution(tall, "stability_low").figures["strong"] is True
    assert tall.flotation.band.freeboard_mm is None
    assert tall.flotation.band.draft_mid_mm is not None


def test_a_large_list_says_at_least_and_offers_the_other_side():
    lead = part(0, 0, 0, mass_kg=60.0)
    stations = [*STATIONS, {**SIDE, "id": "port", "y_m": -0.3}]
    gear = ((60.0, "port"), (20.0, "mid"))
    level = floated(gear, parts={"lead": lead}, lines={"lead": {"station": "side"}}, stations=stations)
    assert "heel_large" not in codes(level)
    listing = floated(((80.0, "mid"),), parts={"lead": lead}, lines={"lead": {"station": "side"}}, stations=stations)
    assert listing.flotation.heel_deg > 6
    found = caution(listing, "heel_large")
    # The true list is larger, so the true freeboard is less: the figure is the most that can be counted on.
    assert "at least" in found.sentence and "the most there is" in found.sentence
    assert {"do": "move", "line": "lead", "station": "mid"} in found.mends
    assert {"do": "move", "line": "lead", "station": "port"} not in found.mends


def test_a_tank_that_holds_water_is_named():
    tank = part(0, 0, 0, mass_kg=2.0, mass_in_use_kg=22.0)
    wet = part(0, 0, 0, mass_kg=2.0, mass_in_use_kg=2.9)
    places = {"tank": {"station": "aft"}, "wet": {"station": "aft"}}
    aboard = floated(parts={"tank": tank, "wet": wet}, lines=places).cautions
    found = [one for one in aboard if one.code == "free_surface"]
    assert [one.line for one in found] == ["tank"]


def test_a_crate_is_heavier_in_use_and_is_no_tank():
    crate = part(0, 0, 0, mass_kg=2.5, mass_in_use_kg=9.0)
    assert "free_surface" not in codes(floated(parts={"crate": crate}, lines={"crate": {"station": "aft"}}))


def test_the_catalogue_s_only_tank_is_the_bait_tank():
    kinds = catalogue().accessories.values()
    heavier = {kind.id: kind for kind in kinds if kind.in_use_kg > kind.mass_kg}
    assert len(heavier) > 1
    sheet = sheet_of({"rig": part(0, 0, 0)}, {"rig": {"station": None}})
    fitted = [replace(fit_lines(sheet)[0], kind=kind) for kind in heavier.values()]
    assert [one.figures["held_kg"] for one in tank_cautions(fitted)] == [
        heavier["live_bait_tank"].in_use_kg - heavier["live_bait_tank"].mass_kg
    ]


def test_a_list_that_brings_the_gunwale_to_the_water_is_said_and_mended():
    lead = part(0, 0, 0, mass_kg=150.0)
    lines = {"lead": {"station": "side"}}
    found = floated(((90.0, "mid"),), parts={"lead": lead}, lines=lines)
    assert found.flotation.fits
    assert found.flotation.freeboard_mm < 0
    awash = caution(found, "gunwale_awash")
    assert awash.figures["strong"]
    assert {"do": "move", "line": "lead", "station": "mid"} in awash.mends
    assert "gunwale_awash" not in codes(
        floated(((90.0, "mid"),), parts={"lead": lead}, lines={"lead": {"station": "mid"}})
    )


def test_freeboard_is_the_least_over_the_whole_length():
    """Against every millimetre of the length."""
    found = floated(((100.0, "aft"), (20.0, "side"))).flotation
    x = np.linspace(0, 4.0, 4001)
    water = found.draft_mid_mm / 1000 + (x - 2) * found.tan_trim
    full = 1 - np.abs(x / 2 - 1) ** 2.6
    heights = 0.36 - water - 0.42 * full * abs(found.tan_heel)
    assert found.freeboard_mm == pytest.approx(1000 * heights.min(), abs=1e-2)


# Rules over many boats


def boats():
    return st.fixed_dictionaries(
        {
            "length_m": st.floats(2.0, 6.0),
            "beam_m": st.floats(0.5, 1.1),
            "depth_m": st.floats(0.2, 0.5),
            "waterplane_exponent": st.floats(1.2, 8.0),
            "section_exponent": st.floats(1.2, 12.0),
        }
    )


@given(boats(), st.floats(20, 150), st.floats(0.5, 60))
def test_more_load_never_floats_higher(boat, load, more):
    stations = [{**MID, "x_m": boat["length_m"] / 2}]
    light, laden = (floated(((mass, "mid"),), stations=stations, **boat).flotation for mass in (load, load + more))
    if laden.fits:
        assert light.fits
        assert laden.draft_mid_mm > light.draft_mid_mm
        assert laden.freeboard_mm < light.freeboard_mm + 1e-6


@given(boats(), st.floats(0.2, 0.8), st.floats(0.005, 0.3))
def test_moving_weight_aft_never_trims_by_the_bow(boat, at, by):
    length = boat["length_m"]
    before, after = (
        floated(((60.0, "mid"),), stations=[{**MID, "x_m": length * x}], **boat).flotation
        for x in (at, min(at + by, 0.95))
    )
    if before.fits and after.fits:
        assert after.trim_mm >= before.trim_mm - 1e-6


@given(st.permutations(range(5)))
def test_the_order_of_lines_does_not_matter(order):
    parts = {f"p{i}": part(0, 0, 0, mass_kg=3.7 * (i + 1)) for i in range(5)}
    places = {f"p{i}": {"station": ("mid", "aft", "side")[i % 3]} for i in range(5)}
    plain = floated(parts=parts, lines=places).flotation
    mixed = floated(parts={f"p{i}": parts[f"p{i}"] for i in order}, lines=places).flotation
    assert mixed.draft_mid_mm == pytest.approx(plain.draft_mid_mm, rel=1e-12)
    assert mixed.trim_mm == pytest.approx(plain.trim_mm, rel=1e-9)
    assert mixed.heel_deg == pytest.approx(plain.heel_deg, rel=1e-9)
