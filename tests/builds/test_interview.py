"""The interview: every answer changes the sheet, a caution or the catalogue, and the page says which."""

import datetime

import pytest

from builds import bridge
from builds.actions import interview, lines
from builds.lookup import offered_to, one_kind
from builds.models import Interview
from catalog.models import Bundle
from shop import clock
from tests.builds.conftest import fresh, whole
from tests.builds.test_history import ASKED


def ask(counter, ticket, **changes):
    nothing = dict.fromkeys(Interview.ANSWERS, "") | {
        "uses": [],
        "hours_afloat": None,
        "hours_dark": None,
        "trips": None,
        "lifters": None,
        "freezes": None,
        "float_by": None,
    }
    interview.answer(counter, ticket, answers=nothing | changes, paddler_kg=None, kit_kg=None, water="fresh")
    return whole(ticket)


def codes(ticket):
    return {caution.code for caution in bridge.estimate_of(whole(ticket)).cautions}


def post(client, ticket, **changes):
    said = {"paddler": "95 kg", "kit": "40 lb", "water": "fresh", "revision": fresh(ticket).revision, **changes}
    return client.post(f"/counter/ticket/{ticket.number}/questions/", said)


def test_nothing_is_compulsory(rig, counter, client):
    client.force_login(counter)
    before = bridge.build_sheet(whole(rig))
    assert client.post(f"/counter/ticket/{rig.number}/questions/", {"revision": fresh(rig).revision}).status_code == 302
    assert bridge.build_sheet(whole(rig)) == before


def test_masses_go_to_the_sheet_in_any_unit_and_stay_with_the_ticket(rig, counter, client):
    client.force_login(counter)
    post(client, rig)
    sheet = bridge.build_sheet(whole(rig))
    assert sheet["people"][0]["mass_kg"] == 95.0
    # 1 lb is 0.45359237 kg (NIST Handbook 44, appendix C).
    assert sheet["gear"][0]["mass_kg"] == pytest.approx(40 * 0.45359237)


def test_hours_make_the_battery_day_and_lights_burn_in_the_dark(rig, counter, kind):
    lines.add_line(counter, rig, kind("led_strip_pair"))
    ticket = ask(counter, rig, hours_afloat=7.0, hours_dark=2.5, trips=2)
    day = bridge.build_sheet(ticket)["day_plan"]
    assert [(spell["name"], spell["hours"]) for spell in day] == [
        ("by day, 2 trips", 9.0),
        ("in the dark, 2 trips", 5.0),
    ]
    assert (day[0]["on"], day[1]["on"]) == ({"L8": 0.0}, {})


def test_hours_in_the_dark_ask_for_a_light_until_there_is_one(rig, counter, kind):
    ask(counter, rig, hours_afloat=4.0, hours_dark=1.0)
    assert "dark_without_light" in codes(rig)
    lines.add_line(counter, rig, kind("all_round_light_selfcontained"))
    assert "dark_without_light" not in codes(rig)


def test_who_wants_no_hole_gets_parts_that_need_one_last_with_the_reason(ticket, counter):
    ticket = ask(counter, ticket, holes="none")
    offered = offered_to(ticket)
    first_against = next(place for place, kind in enumerate(offered) if kind.against)
    assert all(not kind.against for kind in offered[:first_against])
    assert all(kind.against for kind in offered[first_against:])
    tube = next(kind for kind in offered if kind.code == "rod_holder_flush_tube")
    assert tube.against == ("needs a hole, and none is wanted",)


def test_who_wants_no_hole_gets_the_fixing_that_needs_none(ticket, counter, kind):
    ticket = ask(counter, ticket, holes="none")
    line = lines.add_line(counter, ticket, kind("gear_track_300mm"))
    assert line.mounting not in ("rivet", "through_bolt", "well_nut")


def test_who_wants_no_motor_gets_motors_last(ticket, counter):
    ticket = ask(counter, ticket, motor="no")
    motor = next(kind for kind in offered_to(ticket) if kind.code == "trolling_motor_bow")
    assert "no motor is wanted" in motor.against


def test_a_part_for_another_craft_comes_last_and_can_be_had_all_the_same(ticket):
    yoke = next(kind for kind in offered_to(ticket) if kind.code == "canoe_yoke")
    assert yoke.against == ("not made for a sit-on-top kayak",)
    assert one_kind("canoe_yoke", offered_to(ticket))[0].code == "canoe_yoke"


@pytest.mark.parametrize(("side", "station"), [("port", "rear_deck_port"), ("starboard", "rear_deck_starboard")])
def test_new_parts_go_to_the_side_that_was_named(side, station, ticket, counter, kind):
    ticket = ask(counter, ticket, side=side)
    assert lines.add_line(counter, ticket, kind("rod_holder_flush_tube")).station == station


def test_a_boat_for_the_roof_is_weighed_against_those_who_lift_it(rig, counter):
    ask(counter, rig, transport="roof", lifters=1)
    assert "lift_heavy" in codes(rig)
    ask(counter, rig, transport="roof", lifters=4)
    assert "lift_heavy" not in codes(rig)


def test_a_day_that_cannot_be_kept_is_said(rig, counter, client):
    client.force_login(counter)
    post(client, rig, float_by=clock.today().isoformat())
    assert "when it must float" in client.get(f"/counter/ticket/{rig.number}/").content.decode()


def test_the_page_says_what_each_answer_did(rig, counter, client):
    client.force_login(counter)
    post(client, rig, **{**{k: v for k, v in ASKED.items() if v}, "hours_afloat": "7 h", "hours_dark": "150 min"})
    page = client.get(f"/counter/ticket/{rig.number}/questions/").content.decode()
    for sentence in (
        "The battery day is 4.5",
        "part types come last: motors",
        "New parts go to port first",
        "Change orders ask Customer 0413 on 555-0143",
        "The bundles for it come first",
    ):
        assert sentence in page, sentence


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"paddler": "heavy"}, "“heavy”"),
        ({"hours_afloat": "2 h", "hours_dark": "3 h"}, "more than 2 h afloat"),
        ({"float_by": "soon"}, "That is no day"),
        ({"float_by": (datetime.date.today() - datetime.timedelta(days=3)).isoformat()}, "has passed"),
    ],
)
def test_a_wrong_answer_is_said_and_nothing_typed_is_lost(changes, sentence, rig, counter, client):
    client.force_login(counter)
    answer = post(client, rig, approver="Customer 0413", **changes)
    page = answer.content.decode()
    assert (answer.status_code, sentence in page, "Customer 0413" in page) == (422, True, True)


def test_a_bundle_adds_its_lines_and_the_ticket_remembers_it(ticket, counter, client):
    client.force_login(counter)
    bundle = Bundle.objects.get(code="first_fishing_rig")
    page = client.get(f"/counter/ticket/{ticket.number}/").content.decode()
    assert bundle.name in page
    assert client.post(f"/counter/ticket/{ticket.number}/bundles/{bundle.code}/").status_code == 302
    assert {line.bundle for line in ticket.lines.all()} == {bundle.code}
    assert ticket.lines.count() == bundle.lines.count()
    lines.undo(counter, ticket)
    assert not ticket.lines.exists()


def test_a_part_put_in_anothers_place_says_what_it_does_to_price_time_and_shared_set_up(rig, counter, client):
    client.force_login(counter)
    line = rig.lines.get(key="L1")
    said = {"part": "display_10in", "quantity": 1, "station": line.station, "supplied_by": "shop", "role": "house"}
    answer = client.post(f"/counter/ticket/{rig.number}/lines/L1/", said, follow=True)
    page = answer.content.decode()
    assert "9-10 in chartplotter/sonar display instead of 7 in chartplotter/sonar display" in page
    assert "Shared set-up saves" in page
    assert fresh(rig).lines.get(key="L1").accessory.code == "display_10in"
