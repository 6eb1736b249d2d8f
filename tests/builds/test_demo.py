"""The demo shop: invented, a year long, in every state, and what the program itself makes of it.

One year serves all tests of this module: it is written once, then taken back.
"""

import datetime
import io
import re
import statistics
from collections import defaultdict
from itertools import pairwise

import pytest
from django.core.management import call_command
from django.db import transaction
from django.db.models import Sum

from builds import bridge, parts, purchase, querysets, stock
from builds.actions import handing, papers
from builds.bench_now import bench_now
from builds.demo import SEED, WHOLE_YEAR_DAYS
from builds.demo.writing import live
from builds.models import (
    Customer,
    Delivery,
    HullRecord,
    Line,
    Quote,
    StockItem,
    Ticket,
    TicketTotals,
    UsedConsumable,
    WorkEntry,
    WorkOrder,
)
from builds.states import STATES
from catalog.models import WaitingFile
from shop import clock, journal
from shop.models import JournalEntry, User
from tests.shipped import put_catalogue

# By it the database of the tests is made, also where this file runs alone.
pytestmark = pytest.mark.django_db

NOW = datetime.datetime(2026, 11, 25, 15, 0, tzinfo=datetime.UTC)


def named(render, facts, sheet, estimate, *more):
    """A paper as its kind and number instead of a PDF (those are tested with the papers)."""
    return f"%PDF-{render.__name__} {facts.number} {more[-1]}".encode()


@pytest.fixture(scope="module", autouse=True)
def year(django_db_setup, django_db_blocker):
    """The year of the demo shop on the shipped catalogue."""
    with django_db_blocker.unblock(), transaction.atomic(), pytest.MonkeyPatch.context() as patch:
        # A text that stands for a PDF cannot be marked with the journal's head.
        for module in (papers, handing):
            patch.setattr(module, "with_head", lambda pdf, head, paper: pdf)
        put_catalogue()
        live(lambda text: None, NOW, SEED, named, WHOLE_YEAR_DAYS)
        yield
        transaction.set_rollback(True)


def test_there_are_forty_tickets_and_more_in_every_state():
    assert Ticket.objects.count() >= 40
    assert set(Ticket.objects.values_list("state", flat=True)) == {state for state, _ in STATES}
    assert Ticket.objects.filter(state="handed_over").count() >= 14


def test_the_tickets_are_of_a_whole_year_up_to_today():
    opened = [moment.date() for moment in Ticket.objects.order_by("id").values_list("opened_at", flat=True)]
    assert opened == sorted(opened)
    assert 350 < (NOW.date() - opened[0]).days <= 366
    assert max(later - earlier for earlier, later in pairwise(opened)) < datetime.timedelta(days=31)
    drafts = Ticket.objects.filter(opened_at__date=NOW.date())
    assert {(ticket.state, bool(ticket.asked)) for ticket in drafts} == {("draft", True)}
    assert drafts.count() >= 3


def test_the_journal_holds_and_its_time_never_runs_backwards():
    assert journal.verify() is None
    moments = list(JournalEntry.objects.order_by("number").values_list("at", flat=True))
    assert moments == sorted(moments)
    assert moments[-1] <= NOW
    for ticket in Ticket.objects.all():
        entries = list(journal.history(ticket))
        assert (entries[0].at, entries[-1].at) == (ticket.opened_at, ticket.changed_at)


def test_every_ticket_estimates_and_a_stop_is_left_on_a_draft_alone():
    stopped = set()
    for number in Ticket.objects.values_list("number", flat=True):
        ticket = querysets.for_counter().get(number=number)
        found = bridge.estimate_of(ticket)
        assert found.price.total > 0
        if found.stops and not ticket.quotes.filter(override_reason__gt="").exists():
            stopped.add(ticket.state)
    assert stopped == {"draft"}


def test_every_quote_keeps_what_its_ticket_said_and_papers_follow_one_another():
    for quote in Quote.objects.select_related("ticket"):
        assert str(quote.total) == quote.estimate["price"]["total"]
        assert quote.ticket.opened_at < quote.issued_at
    for order in WorkOrder.objects.select_related("quote__acceptance"):
        accepted = order.quote.acceptance
        assert order.quote.issued_at < accepted.at < order.issued_at
        assert accepted.at.date() <= order.quote.valid_until
        first = WorkEntry.objects.filter(ticket=order.ticket_id).earliest("at")
        assert order.issued_at < first.at


def test_what_is_quoted_is_still_good_and_what_lapsed_is_not():
    for state, good in (("quoted", True), ("lapsed", False)):
        quotes = [ticket.quotes.latest("version") for ticket in Ticket.objects.filter(state=state)]
        assert len(quotes) >= 2
        assert {quote.valid_until >= NOW.date() for quote in quotes} == {good}


def test_what_a_year_brings_is_there():
    """A second version, a stop mended at the counter, one overridden with a reason, a boat that came again."""
    assert Quote.objects.filter(version=2, ticket__state="quoted").count() == 1
    assert JournalEntry.objects.filter(action="mend").exists()
    assert len(Quote.objects.exclude(override_reason="").get().override_reason) > 20
    again = [hull for hull in HullRecord.objects.all() if hull.tickets.count() > 1]
    assert again
    assert Line.objects.filter(ticket__hull__in=again, supplied_by="already_fitted").exists()
    reasons = JournalEntry.objects.filter(action__in=("decline", "cancel")).values_list("why", flat=True)
    assert all(reasons)
    assert Ticket.objects.filter(hull__assumed=True, customer=None, state="draft").exists()


def test_minutes_worked_lie_about_the_estimate_with_a_spread():
    ratios = [float(row.worked_min / row.estimated_min) for row in TicketTotals.objects.filter(month__isnull=False)]
    assert len(ratios) == Ticket.objects.filter(state="handed_over").count()
    assert all(0.6 < ratio < 2.0 for ratio in ratios)
    assert 0.9 < statistics.median(ratios) < 1.25
    assert statistics.stdev(ratios) > 0.1
    assert min(ratios) < 0.95


def test_every_line_and_operation_of_a_handed_over_ticket_has_its_minutes():
    for order in WorkOrder.objects.filter(ticket__state="handed_over").select_related("quote"):
        planned = {(step["line"], step["phase"]) for step in order.quote.estimate["labour"]["order"]}
        entries = WorkEntry.objects.filter(ticket=order.ticket_id)
        assert {(entry.line_key or entry.operation_code, entry.phase) for entry in entries} == planned
        codes = dict(Line.objects.filter(ticket=order.ticket_id).values_list("key", "accessory__code"))
        assert all(entry.accessory_code == codes.get(entry.line_key, "") for entry in entries)


def test_routing_ran_over_on_some_tickets_and_an_old_hull_ran_longest():
    over, longest = [], {}
    for order in WorkOrder.objects.filter(ticket__state="handed_over").select_related("quote", "ticket__hull"):
        planned, worked = defaultdict(float), defaultdict(float)
        for step in order.quote.estimate["labour"]["order"]:
            planned[step["phase"]] += step["minutes"]
        for entry in WorkEntry.objects.filter(ticket=order.ticket_id):
            worked[entry.phase] += entry.minutes
        over.append(planned["route"] > 20 and worked["route"] / planned["route"] > 1.5)
        longest[order.ticket.hull.old] = max(
            longest.get(order.ticket.hull.old, 0), sum(worked.values()) / sum(planned.values())
        )
    assert 2 <= sum(over) < len(over) / 2
    assert longest[True] > longest[False]


def test_the_bench_works_on_working_days_within_its_hours_and_two_techs_share_it():
    for entry in WorkEntry.objects.select_related("tech"):
        opens = entry.at.replace(hour=9, minute=0, second=0, microsecond=0)
        assert entry.at.isoweekday() <= 5
        assert opens < entry.at <= opens + datetime.timedelta(hours=6)
        assert entry.tech.role == "tech"
    assert WorkEntry.objects.values("tech").distinct().count() == 2
    on_the_bench = Ticket.objects.filter(state="bench").annotate(minutes=Sum("work__minutes"))
    assert len({ticket.minutes for ticket in on_the_bench}) == on_the_bench.count() == 3


def test_the_journal_says_what_was_worked():
    entry = JournalEntry.objects.filter(action="record work").latest("number")
    work = WorkEntry.objects.filter(at=entry.at, phase=entry.after["phase"], minutes=entry.after["minutes"])
    assert work.exists()


def test_the_storeroom_is_counted_ordered_for_and_one_part_is_missed():
    assert StockItem.objects.filter(kept=True).count() > 100
    assert {item.pk: item.on_hand for item in StockItem.objects.filter(kept=True)} == stock.sums()
    assert stock.outstanding_lines().exists() and Delivery.objects.exists()
    waiting = parts.waiting_tickets()
    assert [bool(one.missing) for one in waiting].count(True) == 1
    assert any(one.ticket.state == "accepted" and one.here_on for one in waiting)
    assert purchase.to_order()


def test_one_boat_came_back_and_has_its_time_in_the_week():
    with clock.at(NOW):
        now = bench_now()
        (back,) = [one for one in now.tickets if now.jobs[one.key].back]
        assert back.minutes == 75 and now.plan()[back.key].blocks


def test_price_lists_came_and_made_the_parts_of_a_boat_dearer_than_it_was_quoted_with():
    assert JournalEntry.objects.filter(why__startswith="Price list of").exists()
    assert not WaitingFile.objects.exists()
    assert TicketTotals.objects.filter(why_parts_cost__lt=0, month__isnull=False).exists()


def test_some_tickets_say_what_they_used_and_some_do_not():
    said = UsedConsumable.objects.values("ticket").distinct().count()
    assert 10 <= said < Ticket.objects.filter(state__in=("checked", "handed_over")).count()


def test_nobody_in_the_shop_exists():
    assert all(re.fullmatch(r"Customer \d{4}", name) for name in Customer.objects.values_list("name", flat=True))
    # 555-0100 to 555-0199 are kept for fiction in the North American numbering plan (common practice).
    phones = list(Customer.objects.values_list("phone", flat=True))
    assert all(re.fullmatch(r"555-01\d\d", phone) for phone in phones)
    assert len(set(phones)) == len(phones)
    names = set(User.objects.values_list("name", flat=True))
    assert names == {"Demo Counter", "Demo Tech", "Demo Owner", "Second Tech"}
    since = dict(Customer.objects.values_list("name", "since"))
    known = Ticket.objects.exclude(customer=None).select_related("customer")
    assert all(ticket.opened_at.date() >= since[ticket.customer.name] for ticket in known)


def test_each_paper_is_of_its_kind_and_number():
    for quote in Quote.objects.all():
        assert bytes(quote.pdf).decode() == f"%PDF-quote_pdf {quote.number} {quote.paper}"
    for order in WorkOrder.objects.select_related("ticket"):
        assert bytes(order.pdf).decode() == f"%PDF-work_order_pdf {order.ticket.number} {order.paper}"


def test_a_second_load_changes_nothing():
    entries, said = JournalEntry.objects.count(), io.StringIO()
    call_command("load_demo_shop", stdout=said)
    assert "nothing was added" in said.getvalue()
    assert JournalEntry.objects.count() == entries
