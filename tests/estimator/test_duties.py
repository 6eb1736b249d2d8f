"""Cautions that follow from what is on the ticket (method, section 9)."""

import pytest

from tests.estimator.builders import estimated, part, reference_rows
from tests.estimator.electrics import HULL

HOLE = {"shape": "round", "diameter_mm": 5.2, "purpose": "fastener", "fastener": "M5"}


def codes(parts=None, lines=None, **changes):
    return {c.code: c.severity for c in estimated(parts or {}, lines, **changes).cautions}


def bolted(**changes):
    return {
        **part(5, 5, 5),
        "craft": ["sit_on_top_kayak"],
        "mountings": ["through_bolt", "rivet"],
        "openings": [HOLE],
        **changes,
    }


@pytest.mark.parametrize("row", reference_rows("hin_examples"), ids=lambda row: row["hin"])
def test_hull_numbers_are_judged_by_the_published_format(row):
    """Source: hin_examples.csv, 33 CFR 181.25 (2015)."""
    found = codes(hull={**HULL, "hull_number": row["hin"]})
    assert ("hull_number_malformed" in found) == (row["format_verdict"] == "invalid")


def test_a_bolt_where_no_hand_reaches_is_cautioned_with_a_rivet_as_mend():
    found = estimated({"rod": bolted()})
    caution = next(c for c in found.cautions if c.code == "no_hand_reach")
    assert caution.severity == "caution"
    assert {"do": "remount", "line": "rod", "mounting": "rivet"} in caution.mends


def test_a_rivet_needs_no_hand_behind():
    assert "no_hand_reach" not in codes({"rod": bolted()}, {"rod": {"mounting": "rivet"}})


def test_a_part_not_made_for_the_craft_is_cautioned():
    assert codes({"rod": bolted(craft=["canoe"])})["craft_mismatch"] == "caution"


def test_a_drilling_mounting_without_a_pattern_says_measure_the_part():
    assert codes({"rod": bolted(openings=[])})["pattern_unknown"] == "caution"


def test_a_brass_insert_needs_inserts_on_the_hull():
    insert = bolted(mountings=["brass_insert"], openings=[])
    assert codes({"rod": insert})["mounting_unavailable"] == "caution"
    found = codes({"rod": insert}, hull={**HULL, "provides": ["brass_inserts_bow"]})
    assert "mounting_unavailable" not in found
    assert "insert_torque" in found


def test_what_is_bedded_or_bonded_is_not_afloat_before_its_cure():
    bead = {"seal": {"kind": "bead", "bead_mm": 5}, "cure_h": 24}
    assert "cure_before_float" in codes({"rod": bolted(**bead)})
    assert "cure_before_float" in codes({"pad": bolted(mountings=["adhesive"], openings=[], cure_h=48)})
    on_track = bolted(
        mountings=["through_bolt", "gear_track_t_bolt"], openings=[{**HOLE, "mountings": ["through_bolt"]}], **bead
    )
    assert "cure_before_float" not in codes({"rod": on_track}, {"rod": {"mounting": "gear_track_t_bolt"}})


def test_a_motor_lights_and_a_lithium_battery_bring_their_duties():
    motor = {"voltage_v": 12, "typical_a": 10, "max_a": 30, "propulsion": True, "drop_class": "propulsion"}
    assert codes({"motor": bolted(load=motor)})["motor_duties"] == "caution"
    assert codes({"lamp": bolted(category="lights")})["lights_after_dark"] == "caution"
    cell = {
        "voltage_v": 12.8,
        "system_v": 12,
        "rated_ah": 20,
        "hour_rate": 20,
        "chemistry": "lfp",
        "max_continuous_a": 20,
    }
    assert codes({"cell": bolted(battery=cell)})["lithium_care"] == "caution"
    assert "lithium_care" not in codes({"cell": bolted(battery={**cell, "chemistry": "agm"})})


def test_parts_that_the_customer_brings_are_said():
    assert codes({"rod": bolted()}, {"rod": {"supplied_by": "customer"}})["customer_parts"] == "caution"


def test_a_missing_float_test_is_a_note_and_an_old_hull_a_caution():
    assert codes()["no_float_test"] == "note"
    assert codes(hull={**HULL, "old": True})["old_hull"] == "caution"
    tested = {**HULL, "float_test": {"draft_mid_m": 0.10, "load_kg": 90.0}}
    assert "no_float_test" not in codes(hull=tested)


def test_every_caution_names_a_source_that_is_listed():
    from builds.estimator.sources import SOURCES

    found = estimated({"rod": bolted(category="lights")}, hull={**HULL, "old": True, "hull_number": "X"})
    assert {c.source for c in found.cautions} <= set(SOURCES)


def hatch(**changes):
    """A round access hatch that a hand goes through."""
    cut = {"shape": "round", "diameter_mm": 160, "purpose": "hatch opening"}
    return bolted(category="hatches_and_deck", openings=[cut], mountings=["flush_cutout"], price="25.00", **changes)


def test_a_bolt_without_reach_is_offered_the_cheapest_access_hatch_with_its_price_and_minutes():
    dear = {**hatch(), "price": "120.00"}
    found = estimated({"rod": bolted()}, offered={"round": hatch(), "large": dear})
    caution = next(c for c in found.cautions if c.code == "no_hand_reach")
    assert {"do": "add", "accessory": "round", "station": "x0", "for": "rod"} in caution.mends
    assert (str(caution.figures["hatch_price"]), caution.figures["hatch_minutes"]) == ("25.00", 5)


def test_a_hatch_within_an_arms_length_gives_the_reach_and_one_farther_off_does_not():
    assert "no_hand_reach" not in codes({"rod": bolted(), "round": hatch()})
    assert "no_hand_reach" in codes({"rod": bolted(), "round": hatch()}, {"round": {"station": "x1"}})


def test_an_adhesive_mounting_cures_by_the_makers_time_where_the_catalogue_has_none():
    assert "cure_before_float" in codes({"lamp": bolted(mountings=["adhesive"], openings=[])})


def test_the_letter_i_stands_in_a_hull_number_for_the_month_only():
    """Source: 33 CFR 181.25, months A to L; elsewhere I is taken for 1."""
    assert "hull_number_malformed" not in codes(hull={**HULL, "hull_number": "ABC12345I404"})
    assert "hull_number_malformed" in codes(hull={**HULL, "hull_number": "IBC12345D404"})


def test_parts_without_a_place_and_a_hull_without_stations_are_noted():
    assert codes({"rod": bolted()}, {"rod": {"station": None}})["no_station"] == "note"
    assert "no_station" not in codes({"rod": bolted()})
    assert codes(hull={**HULL, "stations": []})["no_station"] == "note"
