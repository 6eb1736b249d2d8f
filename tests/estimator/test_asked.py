"""What the customer was asked: each answer held against the ticket. Nothing was asked: nothing changes."""

import pytest

from builds.estimator import mends
from builds.estimator.document import canonical, read_sheet
from builds.estimator.estimate import document, estimate
from builds.estimator.files import catalogue
from builds.estimator.sources import SOURCES
from builds.estimator.specs import Unusable
from tests.estimator.builders import job, jobs, part
from tests.estimator.electrics import HULL, battery, motor, sheet_of

HOLE = {"shape": "round", "diameter_mm": 5.2, "purpose": "fastener", "fastener": "M5"}
DRILLED = {**HOLE, "mountings": ["through_bolt", "rivet"]}
ANSWERS = (
    "dark_without_light",
    "holes_unwanted",
    "motor_later",
    "lift_heavy",
    "frost_battery",
    "battery_brought",
    "own_parts_unlisted",
)


def light(name, price="45.00", **changes):
    return {
        **part(5, 5, 5),
        "category": "lights",
        "name": name,
        "craft": ["sit_on_top_kayak"],
        "price": price,
    } | changes


def found(asked, parts=None, lines=None, **changes):
    """The cautions of a sheet by code."""
    return {c.code: c for c in estimate(sheet_of(parts or {}, lines, asked=asked, **changes)).cautions}


# The sheet


@pytest.mark.parametrize("name", jobs())
def test_where_nobody_was_asked_no_answer_cautions(name):
    assert not {c.code for c in estimate(job(name)).cautions} & set(ANSWERS)


@pytest.mark.parametrize("asked", [None, {}, {"hours_dark": None, "holes": None, "freezes": None}])
def test_no_answer_is_the_same_as_not_asked(asked):
    plain, unanswered = document(estimate(job("night_lights"))), document(estimate(job("night_lights", asked=asked)))
    assert plain.pop("sheet_sha256") != unanswered.pop("sheet_sha256")
    assert canonical(plain) == canonical(unanswered)


def test_a_sheet_keeps_all_ten_answers():
    asked = {
        "hours_dark": 3,
        "motor": "later",
        "holes": "few",
        "transport": "roof",
        "lifters": 2,
        "storage": "shed",
        "freezes": True,
        "battery_now": "lead_acid",
        "own_parts": "an anchor",
        "side": "port",
    }
    sheet = job("night_lights", asked=asked)
    assert {name: getattr(sheet.asked, name) for name in asked} == asked


@pytest.mark.parametrize(
    ("asked", "path"),
    [
        ({"hours_dark": 25}, "asked.hours_dark"),
        ({"motor": "perhaps"}, "asked.motor"),
        ({"holes": "many"}, "asked.holes"),
        ({"transport": "train"}, "asked.transport"),
        ({"lifters": 0}, "asked.lifters"),
        ({"lifters": 1.5}, "asked.lifters"),
        ({"storage": "attic"}, "asked.storage"),
        ({"freezes": "yes"}, "asked.freezes"),
        ({"battery_now": "nickel"}, "asked.battery_now"),
        ({"own_parts": 3}, "asked.own_parts"),
        ({"side": "left"}, "asked.side"),
        ({"shoe_size": 43}, "asked.shoe_size"),
        ("everything", "asked"),
    ],
)
def test_an_answer_that_is_none_is_refused_with_its_path(asked, path):
    with pytest.raises(Unusable) as refused:
        sheet_of({}, asked=asked)
    assert [problem.path for problem in refused.value.problems] == [path]


# In the dark: COLREGS Rule 25(d)(ii), 33 CFR 83.25(d)(ii): a torch or lighted lantern ready to show in time.


def test_a_trip_in_the_dark_without_a_white_light_is_cautioned():
    caution = found({"hours_dark": 2.5})["dark_without_light"]
    assert (caution.severity, caution.figures["hours_dark"]) == ("caution", 2.5)
    assert "dark_without_light" not in found({"hours_dark": 0})


@pytest.mark.parametrize("supplied_by", ["shop", "customer", "already_fitted"])
def test_a_white_light_counts_whoever_brings_it(supplied_by):
    lamp = {"lamp": light("All-round white light on pole")}
    assert "dark_without_light" not in found({"hours_dark": 2}, lamp, {"lamp": {"supplied_by": supplied_by}})


@pytest.mark.parametrize("name", ["White torch, waterproof", "Hand lantern"])
def test_a_torch_or_lantern_ready_to_show_is_enough(name):
    assert "dark_without_light" not in found({"hours_dark": 2}, {"lamp": light(name)})


def test_of_the_catalogues_lights_only_the_all_round_ones_are_white_lights_to_show():
    """A bi-colour sidelight, deck strips, a flood light and reflective tape leave the caution where it is."""
    from builds.estimator.asked_cautions import is_white_light

    known = catalogue().accessories
    assert {key for key, kind in known.items() if is_white_light(kind)} == {
        "all_round_light_pole_wired",
        "all_round_light_selfcontained",
    }


def test_the_cheapest_white_light_that_suits_the_craft_is_offered():
    offered = {
        "dear": light("All-round white light", "90.00"),
        "cheap": light("All-round white light, small", "40.00"),
        "for_canoes": light("All-round white light", "10.00", craft=["canoe"]),
    }
    mend = found({"hours_dark": 2}, offered=offered)["dark_without_light"].mends
    assert [(act["do"], act["accessory"], act["station"]) for act in mend] == [("add", "cheap", "x4")]


def test_a_light_is_put_farthest_aft_and_a_bolted_one_where_a_hand_reaches():
    hull = {**HULL, "stations": [{**place, "hand_reach": place["id"] == "x2"} for place in HULL["stations"]]}

    def place_of(mounting):
        lamp = light("All-round white light", mountings=[mounting])
        return found({"hours_dark": 2}, offered={"lamp": lamp}, hull=hull)["dark_without_light"].mends[0]["station"]

    assert (place_of("clamp"), place_of("through_bolt")) == ("x4", "x2")


def test_where_no_holes_are_wanted_a_light_that_makes_none_is_offered_first():
    offered = {
        "bolted": light("All-round white light", "20.00", mountings=["through_bolt"], openings=[HOLE]),
        "clamped": light("All-round white light", "45.00", mountings=["clamp"]),
    }
    for holes, first in (("fine", "bolted"), ("none", "clamped")):
        caution = found({"hours_dark": 2, "holes": holes}, offered=offered)["dark_without_light"]
        assert caution.mends[0]["accessory"] == first


def test_what_a_light_needs_counts_into_which_is_cheapest():
    needs = [{"any_of": ["cell"], "strength": "must", "why": "a supply"}]
    offered = {
        "wired": light("All-round white light, wired", "20.00", requires=needs),
        "by_itself": light("All-round white light, own battery", "45.00"),
        "cell": {**part(5, 5, 5), "price": "60.00", "craft": ["sit_on_top_kayak"]},
    }
    caution = found({"hours_dark": 2}, offered=offered)["dark_without_light"]
    assert caution.mends[0]["accessory"] == "by_itself"


def test_with_a_motor_the_rule_for_power_driven_boats_is_named():
    assert found({"hours_dark": 2}, {"motor": motor(30.0)})["dark_without_light"].source == "colregs_23"
    assert found({"hours_dark": 2})["dark_without_light"].source == "colregs_25_ready"


# Holes


def rod(**changes):
    mountings = ["through_bolt", "rivet", "clamp"]
    return {**part(5, 5, 5), "name": "Rod holder", "mountings": mountings, "openings": [DRILLED] * 4, **changes}


def test_a_customer_who_wants_no_holes_is_told_how_many_and_by_what():
    caution = found({"holes": "none"}, {"rod": rod()}, {"rod": {"quantity": 2}})["holes_unwanted"]
    assert caution.severity == "caution"
    assert (caution.figures["count"], caution.figures["lines"]) == (8, ["rod"])
    assert caution.sentence == "No new holes are wanted; this ticket makes 8 new openings: Rod holder."


def test_few_holes_are_counted_in_a_note():
    caution = found({"holes": "few"}, {"rod": rod()})["holes_unwanted"]
    assert (caution.severity, caution.figures["count"], caution.mends) == ("note", 4, ())


@pytest.mark.parametrize("name", jobs())
def test_the_count_is_that_of_the_hole_schedule(name):
    told = estimate(job(name, asked={"holes": "few"}))
    counts = [c.figures["count"] for c in told.cautions if c.code == "holes_unwanted"]
    assert sum(counts) == len(told.openings)


def test_holes_that_are_there_already_or_welcome_are_no_caution():
    assert "holes_unwanted" not in found({"holes": "none"}, {"rod": rod()}, {"rod": {"supplied_by": "already_fitted"}})
    assert "holes_unwanted" not in found({"holes": "none"}, {"rod": rod()}, {"rod": {"mounting": "clamp"}})
    assert "holes_unwanted" not in found({"holes": "fine"}, {"rod": rod()})


def test_a_part_drilled_by_a_pattern_that_is_not_known_is_named_too():
    caution = found({"holes": "none"}, {"rod": rod(openings=[])})["holes_unwanted"]
    assert (caution.figures["count"], caution.figures["unknown"]) == (0, ["rod"])


def test_each_line_that_can_is_offered_a_fixing_without_holes():
    parts = {"rod": rod(), "hatch": rod(mountings=["flush_cutout"], openings=[HOLE]), "rail": rod()}
    caution = found({"holes": "none"}, parts)["holes_unwanted"]
    assert [(act["line"], act["mounting"]) for act in caution.mends] == [("rod", "clamp"), ("rail", "clamp")]


def test_a_track_an_insert_or_a_scupper_is_offered_where_the_boat_has_one():
    choices = ["through_bolt", "gear_track_t_bolt", "brass_insert", "scupper", "strap"]
    parts = {"rod": rod(mountings=choices)}

    def offered(*provides):
        hull = {**HULL, "provides": list(provides)}
        return found({"holes": "none"}, parts, hull=hull)["holes_unwanted"].mends[0]["mounting"]

    assert offered() == "strap"
    assert offered("track_slot") == "gear_track_t_bolt"
    assert offered("brass_inserts_bow") == "brass_insert"
    assert offered("scupper_recess") == "scupper"


# A motor later


def test_a_motor_later_finds_the_load_that_is_left_of_the_rating():
    """159 kg rated, 91 kg paddler, 10 kg fitted: 58 kg left."""
    people = [{"name": "paddler", "mass_kg": 91}]
    parts = {"box": {**part(5, 5, 5), "mass_kg": 10}}
    note = found({"motor": "later"}, parts, people=people, hull={**HULL, "rated_load_kg": 159})["motor_later"]
    assert (note.severity, note.figures["load_left_kg"]) == ("note", pytest.approx(58.0))
    assert "58.0 kg" in note.sentence


def test_without_a_rating_nothing_is_guessed_for_a_motor_later():
    assert found({"motor": "later"})["motor_later"].figures["load_left_kg"] is None


def test_a_motor_that_is_on_the_ticket_or_not_wanted_is_no_motor_later():
    assert "motor_later" not in found({"motor": "later"}, {"motor": motor(30.0)})
    assert "motor_later" not in found({"motor": "no"})


# Lifting: NIOSH publication 94-110 (1994), load constant 23 kg, 51 lb.


def boat(mass_kg):
    return {**HULL, "mass_kg": mass_kg}


@pytest.mark.parametrize(
    ("mass_kg", "lifters", "heavy"), [(23, None, False), (23.1, None, True), (46, 2, False), (46.1, 2, True)]
)
def test_twenty_three_kilograms_each_is_the_most(mass_kg, lifters, heavy):
    asked = {"transport": "roof", "lifters": lifters}
    assert ("lift_heavy" in found(asked, hull=boat(mass_kg))) == heavy


def test_the_limit_is_the_published_fifty_one_pounds():
    """Source: NIOSH 94-110: 51 lb; 1 lb = 0.45359237 kg (international pound)."""
    from builds.estimator.asked_cautions import LIFT_KG

    assert pytest.approx(51 * 0.45359237, abs=0.2) == LIFT_KG


def test_the_lift_is_said_with_and_without_batteries():
    """34 kg hull and 6 kg of battery: 40 kg, 20 kg for each of two, 17 kg without; alone it takes two."""
    parts = {"cell": {**battery(), "mass_kg": 6}}
    figures = found({"transport": "truck_bed"}, parts)["lift_heavy"].figures
    assert (figures["mass_kg"], figures["mass_without_batteries_kg"], figures["lifters_needed"]) == (40.0, 34.0, 2)
    assert "lift_heavy" not in found({"transport": "truck_bed", "lifters": 2}, parts)


def test_a_trailer_is_not_lifted_onto_alone_and_no_answer_is_no_lift():
    assert "lift_heavy" not in found({"transport": "trailer"}, hull=boat(60))
    assert "lift_heavy" not in found({"lifters": 1}, hull=boat(60))


def test_what_overhangs_is_said_of_the_vehicle_that_was_named_and_of_none_behind_a_cart():
    """Source: 49 CFR 393.87 (2015) is of vehicles on the road; a cart is pulled by hand."""
    assert "the trailer" in found({"transport": "trailer"})["overhang"].sentence
    assert "the vehicle" in found(None)["overhang"].sentence
    assert "overhang" not in found({"transport": "cart"})


# Batteries and own parts


@pytest.mark.parametrize(
    ("asked", "air_temp_c", "frost"),
    [
        ({"freezes": True}, 20, True),
        ({"storage": "shed"}, -5, True),
        ({"storage": "outdoors"}, -5, True),
        ({"storage": "indoors"}, -5, False),
        ({"storage": "outdoors"}, 5, False),
        ({}, -5, False),
    ],
)
def test_a_lithium_battery_comes_indoors_from_the_frost(asked, air_temp_c, frost):
    notes = found(asked, {"cell": battery()}, air_temp_c=air_temp_c)
    assert ("frost_battery" in notes) == frost
    assert "frost_battery" not in found(asked, {"cell": battery(chemistry="agm")}, air_temp_c=air_temp_c)


def test_a_customer_who_has_a_battery_is_not_sold_another_unasked():
    assert found({"battery_now": "lead_acid"}, {"cell": battery()})["battery_brought"].figures["lines"] == ["cell"]
    assert "battery_brought" not in found({"battery_now": "none"}, {"cell": battery()})
    assert "battery_brought" not in found({"battery_now": "lithium"})
    own = {"cell": {"supplied_by": "customer"}}
    assert "battery_brought" not in found({"battery_now": "lithium"}, {"cell": battery()}, own)
    both = {"cell": battery(), "own": battery()}
    assert "battery_brought" not in found({"battery_now": "lithium"}, both, {"own": {"supplied_by": "customer"}})


def test_own_parts_that_no_line_holds_are_noted():
    note = found({"own_parts": "an old  anchor\nand line"})["own_parts_unlisted"]
    assert "“an old anchor and line”" in note.sentence
    own = {"box": {"supplied_by": "customer"}}
    assert "own_parts_unlisted" not in found({"own_parts": "an anchor"}, {"box": part(5, 5, 5)}, own)
    assert "own_parts_unlisted" not in found({"own_parts": "  "})


# All of it at once

EVERYTHING = {"hours_dark": 3, "motor": "later", "holes": "none", "transport": "roof", "freezes": True}
EVERYTHING |= {"battery_now": "lead_acid", "own_parts": "an anchor"}


@pytest.mark.parametrize("name", jobs())
def test_every_mend_of_an_answer_clears_its_caution_in_a_whole_new_estimate(name):
    told = estimate(job(name, asked=EVERYTHING))
    for caution in told.cautions:
        assert caution.source in SOURCES
        for mend in caution.mends if caution.code in ANSWERS else ():
            after = estimate(mends.apply(told.sheet, mend))
            assert mends.mark_of(caution) not in {mends.mark_of(other) for other in after.cautions}
            counts = [c.figures["count"] for c in after.cautions if c.code == caution.code == "holes_unwanted"]
            assert all(count < caution.figures["count"] for count in counts)


def test_every_answer_that_can_caution_does_so_on_one_of_the_ten_jobs():
    codes = {c.code for name in jobs() for c in estimate(job(name, asked=EVERYTHING)).cautions}
    assert set(ANSWERS) <= codes


def test_the_answers_are_read_from_a_document_that_leaves_the_catalogue_out():
    record = {"format": "hullbench-build-sheet/1", "hull": HULL, "asked": {"hours_dark": 1}}
    codes = {c.code for c in estimate(read_sheet(record, catalogue())).cautions}
    assert "dark_without_light" in codes
