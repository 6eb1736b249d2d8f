"""The totals that are kept equal what the entries come to, whatever happened in which order."""

import json
import zlib
from decimal import ROUND_HALF_UP, Decimal

import pytest
from django.core.management import call_command
from django.db import connection

from builds.actions import changes, coming_back, handing, lines, papers, tickets, work
from builds.earnings.figures import total_of
from builds.models import MonthTotals, Ticket, TicketShare, TicketTotals, WorkEntry
from builds.office import keeping
from builds.office.keeping import HULL, MONTH, OUTCOME, kept_figures
from tests.builds.conftest import agreed_on_paper, fresh, whole

pytestmark = pytest.mark.usefixtures("blank_papers")


def say_yes(counter, ticket):
    agreed_on_paper(counter, ticket)
    return fresh(ticket)


def to_the_bench(counter, tech, ticket):
    papers.issue_work_order(counter, whole(ticket))
    line = ticket.lines.select_related("accessory").first()
    for phase, minutes in (("drill", 37.5), ("mount", 21.25), ("route", 0.1)):
        work.record_work(
            tech, fresh(ticket), phase=phase, minutes=minutes, line_key=line.key, accessory_code=line.accessory.code
        )
    work.record_work(tech, fresh(ticket), phase="finish", minutes=12.0, operation_code="op_clean_close")
    return fresh(ticket)


def hand_over(owner, tech, ticket):
    work.check(tech, fresh(ticket), why="Ticked on paper.")
    handing.hand_over(owner, whole(ticket), why="Tested on paper.", unpaid="On account")
    return fresh(ticket)


@pytest.fixture
def gone(rig, counter, tech, owner):
    tickets.set_charges(counter, rig, discount_basis_points=750, fees=[{"name": "Rush", "amount": Decimal("15.00")}])
    return hand_over(owner, tech, to_the_bench(counter, tech, say_yes(counter, rig)))


def kept():
    """All kept rows, without their own keys; sums of months that came back to nothing are nothing."""
    rows = {model: list(model.objects.values()) for model in (TicketTotals, TicketShare, MonthTotals)}
    plain = {
        model.__name__: sorted(
            tuple(sorted((name, str(value)) for name, value in row.items() if name != "id"))
            for row in some
            if row.get("tickets") != 0
        )
        for model, some in rows.items()
    }
    assert all(
        value == 0
        for row in rows[MonthTotals]
        if row["tickets"] == 0
        for name, value in row.items()
        if name not in ("id", "by", "key", "month")
    )
    return plain


def test_what_is_kept_is_what_is_computed_anew(gone, counter, tech, owner, kind):
    """After a yes, a change order, work, a hand-over and a come-back with minutes and parts, and a lost quote."""
    back = coming_back.open_come_back(counter, gone, cause="leak", words="Wet inside")
    coming_back.work_on(tech, back, minutes=25.0)
    coming_back.end_come_back(owner, back, words="New bead", parts_cost=Decimal("4.40"))
    other = tickets.open_ticket(counter, hull=gone.hull, title="A light")
    lines.add_line(counter, other, kind("anchor_trolley"), mounting="rivet")
    papers.issue_quote(counter, whole(other))
    tickets.close(counter, fresh(other), "decline")
    before = kept()
    assert len(before["TicketTotals"]) == 2
    assert (len(before["TicketShare"]), len(before["MonthTotals"])) > (10, 10)
    call_command("refresh_totals")
    assert kept() == before


def test_a_change_order_moves_the_totals_in_its_own_transaction(rig, counter, tech, owner, kind):
    ticket = say_yes(counter, rig)
    before = TicketTotals.objects.get(ticket=ticket)
    changes.begin_change(counter, ticket)
    for key, code in (("L1", "display_10in"), ("L3", "ball_base_38mm")):
        lines.replace_accessory(counter, fresh(ticket), key, kind(code))
    assert TicketTotals.objects.get(ticket=ticket).parts == before.parts
    places = [place.letters for place in changes.proposed(whole(ticket)).new_places]
    consent = changes.Consent("Customer 0412", "counter")
    order = changes.agree_change(counter, whole(ticket), why="Wanted", consent=consent, places=places)
    after = TicketTotals.objects.get(ticket=ticket)
    assert after.parts - before.parts == order.added_parts > 0
    gone = hand_over(owner, tech, to_the_bench(counter, tech, fresh(ticket)))
    figures = kept_figures(TicketTotals.objects.get(ticket=gone))
    assert figures.why_change != 0
    assert figures.planned == before.planned


def test_months_count_a_boat_once_it_has_left_and_no_sooner(rig, counter, tech, owner):
    ticket = to_the_bench(counter, tech, say_yes(counter, rig))
    assert not MonthTotals.objects.filter(by=MONTH).exists()
    assert MonthTotals.objects.get(by=OUTCOME).key == "won"
    hand_over(owner, tech, ticket)
    [month] = MonthTotals.objects.filter(by=MONTH)
    assert (month.tickets, kept_figures(month)) == (1, kept_figures(TicketTotals.objects.get(ticket=ticket)))
    assert MonthTotals.objects.get(by=HULL).key == "sot_3_7_angler"


def test_a_come_back_costs_its_ticket_in_the_month_in_which_the_boat_left(gone, counter, tech, owner):
    before = kept_figures(MonthTotals.objects.get(by=MONTH))
    back = coming_back.open_come_back(counter, gone, cause="leak", words="Wet inside")
    coming_back.work_on(tech, back, minutes=30.0)
    coming_back.end_come_back(owner, back, words="New bead", parts_cost=Decimal("4.40"))
    [month] = MonthTotals.objects.filter(by=MONTH)
    after = kept_figures(month)
    # 30 min at 38.00 an hour and 4.40 of sealant
    assert (month.tickets, after.came_back) == (1, 1)
    assert before.profit - after.profit == Decimal("19.00") + Decimal("4.40") == -after.why_come_back
    assert (after.worked_min, after.come_back_min) == (before.worked_min, Decimal(30))


def test_a_boat_that_nobody_had_minutes_on_comes_back_to_a_tech(rig, counter, tech, owner):
    """The ticket's share moves from nobody to the tech; the months follow, also downwards."""
    ticket = say_yes(counter, rig)
    papers.issue_work_order(counter, whole(ticket))
    gone = hand_over(owner, tech, fresh(ticket))
    back = coming_back.open_come_back(counter, gone, cause="fit", words="Too far aft")
    assert MonthTotals.objects.get(by="tech", tickets=1).key == ""
    coming_back.work_on(tech, back, minutes=12.0)
    assert MonthTotals.objects.get(by="tech", tickets=1).key == str(tech.pk)
    before = kept()
    keeping.recompute()
    assert kept() == before


def test_a_reopened_ticket_is_neither_won_nor_lost(rig, counter):
    say_yes(counter, rig)
    tickets.close(counter, fresh(rig), "cancel")
    assert TicketTotals.objects.get(ticket=rig).outcome == "won"
    tickets.reopen(counter, fresh(rig))
    assert not TicketTotals.objects.filter(ticket=rig).exists()
    assert not MonthTotals.objects.exclude(tickets=0).exists()


# The believable check: one ticket's margin, added up by hand from its papers.


def money_of(amount):
    return Decimal(amount).quantize(Decimal("0.01"), ROUND_HALF_UP)


def margin_by_hand(ticket):
    """Read what the ticket keeps with plain SQL and JSON, and add it up as the owner would with a pocket calculator."""
    with connection.cursor() as cursor:
        cursor.execute(
            'SELECT q."estimate_json", k."packed" FROM "builds_quote" q JOIN "builds_keptcatalogue" k '
            'ON k."id" = q."catalogue_id" WHERE q."ticket_id" = %s ORDER BY q."version" DESC',
            [ticket.pk],
        )
        said, packed = cursor.fetchone()
        cursor.execute('SELECT "minutes" FROM "builds_workentry" WHERE "ticket_id" = %s', [ticket.pk])
        minutes = sum(Decimal(str(minutes)) for (minutes,) in cursor.fetchall())
    price = json.loads(said)["price"]
    rate = Decimal(json.loads(zlib.decompress(bytes(packed)))["shop"]["labour_cost_per_h"])
    revenue = sum(Decimal(price[name]) for name in ("parts", "labour", "consumables", "fees")) - Decimal(
        price["discount"]
    )
    parts = sum(Decimal(line["unit_cost"]) * line["quantity"] for line in price["lines"] if line["unit_cost"])
    small = sum(Decimal(one["cost"]) for one in json.loads(said)["consumables"])
    return revenue, money_of(parts) + small + money_of(minutes * rate / 60), minutes


def test_one_tickets_margin_by_hand_from_its_papers(gone):
    revenue, cost, minutes = margin_by_hand(gone)
    row = TicketTotals.objects.get(ticket=gone)
    figures = kept_figures(row)
    assert (figures.revenue, figures.cost, figures.worked_min) == (revenue, cost, minutes)
    assert row.rank == pytest.approx(float((revenue - cost) / revenue), rel=1e-12)
    assert minutes == Decimal("70.85") == sum(Decimal(str(one.minutes)) for one in WorkEntry.objects.all())


def test_two_hand_overs_of_one_month_add_up(gone, counter, tech, owner, kind):
    other = tickets.open_ticket(counter, hull=gone.hull, title="A light")
    lines.add_line(counter, other, kind("anchor_trolley"), mounting="rivet")
    hand_over(owner, tech, to_the_bench(counter, tech, say_yes(counter, other)))
    [month] = MonthTotals.objects.filter(by=MONTH)
    both = [kept_figures(row) for row in TicketTotals.objects.all()]
    assert (month.tickets, kept_figures(month)) == (2, total_of(both))


def test_tickets_without_totals_are_found_by_writing_all_anew(gone):
    TicketTotals.objects.all().delete()
    assert keeping.recompute() == 1
    assert TicketTotals.objects.get().ticket == Ticket.objects.get(pk=gone.pk)
