"""Quotes, the customer's yes, the work order: frozen as they were handed over."""

import datetime

import pytest
from django.core.exceptions import PermissionDenied
from django.db import Error as DatabaseError
from django.db import connection, transaction
from django.utils import timezone

from builds import querysets
from builds.actions import handing, lines, papers, signing
from builds.actions.ground import Refused
from builds.estimator.document import read_sheet
from builds.estimator.estimate import document, estimate
from builds.models import Acceptance, Quote, Ticket, WorkOrder
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion
from shop.append_only import AppendOnlyError
from tests.builds.conftest import fresh


@pytest.fixture
def whole(rig):
    return querysets.for_counter().get(number=rig.number)


@pytest.fixture
def quote(whole, counter):
    return papers.issue_quote(counter, whole)


NO_SCAN = "The scanner is broken."


def accepted(quote, counter, way="paper", **changes):
    said = {
        "name": "Customer 0412",
        "initialled": signing.places_of(quote),
        "initials": "C",
        "note": NO_SCAN,
        **changes,
    }
    return signing.accept(counter, fresh(quote.ticket), signing.Yes(**said), way=way)


def test_a_quote_is_numbered_by_ticket_and_version_and_keeps_sheet_estimate_and_bytes(quote, counter):
    assert quote.number == f"Q-{quote.ticket.number[2:]}-1"
    assert bytes(quote.pdf).startswith(b"%PDF")
    assert papers.sha256(bytes(quote.pdf)) == quote.pdf_sha256
    assert fresh(quote.ticket).state == "quoted"
    assert fresh(quote.ticket).quoted_total == quote.total
    again = papers.issue_quote(counter, querysets.for_counter().get(number=quote.ticket.number))
    assert (again.version, again.number[-2:]) == (2, "-2")


def test_the_kept_sheet_gives_the_kept_estimate_again_whatever_the_catalogue_says_by_then(quote):
    AccessoryType.objects.update(price="9999.00")
    CatalogueVersion.move_on()
    assert document(estimate(read_sheet(quote.sheet)))["price"] == quote.estimate["price"]


def test_a_ticket_without_a_line_is_not_quoted(ticket, counter):
    with pytest.raises(Refused, match="no line"):
        papers.issue_quote(counter, querysets.for_counter().get(number=ticket.number))


def test_a_stop_keeps_a_quote_back_until_the_owner_gives_a_reason(ticket, counter, owner, kind):
    lines.add_line(counter, ticket, kind("battery_lfp_12v_20ah"))
    whole = querysets.for_counter().get(number=ticket.number)
    with pytest.raises(Refused, match="A stop keeps the quote"):
        papers.issue_quote(counter, whole)
    with pytest.raises(PermissionDenied):
        papers.issue_quote(counter, whole, override_reason="the customer brings the rest")
    quote = papers.issue_quote(owner, whole, override_reason="the customer brings the rest")
    assert quote.override_reason == "the customer brings the rest"


def test_a_change_after_the_quote_makes_the_ticket_a_draft_and_the_quote_void(quote, counter):
    lines.change_line(counter, quote.ticket, "L1", quantity=2)
    assert fresh(quote.ticket).state == "draft"
    with pytest.raises(Refused):
        accepted(quote, counter)


def test_an_acceptance_names_who_how_and_which_bytes(quote, counter):
    acceptance = accepted(quote, counter)
    assert (acceptance.name, acceptance.way, acceptance.pdf_sha256) == ("Customer 0412", "paper", quote.pdf_sha256)
    assert fresh(quote.ticket).state == "accepted"
    assert fresh(quote.ticket).customer.name == "Customer 0412"


def test_a_quote_is_accepted_once_and_not_after_its_time(quote, counter, monkeypatch):
    late = timezone.localdate() + datetime.timedelta(days=400)
    monkeypatch.setattr(signing.clock, "today", lambda: late)
    with pytest.raises(Refused, match="was good until"):
        accepted(quote, counter)
    monkeypatch.undo()
    accepted(quote, counter)
    with pytest.raises(Refused):
        accepted(quote, counter)


def test_a_work_order_follows_the_yes_and_a_second_one_says_that_it_replaces_the_first(quote, counter):
    with pytest.raises(Refused, match="not accepted"):
        papers.issue_work_order(counter, querysets.for_counter().get(number=quote.ticket.number))
    accepted(quote, counter)
    first = papers.issue_work_order(counter, querysets.for_counter().get(number=quote.ticket.number))
    second = papers.issue_work_order(counter, querysets.for_counter().get(number=quote.ticket.number), paper="letter")
    assert (first.version, second.version, fresh(quote.ticket).state) == (1, 2, "bench")
    assert first.pdf_sha256 != second.pdf_sha256


def test_papers_are_refused_any_later_change_by_the_program_and_by_the_database(quote, counter):
    accepted(quote, counter)
    papers.issue_work_order(counter, querysets.for_counter().get(number=quote.ticket.number))
    for model, column in ((Quote, "total"), (Acceptance, "name"), (WorkOrder, "version")):
        row = model.objects.first()
        with pytest.raises(AppendOnlyError):
            row.save()
        with pytest.raises(AppendOnlyError):
            row.delete()
        table = model._meta.db_table
        for statement in (f'UPDATE "{table}" SET "{column}" = "{column}"', f'DELETE FROM "{table}"'):
            with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(statement)


def test_the_whole_way_from_walk_in_to_hand_over_by_pages(rig, counter, tech, owner, client):
    number = rig.number
    client.force_login(counter)
    base = f"/counter/ticket/{number}/papers/"
    assert client.post(base + "quote/", {"paper": "letter", "revision": fresh(rig).revision}).status_code == 302
    quote = Quote.objects.get()
    pdf = client.get(f"/counter/quote/{quote.number}.pdf")
    assert (pdf.content, pdf["Content-Type"]) == (bytes(quote.pdf), "application/pdf")
    places = signing.places_of(quote)
    said = {"name": "Customer 0412", "note": NO_SCAN, "initialled": places, "revision": fresh(rig).revision}
    assert client.post(base + "accept/", said).status_code == 302
    assert client.post(base + "work-order/", {"paper": "a4"}).status_code == 302
    assert fresh(rig).state == "bench"
    client.force_login(tech)
    assert client.get(f"/bench/ticket/{number}/work-order-1.pdf").content.startswith(b"%PDF")
    assert client.get(f"/counter/quote/{quote.number}.pdf").status_code == 403
    assert client.post(f"/bench/ticket/{number}/steps/1/", {"minutes": "12"}).status_code == 302
    wrong = client.post(f"/bench/ticket/{number}/steps/1/", {"minutes": "soon"})
    assert (wrong.status_code, "Step 1" in wrong.content.decode()) == (422, True)
    assert client.post(f"/bench/ticket/{number}/check/", {"why": "Ticked on paper."}).status_code == 302
    handing.hand_over(owner, fresh(rig), why="Tested on paper.", unpaid="On account")
    assert fresh(rig).work.get().minutes == 12
    client.force_login(owner)
    assert number in client.get("/office/").content.decode()
    assert Ticket.objects.get(number=number).state == "handed_over"


def test_a_name_that_is_missing_is_said_and_nothing_is_recorded(quote, counter, client):
    client.force_login(counter)
    answer = client.post(f"/counter/ticket/{quote.ticket.number}/papers/accept/", {"name": "", "note": NO_SCAN})
    assert answer.status_code == 422
    assert "Who accepts is missing" in answer.content.decode()
    assert not Acceptance.objects.exists()


def test_a_stopped_ticket_offers_its_quote_to_the_owner_alone(ticket, counter, owner, client, kind):
    """The counter mends it or asks; a button that refuses would only cost the customer's time."""
    lines.add_line(counter, ticket, kind("display_7in"))
    path = f"/counter/ticket/{ticket.number}/papers/"
    for person, offered in ((counter, False), (owner, True)):
        client.force_login(person)
        page = client.get(path).content.decode()
        assert ("Stop: cannot be quoted yet" in page, "Issue quote" in page) == (True, offered)
