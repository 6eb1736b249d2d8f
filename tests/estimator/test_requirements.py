"""What a part needs, what is missing, what does not go together (method, section 8)."""

from decimal import Decimal

from tests.estimator.builders import estimated, part
from tests.estimator.electrics import HULL

CRAFT = ["sit_on_top_kayak"]


def needs(*any_of, strength="must", why="something to sit on"):
    return {"any_of": list(any_of), "strength": strength, "why": why}


def needy(*groups, **changes):
    return {**part(5, 5, 5), "craft": CRAFT, "requires": list(groups), **changes}


def giving(*tags, price="10.00", minutes=5, **changes):
    return {**part(minutes, minutes, minutes), "craft": CRAFT, "provides": list(tags), "price": price, **changes}


def severities(found, code):
    return [c.severity for c in found.cautions if c.code == code]


def test_a_tag_of_another_part_meets_a_need():
    assert estimated({"screen": needy(needs("tag:track_slot")), "track": giving("track_slot")}).missing == ()


def test_a_tag_of_the_hull_meets_a_need():
    hull = {**HULL, "provides": ["track_slot"]}
    assert estimated({"screen": needy(needs("tag:track_slot"))}, hull=hull).missing == ()


def test_a_must_that_nothing_meets_stops_the_quote_and_a_usually_cautions():
    found = estimated({"screen": needy(needs("tag:a"), needs("tag:b", strength="usually"))})
    assert [(m.line, m.strength) for m in found.missing] == [("screen", "must"), ("screen", "usually")]
    assert severities(found, "missing_part") == ["stop", "caution"]


def test_every_part_that_would_meet_a_need_is_offered_the_cheapest_first():
    offered = {"dear": giving("a", price="30.00"), "cheap": giving("a", price="12.00", minutes=7)}
    found = estimated({"screen": needy(needs("tag:a"))}, offered=offered)
    assert [(o.accessory, o.price, o.minutes) for o in found.missing[0].offers] == [
        ("cheap", Decimal("12.00"), 7),
        ("dear", Decimal("30.00"), 5),
    ]


def test_an_offer_brings_what_it_needs_itself():
    offered = {
        "panel": giving("a", price="40.00", requires=[needs("tag:b")]),
        "fuse": giving("b", price="8.00", minutes=3),
    }
    offer = estimated({"screen": needy(needs("tag:a"))}, offered=offered).missing[0].offers[0]
    assert (offer.accessory, offer.brings, offer.price, offer.minutes) == ("panel", ("fuse",), Decimal("48.00"), 8)


def test_needs_that_point_at_each_other_come_to_an_end():
    offered = {
        "a": giving("a", requires=[needs("tag:b")]),
        "b": giving("b", requires=[needs("tag:a")]),
    }
    offer = estimated({"screen": needy(needs("tag:a"))}, offered=offered).missing[0].offers[0]
    assert (offer.accessory, offer.brings) == ("a", ("b",))


def test_a_part_that_does_not_suit_the_craft_is_not_offered():
    offered = {"canoe_only": giving("a", craft=["canoe"])}
    assert estimated({"screen": needy(needs("tag:a"))}, offered=offered).missing[0].offers == ()


def test_a_fitted_parts_own_needs_do_not_count():
    assert estimated({"old": needy(needs("tag:a"))}, {"old": {"supplied_by": "already_fitted"}}).missing == ()


def test_the_supply_of_a_drive_battery_counts_for_propulsion_only():
    cell = {
        "battery": {
            "voltage_v": 12.8,
            "system_v": 12,
            "rated_ah": 50,
            "hour_rate": 20,
            "chemistry": "lfp",
            "max_continuous_a": 50,
        }
    }
    drive = {**giving("12v_supply"), **cell}
    lamp = needy(needs("tag:12v_supply"))
    motor_load = {"voltage_v": 12, "typical_a": 10, "max_a": 30, "propulsion": True, "drop_class": "propulsion"}
    motor = needy(needs("tag:12v_supply"), load=motor_load)
    found = estimated({"lamp": lamp, "motor": motor, "drive": drive}, {"drive": {"role": "drive"}})
    assert [m.line for m in found.missing] == ["lamp"]


def test_a_conflict_counts_whichever_of_the_two_lists_it():
    listing = needy(conflicts=[{"with": "b_type", "why": "Same deck panel: keep them apart."}])
    for parts in ({"a": listing, "b": needy()}, {"b": needy(), "a": listing}):
        assert severities(estimated(parts), "conflict") == ["caution"]


def test_a_conflict_of_which_only_one_can_be_fitted_stops_the_quote():
    listing = needy(conflicts=[{"with": "b_type", "why": "Only one of the two fits the stern."}])
    found = estimated({"a": listing, "b": needy()})
    assert severities(found, "conflict") == ["stop"]
    assert {mend["line"] for c in found.cautions if c.code == "conflict" for mend in c.mends} == {"a", "b"}


def test_a_pair_that_both_list_is_said_once_and_the_stricter_reason_counts():
    a = needy(conflicts=[{"with": "b_type", "why": "Same deck panel: keep them apart."}])
    b = needy(conflicts=[{"with": "a_type", "why": "Only one: same deck panel."}])
    for parts in ({"a": a, "b": b}, {"b": b, "a": a}):
        assert severities(estimated(parts), "conflict") == ["stop"]


def test_a_part_of_which_only_one_can_be_fitted_stops_at_the_second():
    single = needy(conflicts=[{"with": "a_type", "why": "Only one fits the stern."}])
    assert severities(estimated({"a": single}), "conflict") == []
    assert severities(estimated({"a": single}, {"a": {"quantity": 2}}), "conflict") == ["stop"]


def test_two_parts_that_were_on_the_boat_before_are_no_conflict_of_this_ticket():
    listing = needy(conflicts=[{"with": "b_type", "why": "Only one of the two fits the stern."}])
    fitted = {name: {"supplied_by": "already_fitted"} for name in ("a", "b")}
    assert severities(estimated({"a": listing, "b": needy()}, fitted), "conflict") == []


def test_an_offer_is_placed_beside_the_line_and_a_battery_where_one_may_stand():
    cell = {
        "battery": {
            "voltage_v": 12.8,
            "system_v": 12,
            "rated_ah": 50,
            "hour_rate": 20,
            "chemistry": "lfp",
            "max_continuous_a": 50,
        }
    }
    hull = {**HULL, "stations": [*HULL["stations"], {**HULL["stations"][3], "id": "hatch", "holds_battery": True}]}
    offered = {"track": giving("track"), "cell": {**giving("volts"), **cell}}
    screen = needy(needs("tag:track"), needs("tag:volts", why="a supply"))
    found = estimated({"screen": screen}, {"screen": {"station": "x2"}}, offered=offered, hull=hull)
    placed = {c.mends[0]["accessory"]: c.mends[0]["station"] for c in found.cautions if c.code == "missing_part"}
    assert placed == {"track": "x2", "cell": "hatch"}
