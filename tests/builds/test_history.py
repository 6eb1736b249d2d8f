"""What happened to a ticket, and the way back: undo for everything, from the history too."""

import pytest

from builds import history, querysets
from builds.actions import hulls, interview, lines, tickets
from builds.actions.ground import Refused
from builds.content import content_of
from catalog.models import HullType
from shop import journal
from tests.builds.conftest import fresh

ASKED = {
    "uses": ["fishing"],
    "hours_afloat": 7.0,
    "hours_dark": 2.5,
    "trips": None,
    "motor": "no",
    "transport": "roof",
    "lifters": 1,
    "storage": "",
    "freezes": None,
    "battery_now": "",
    "side": "port",
    "holes": "few",
    "own_parts": "",
    "float_by": None,
    "approver": "Customer 0413",
    "approver_phone": "555-0143",
}


def answered(counter, ticket):
    interview.answer(counter, ticket, answers=ASKED, paddler_kg=95.0, kit_kg=18.0, water="sea")


CHANGES = {
    "line added": lambda c, t, k: lines.add_line(c, t, k("anchor_trolley")),
    "line changed": lambda c, t, k: lines.change_line(c, t, "L1", quantity=3),
    "part replaced": lambda c, t, k: lines.replace_accessory(c, t, "L1", k("display_10in")),
    "line removed": lambda c, t, k: lines.remove_line(c, t, "L5"),
    "customer named": lambda c, t, k: tickets.set_customer(c, t, name="Customer 0412", phone="555-0142"),
    "job described": lambda c, t, k: tickets.describe(c, t, title="Night rig", asked="lights"),
    "aboard said": lambda c, t, k: tickets.set_afloat(c, t, aboard=[], water="sea", air_temp_c=5.0),
    "day said": lambda c, t, k: tickets.set_day(c, t, spells=[{"name": "dawn", "hours": 2.0, "on": {"L1": 1.0}}]),
    "operations said": lambda c, t, k: tickets.set_operations(c, t, quantities={"op_handover": 2}),
    "charges set": lambda c, t, k: tickets.set_charges(
        c, t, discount_basis_points=500, fees=[{"name": "Expedite", "amount": "40.00"}]
    ),
    "boat corrected": lambda c, t, k: hulls.correct_hull(c, t, figures={"mass_kg": 41.0, "old": True}),
    "another boat": lambda c, t, k: hulls.take_hull_type(c, t, HullType.objects.get(code="sot_3_4")),
    "questions answered": lambda c, t, k: answered(c, t),
}


@pytest.mark.parametrize("change", CHANGES)
def test_undo_takes_every_kind_of_change_back_whole(change, rig, counter, kind):
    before = content_of(fresh(rig))
    CHANGES[change](counter, rig, kind)
    assert content_of(fresh(rig)) != before
    lines.undo(counter, rig)
    assert content_of(fresh(rig)) == before


@pytest.mark.parametrize("change", CHANGES)
def test_what_was_undone_comes_back_from_the_history(change, rig, counter, kind):
    CHANGES[change](counter, rig, kind)
    after = content_of(fresh(rig))
    lines.undo(counter, rig)
    lines.go_back(counter, rig, history.told(fresh(rig))[0].number)
    assert content_of(fresh(rig)) == after


def test_going_back_takes_everything_since_back_and_is_one_change(rig, counter, kind):
    before = content_of(fresh(rig))
    lines.add_line(counter, rig, kind("anchor_trolley"))
    first = history.told(fresh(rig))[0].number
    tickets.set_customer(counter, rig, name="Customer 0412")
    lines.change_line(counter, rig, "L1", quantity=4)
    lines.go_back(counter, rig, first)
    assert content_of(fresh(rig)) == before
    lines.undo(counter, rig)
    assert journal.history(rig).last().after["undoes"] != []


def test_three_undos_take_three_changes_back_one_after_the_other(rig, counter, kind):
    states = [content_of(fresh(rig))]
    for quantity in (2, 3, 4):
        lines.change_line(counter, rig, "L1", quantity=quantity)
        states.append(content_of(fresh(rig)))
    for expected in reversed(states[:-1]):
        lines.undo(counter, rig)
        assert content_of(fresh(rig)) == expected


def test_an_entry_that_does_not_exist_is_refused(rig, counter):
    with pytest.raises(Refused, match="cannot be undone any more"):
        lines.go_back(counter, rig, 999999)


def test_the_journal_keeps_what_changed_and_nothing_else(rig, counter):
    lines.change_line(counter, rig, "L1", quantity=3)
    entry = journal.history(rig).last()
    assert set(entry.before) == {"state", "lines"}
    assert journal.verify() is None


def test_the_history_tells_in_words_who_changed_what(rig, counter, kind, client):
    lines.replace_accessory(counter, rig, "L1", kind("display_10in"))
    lines.add_line(counter, rig, kind("anchor_trolley"), quantity=2)
    client.force_login(counter)
    page = client.get(f"/counter/ticket/{rig.number}/history/").content.decode()
    assert "9-10 in chartplotter/sonar display instead of 7 in chartplotter/sonar display" in page
    assert "+ 2 × Anchor trolley" in page
    assert str(counter) in page
    number = history.told(fresh(rig))[0].number
    answer = client.post(f"/counter/ticket/{rig.number}/history/{number}/", {"revision": fresh(rig).revision})
    assert answer.status_code == 302
    assert "anchor_trolley" not in [line.accessory.code for line in querysets.for_counter().get(pk=rig.pk).lines.all()]


def test_undo_of_what_someone_else_did_meanwhile_is_refused(rig, counter, owner, client):
    shown = fresh(rig).revision
    lines.change_line(owner, rig, "L1", quantity=9)
    client.force_login(counter)
    answer = client.post(f"/counter/ticket/{rig.number}/undo/", {"revision": shown})
    assert answer.status_code == 409
    assert f"{owner} changed this ticket" in answer.content.decode()
    assert fresh(rig).lines.get(key="L1").quantity == 9
