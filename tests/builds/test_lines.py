"""Lines of a ticket: added, changed, moved, removed, undone; and two people at once."""

import pytest
from django.core.exceptions import PermissionDenied

from builds import bridge, querysets
from builds.actions import lines, tickets
from builds.actions.ground import Outdated, Refused
from builds.content import content_of
from builds.models import Ticket
from builds.states import ACTS, STATES
from catalog.models.version import CatalogueVersion
from shop import journal
from tests.builds.conftest import fresh


def keys(ticket):
    return list(ticket.lines.order_by("place").values_list("key", "accessory__code"))


def test_a_line_goes_to_the_usual_place_of_its_kind_unless_one_is_named(ticket, counter, kind):
    assert lines.add_line(counter, ticket, kind("display_7in")).station == "console"
    battery = lines.add_line(counter, ticket, kind("battery_lfp_12v_20ah"))
    assert ticket.hull.stations.get(key=battery.station).holds_battery
    assert lines.add_line(counter, ticket, kind("display_7in"), station="seat").station == "seat"


def test_a_key_is_never_given_twice(ticket, counter, kind):
    lines.add_line(counter, ticket, kind("display_7in"))
    second = lines.add_line(counter, ticket, kind("ball_base_25mm"))
    lines.remove_line(counter, ticket, second.key)
    assert lines.add_line(counter, ticket, kind("ball_base_25mm")).key == "L3"


def test_removing_a_battery_leaves_nobody_fed_by_it(rig, counter, kind):
    battery = rig.lines.get(accessory__code="battery_lfp_12v_12ah")
    screen = rig.lines.get(accessory__code="display_7in")
    lines.change_line(counter, rig, screen.key, battery_key=battery.key)
    lines.remove_line(counter, rig, battery.key)
    assert rig.lines.get(pk=screen.pk).battery_key == ""
    assert bridge.estimate_of(querysets.for_counter().get(number=rig.number)).power == ()


def test_undo_puts_back_each_change_in_turn_until_nothing_is_left(ticket, counter, kind):
    said = [content_of(fresh(ticket))]
    first = lines.add_line(counter, ticket, kind("display_7in"))
    said.append(content_of(fresh(ticket)))
    lines.change_line(counter, ticket, first.key, quantity=2, offset_x_m=0.1)
    said.append(content_of(fresh(ticket)))
    tickets.set_charges(counter, ticket, discount_basis_points=500, fees=[{"name": "Expedite", "amount": "40.00"}])
    said.append(content_of(fresh(ticket)))
    lines.remove_line(counter, ticket, first.key)
    for before in reversed(said):
        lines.undo(counter, ticket)
        assert content_of(fresh(ticket)) == before
    with pytest.raises(Refused, match="nothing to undo"):
        lines.undo(counter, ticket)


def test_after_an_undo_a_new_change_is_undone_first(ticket, counter, kind):
    lines.add_line(counter, ticket, kind("display_7in"))
    lines.undo(counter, ticket)
    lines.add_line(counter, ticket, kind("ball_base_25mm"))
    lines.undo(counter, ticket)
    assert keys(ticket) == []


def test_the_later_save_on_an_old_revision_is_refused_and_changes_nothing(rig, counter):
    line = rig.lines.first()
    shown = rig.revision
    lines.change_line(counter, rig, line.key, quantity=2, revision=shown)
    with pytest.raises(Outdated):
        lines.change_line(counter, rig, line.key, quantity=3, revision=shown)
    assert rig.lines.get(pk=line.pk).quantity == 2


def test_every_change_is_in_the_journal_with_before_and_after(ticket, counter, kind):
    lines.add_line(counter, ticket, kind("display_7in"))
    entry = journal.history(ticket).last()
    assert (entry.action, entry.actor_name) == ("add line", "Cora Counter")
    assert entry.before["lines"] == []
    assert [line["key"] for line in entry.after["lines"]] == ["L1"]
    assert journal.verify() is None


def test_a_refused_change_leaves_no_trace(ticket, counter):
    count = journal.history(ticket).count()
    with pytest.raises(Refused):
        lines.change_line(counter, ticket, "L99", quantity=2)
    assert journal.history(ticket).count() == count
    assert fresh(ticket).revision == ticket.revision


@pytest.mark.parametrize("state", [state for state, _ in STATES])
def test_a_ticket_changes_only_while_it_is_a_draft_or_quoted(state, ticket, counter, kind):
    Ticket.objects.filter(pk=ticket.pk).update(state=state)
    if state in ACTS["change"][0]:
        lines.add_line(counter, ticket, kind("display_7in"))
        assert fresh(ticket).state == "draft"
    else:
        with pytest.raises(Refused):
            lines.add_line(counter, ticket, kind("display_7in"))


def test_a_tech_changes_no_line(ticket, tech, kind):
    with pytest.raises(PermissionDenied):
        lines.add_line(tech, ticket, kind("display_7in"))


def test_a_ticket_of_rows_becomes_the_sheet_of_the_same_job(rig):
    sheet = bridge.sheet_of(querysets.for_counter().get(number=rig.number))
    assert [line.accessory for line in sheet.lines][:2] == ["display_7in", "transducer_scupper_mount"]
    assert sheet.hull.length_m == 3.7
    assert bridge.estimate_of(querysets.for_counter().get(number=rig.number)).missing == ()


def test_a_withdrawn_part_stays_on_its_ticket_and_is_offered_no_more(rig, counter, kind):
    screen = kind("display_7in")
    screen.withdrawn = True
    screen.save()
    CatalogueVersion.move_on()
    found = bridge.estimate_of(querysets.for_counter().get(number=rig.number))
    assert found.fitted[0].kind.id == "display_7in"
    lines.remove_line(counter, rig, "L1")
    assert "display_7in" not in bridge.sheet_of(querysets.for_counter().get(number=rig.number)).accessories


def test_a_second_battery_leaves_every_part_on_the_first_and_the_ticket_can_be_reckoned(rig, counter, kind):
    before = bridge.estimate_of(querysets.for_counter().get(pk=rig.pk))
    lines.add_line(counter, rig, kind("battery_lfp_12v_100ah"), station="tank_well")
    lines.add_line(counter, rig, kind("display_5in"))
    after = bridge.estimate_of(querysets.for_counter().get(pk=rig.pk))
    assert {line.battery_key for line in rig.lines.all() if line.accessory.code.startswith("display")} == {"L5"}
    assert after.price.total > before.price.total
