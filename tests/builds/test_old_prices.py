"""A price that is older than the owner wants is told where it is quoted; it stops nothing."""

import csv
import datetime
import io

import pytest

from builds import querysets
from builds.actions import lines, papers
from builds.models import Ticket
from catalog import old_prices
from catalog.models import AccessoryType, ShopRates
from catalog.models.version import CatalogueVersion
from shop import clock
from shop.models import JournalEntry
from tests.builds.shelf_of import accepted, draft, kind

DAY = datetime.timedelta(days=1)
OLD_PAGE = "/office/catalogue/old-prices/"


@pytest.mark.parametrize(
    ("day", "months", "before"),
    [
        ("2026-11-26", 12, "2025-11-26"),
        ("2028-02-29", 12, "2027-02-28"),
        ("2026-03-31", 1, "2026-02-28"),
        ("2026-01-15", 1, "2025-12-15"),
        ("2026-01-15", 25, "2023-12-15"),
    ],
)
def test_a_month_before_is_the_same_day_or_the_last_of_its_month(day, months, before):
    """By the calendar."""
    assert str(old_prices.months_before(datetime.date.fromisoformat(day), months)) == before


def dated(code, day):
    AccessoryType.objects.filter(code=code).update(priced_on=day)
    CatalogueVersion.move_on()


def page_of(client, counter, ticket, path=""):
    client.force_login(counter)
    return client.get(f"/counter/ticket/{ticket.number}/{path}").content.decode()


def test_a_price_turns_old_the_day_after_its_last_month(catalogue, counter, client):
    limit = old_prices.months_before(clock.today(), 12)
    ticket = draft(counter, ("anchor_trolley", 1))
    dated("anchor_trolley", limit)
    assert "ask before quoting" not in page_of(client, counter, ticket)
    dated("anchor_trolley", limit - DAY)
    shown = page_of(client, counter, ticket)
    words = f"{(limit - DAY).day} {limit - DAY:%b %Y}"
    assert f"One price is from {words}, older than 12 months: ask before quoting." in shown
    assert f"price from {words}, ask first" in shown
    assert "ask before quoting" in page_of(client, counter, ticket, "papers/")


def test_several_old_prices_are_one_sentence_and_a_quote_is_issued_all_the_same(
    catalogue, counter, client, blank_papers
):
    ticket = draft(counter, ("anchor_trolley", 1), ("paddle_clip_pair", 2))
    for code, day in (("anchor_trolley", datetime.date(2020, 5, 4)), ("paddle_clip_pair", datetime.date(2019, 3, 1))):
        dated(code, day)
    shown = page_of(client, counter, ticket)
    assert "2 prices are older than 12 months, the oldest from 1 Mar 2019: ask before quoting." in shown
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=ticket.pk))
    assert quote.number and Ticket.objects.get(pk=ticket.pk).state == "quoted"


def test_no_note_stands_where_the_price_is_not_the_catalogues(catalogue, counter, client, blank_papers):
    """A price typed on the line, the customer's own part, a price without a date, and what is agreed."""
    dated("anchor_trolley", datetime.date(2020, 5, 4))
    own = draft(counter, ("anchor_trolley", 1, "customer"), ("paddle_clip_pair", 1))
    typed = draft(counter, ("anchor_trolley", 1))
    lines.change_line(counter, typed, typed.lines.get().key, unit_price="80.00")
    agreed = accepted(counter, ("anchor_trolley", 1))
    for ticket in (own, typed, agreed):
        assert "ask before quoting" not in page_of(client, counter, ticket)


def test_the_owner_sets_the_age_and_nought_flags_nothing(catalogue, counter, client):
    ticket = draft(counter, ("anchor_trolley", 1))
    dated("anchor_trolley", clock.today() - 40 * DAY)
    for months, told in ((12, False), (1, True), (0, False)):
        ShopRates.objects.update(price_age_months=months)
        CatalogueVersion.move_on()
        assert ("older than 1 month: ask" in page_of(client, counter, ticket)) == told


def test_the_owner_lists_old_prices_and_dates_those_that_hold(catalogue, cast, client):
    dated("anchor_trolley", datetime.date(2020, 5, 4))
    AccessoryType.objects.exclude(code__in=("anchor_trolley", "paddle_clip_pair")).update(priced_on=clock.today())
    client.force_login(cast["owner"])
    shown = client.get(OLD_PAGE).content.decode()
    assert "4 May 2020" in shown and "A price older than 12 months is flagged" in shown
    table = list(csv.DictReader(io.StringIO(b"".join(client.get("/office/catalogue/old-prices.csv")).decode())))
    assert [(row["code"], row["priced_on"]) for row in table] == [
        ("anchor_trolley", "2020-05-04"),
        ("paddle_clip_pair", ""),
    ]
    assert client.post(OLD_PAGE, {}).status_code == 422
    assert client.post(OLD_PAGE, {"code": ["anchor_trolley", "no_such_type"]}).status_code == 302
    assert kind("anchor_trolley").priced_on == clock.today()
    entry = JournalEntry.objects.latest("number")
    assert (entry.before, entry.after) == ({"priced_on": "2020-05-04"}, {"priced_on": str(clock.today())})
    assert "None." in client.get(OLD_PAGE).content.decode()


def test_old_prices_are_the_owners_list(catalogue, cast, client):
    for role in ("counter", "tech"):
        client.force_login(cast[role])
        assert client.get(OLD_PAGE).status_code == client.get("/office/catalogue/old-prices.csv").status_code == 403
        assert client.post(OLD_PAGE, {"code": "anchor_trolley"}).status_code == 403
    ShopRates.objects.all().delete()
    CatalogueVersion.move_on()
    client.force_login(cast["owner"])
    assert "No price is flagged" in client.get(OLD_PAGE).content.decode()
