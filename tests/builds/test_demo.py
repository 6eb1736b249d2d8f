"""The demo shop: invented, a year long, in every state, and what the program itself makes of it."""

import datetime
import json
import re
import statistics

import pytest
from django.utils import timezone

import builds.documents
from builds import bridge, demo, margins, querysets
from builds.models import Customer, Quote, Ticket, WorkEntry
from builds.states import STATES
from shop import journal

TODAY = datetime.datetime(2026, 11, 25, 15, 0, tzinfo=datetime.UTC)


@pytest.fixture
def year(catalogue, monkeypatch):
    """The whole year, its papers not laid out (that is tested with the papers)."""
    monkeypatch.setattr(builds.documents, "pdf", lambda html, paper: b"%PDF-" + paper.encode())
    return demo.write_year(lambda text: None, today=TODAY)


def check_the_year_has_forty_tickets_and_more_in_every_state(year):
    assert year == Ticket.objects.count() >= 40
    assert set(Ticket.objects.values_list("state", flat=True)) == {state for state, _ in STATES}
    opened = Ticket.objects.order_by("opened_at").values_list("opened_at", flat=True)
    assert (TODAY - opened.first()).days > 350
    assert opened.last() <= TODAY


def check_everything_happens_at_its_own_moment_and_the_journal_holds(year):
    assert journal.verify() is None
    for ticket in Ticket.objects.all():
        moments = list(journal.history(ticket).values_list("at", flat=True))
        assert moments == sorted(moments)
        assert moments[0] == ticket.opened_at
        assert moments[-1] == ticket.changed_at <= TODAY


def check_every_ticket_estimates_and_every_quote_keeps_what_its_ticket_said(year):
    for ticket in Ticket.objects.all():
        assert bridge.estimate_of(querysets.for_counter(ticket.number)).price.total > 0
    for quote in Quote.objects.all():
        assert str(quote.total) == quote.estimate["price"]["total"]
        assert quote.issued_at.date() <= quote.valid_until


def check_actual_minutes_are_believable_and_spread_about_the_estimate(year):
    ratios = [row.minutes_worked / row.minutes_estimated for row in margins.for_margins()]
    assert len(ratios) >= 15
    assert all(0.6 < ratio < 2.0 for ratio in ratios)
    assert statistics.stdev(ratios) > 0.05
    assert WorkEntry.objects.values("tech").distinct().count() == 2


def check_nobody_in_the_shop_exists(year):
    assert all(re.fullmatch(r"Customer \d{4}", name) for name in Customer.objects.values_list("name", flat=True))
    # 555-0100 to 555-0199 are kept for fiction in the North American numbering plan (common practice).
    assert all(re.fullmatch(r"555-01\d\d", phone) for phone in Customer.objects.values_list("phone", flat=True))


def test_an_invented_year_holds_together(year):
    """One year serves every check: writing it takes the time of five tests."""
    check_the_year_has_forty_tickets_and_more_in_every_state(year)
    check_everything_happens_at_its_own_moment_and_the_journal_holds(year)
    check_every_ticket_estimates_and_every_quote_keeps_what_its_ticket_said(year)
    check_actual_minutes_are_believable_and_spread_about_the_estimate(year)
    check_nobody_in_the_shop_exists(year)


def test_the_same_seed_tells_the_same_year(catalogue, monkeypatch):
    monkeypatch.setattr(builds.documents, "pdf", lambda html, paper: b"%PDF-")
    monkeypatch.setattr(demo, "YEAR", demo.YEAR[-8:])
    told = []
    for _ in range(2):
        people = demo.people_of_the_shop()
        stories = [demo.story_of(place, TODAY, people) for place in range(1, len(demo.YEAR) + 1)]
        told.append(json.dumps([(s.job, s.end, str(s.opened), s.chance.random()) for s in stories]))
    assert told[0] == told[1]


def test_a_shop_that_has_a_ticket_is_left_as_it_is(ticket, capsys):
    from django.core.management import call_command

    call_command("load_demo_shop")
    assert "nothing was added" in capsys.readouterr().out
    assert Ticket.objects.count() == 1
    assert timezone.now() > ticket.opened_at
