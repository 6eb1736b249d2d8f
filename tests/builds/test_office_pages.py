"""The office's pages: what they say, that every figure opens, the same table on page, in a file and on paper."""

import csv
import io
import re
from decimal import Decimal
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.models import BenchHours, MonthTotals, Ticket, TicketTotals
from builds.office.keeping import MONTH
from builds.office.periods import asked, moved
from builds.office.sums import BY_WORDS, days_by
from shop.csv_out import csv_lines, safe
from tests.builds.conftest import fresh
from tests.builds.test_office_totals import gone, hand_over, kept_figures, say_yes, to_the_bench  # noqa: F401

pytestmark = pytest.mark.usefixtures("blank_papers")
MOST_QUERIES = 13


@pytest.fixture
def at_the_office(gone, owner, client):  # noqa: F811
    client.force_login(owner)
    return client


def said(page):
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page.content.decode())))


def rows(answer):
    text = b"".join(answer.streaming_content).decode()
    assert text.count("\r\n") == text.count("\n")
    return list(csv.reader(io.StringIO(text)))


ADDRESSES = [
    "/office/",
    "/office/now/",
    "/office/quotes/",
    "/office/tickets/",
    "/office/tickets/?by=outcome&key=won",
    "/office/tickets/?by=days&key=0",
    "/office/tickets/?by=phase&key=drill",
    "/office/ticket/T-0001/",
    *(f"/office/by/{by}/" for by in BY_WORDS),
]


def test_each_page_takes_at_most_thirteen_queries_and_so_do_paper_and_file(at_the_office):
    for path in ADDRESSES:
        at_the_office.get(path)
        for way in ("", "print", "csv"):
            with CaptureQueriesContext(connection) as caught:
                answer = at_the_office.get(path, {**query_of(path), "as": way})
                body = b"".join(answer.streaming_content) if answer.streaming else answer.content
            assert (answer.status_code, len(body) > 20) == (200, True)
            assert len(caught) <= MOST_QUERIES, (path, way, [query["sql"][:150] for query in caught])


def test_only_the_owner_sees_them(at_the_office, cast):
    for role in ("counter", "tech"):
        at_the_office.force_login(cast[role])
        assert {at_the_office.get(path).status_code for path in ADDRESSES} == {403}


def test_the_evening_says_what_earned_and_opens_it(at_the_office, gone):  # noqa: F811
    page = at_the_office.get("/office/")
    figures = kept_figures(TicketTotals.objects.get(ticket=gone))
    text = said(page)
    assert f"{figures.profit:,}" in text and f"of {figures.revenue:,} revenue" in text
    assert "minutes quoted ÷ minutes worked" in text
    for picture in ("way", "tickets", "phases", "minutes", "trend"):
        assert f'id="{picture}' in page.content.decode() or f'"{picture}-' in page.content.decode(), picture
    # Every link of the page that stays in the office leads somewhere.
    for link in set(re.findall(r'href="(/office/[^"#]*)"', page.content.decode())):
        assert at_the_office.get(unescape(link)).status_code in (200, 302), link


def test_every_row_opens_to_tickets_that_add_up_to_it(at_the_office):
    for by in BY_WORDS:
        page = at_the_office.get(f"/office/by/{by}/").content.decode()
        links = [unescape(link) for link in re.findall(r'<th scope="row"><a href="([^"]+)"', page)]
        assert links, by
        lines = {line[0]: line for line in rows(at_the_office.get(f"/office/by/{by}/", {"as": "csv"}))}
        [heads, *below] = lines.values()
        place = heads.index("Gained or lost" if by == "phase" else "Gross profit")
        for row, link in zip(below, links, strict=True):
            if by == "phase" and row[0] == "All":
                continue
            opened = rows(at_the_office.get(link, {**query_of(link), "as": "csv"}))
            behind = opened[0].index("Gained or lost" if by == "phase" else "Gross profit")
            assert sum(Decimal(one[behind]) for one in opened[1:]) == Decimal(row[place]), (by, row[0])


def query_of(link):
    from urllib.parse import parse_qsl

    return dict(parse_qsl(link.partition("?")[2], keep_blank_values=True))


def test_the_rows_of_a_view_add_up_to_all(at_the_office):
    for by in ("month", "hull", "accessory", "category", "bundle", "tech", "counter"):
        table = rows(at_the_office.get(f"/office/by/{by}/", {"as": "csv"}))
        for head in ("Revenue", "Cost", "Gross profit", "Worked, min", "Parts", "Labour", "Operations", "Discount"):
            place = table[0].index(head)
            *some, last = [Decimal(row[place]) for row in table[1:]]
            whole = kept_figures(MonthTotals.objects.get(by=MONTH))
            assert sum(some) == last, (by, head)
            if head == "Revenue":
                assert last == whole.revenue, by


def test_one_ticket_says_why_in_parts_that_add_up(at_the_office, gone):  # noqa: F811
    table = rows(at_the_office.get(f"/office/ticket/{gone.number}/", {"as": "csv"}))
    amounts = [Decimal(row[1]) for row in table[1:]]
    assert sum(amounts[:-1]) == amounts[-1] == kept_figures(TicketTotals.objects.get(ticket=gone)).profit
    assert "Discount given" in {row[0] for row in table}
    steps = rows(at_the_office.get(f"/office/ticket/{gone.number}/", {"as": "csv", "table": "steps"}))
    assert steps[1][2] == "drill" or steps[1][2].replace(".", "").isdigit()
    assert at_the_office.get(f"/office/ticket/{gone.number}/", {"as": "csv", "table": "secrets"}).status_code == 404


def test_a_ticket_without_a_yes_says_so_and_one_in_work_counts_so_far(at_the_office, rig, counter):
    other = Ticket.objects.create(
        number="T-0500", hull=rig.hull, opened_at=rig.opened_at, changed_at=rig.opened_at, state_at=rig.opened_at
    )
    assert "Nothing is agreed on this ticket" in said(at_the_office.get(f"/office/ticket/{other.number}/"))
    assert at_the_office.get("/office/ticket/T-0999/").status_code == 404


def test_work_in_progress_counts_money_age_and_load(rig, counter, tech, owner, client):
    ticket = to_the_bench(counter, tech, say_yes(counter, rig))
    client.force_login(owner)
    table = rows(client.get("/office/now/", {"as": "csv"}))
    row = dict(zip(table[0], table[1], strict=True))
    assert row["Ticket"] == ticket.number
    assert row["Days since the yes"] == "0"
    assert Decimal(row["Agreed, before tax"]) == kept_figures(TicketTotals.objects.get(ticket=ticket)).revenue
    # 70.85 min at 38.00 an hour
    assert (Decimal(row["Worked, min"]), Decimal(row["Cost of work so far"])) == (Decimal("70.85"), Decimal("44.87"))
    text = said(client.get("/office/now/"))
    left = ticket.agreed_bench_min - 70.85
    assert f"{left / (6 * 60 * 5):.1f} weeks" in text.replace("\u202f", " ").replace("  ", " ")
    BenchHours.objects.create(person=tech, week_min=[30, 0, 0, 0, 0, 0, 0], opens_min=540)
    text = said(client.get("/office/now/"))
    assert f"{left / 30:.1f} weeks" in text.replace("\u202f", " ").replace("  ", " ")


def test_a_month_that_cannot_be_read_is_named_and_kept_and_nothing_breaks(at_the_office):
    for typed in ("soon", "2026-13", "2026-00", "9" * 60, "2026-11-01", "＝2026", "0000-01"):
        page = at_the_office.get("/office/", {"from": typed, "to": "2026-11"})
        assert page.status_code == 422
        assert "accepted" in said(page) or "Months are written as 2026-11" in said(page)
        assert typed in unescape(page.content.decode())
    turned = asked({"from": "2026-11", "to": "2026-03"}).period
    assert (turned.first.month, turned.last.month) == (3, 11)
    assert at_the_office.get("/office/by/margin/").status_code == 404
    assert at_the_office.get("/office/tickets/?by=margin").status_code == 404
    assert at_the_office.get("/office/tickets/?by=month&after=nonsense").status_code == 200


def test_months_are_counted_over_the_years():
    import datetime

    assert moved(datetime.date(2026, 1, 1), -1) == datetime.date(2025, 12, 1)
    assert moved(datetime.date(2026, 12, 1), 1) == datetime.date(2027, 1, 1)
    assert moved(datetime.date(2026, 5, 1), -17) == datetime.date(2024, 12, 1)


def test_the_days_by_which_a_share_of_quotes_had_its_yes():
    """Ten quotes: 0 0 1 1 1 3 3 4 9 30. Half by day 1, 9 in 10 by day 9."""
    counts = {0: 2, 1: 3, 3: 2, 4: 1, 9: 1, 30: 1}
    assert [days_by(share, counts) for share in (0.25, 0.5, 0.75, 0.9, 1.0)] == [1, 1, 4, 9, 30]
    assert days_by(0.5, {}) is None


def test_pages_go_on_where_the_one_before_ended(at_the_office, gone):  # noqa: F811
    totals = TicketTotals.objects.get(ticket=gone)
    same = {"hull": gone.hull, "opened_at": gone.opened_at, "changed_at": gone.opened_at, "state_at": gone.state_at}
    made = [Ticket.objects.create(number=f"X-{n}", state="handed_over", **same) for n in range(60)]
    for place, one in enumerate(made):
        TicketTotals.objects.create(ticket=one, month=totals.month, hull_type="x", rank=(place // 7) / 100)
    seen, address = [], "/office/tickets/?by=month"
    while address:
        page = at_the_office.get(address).content.decode()
        seen += re.findall(r'<th scope="row"><a[^>]*>([^<]+)</a>', page)
        more = re.search(r'href="(\?[^"]+)">Next tickets', page)
        address = f"/office/tickets/{unescape(more[1])}" if more else ""
    assert len(seen) == len(set(seen)) == 61
    assert [int(number[2:]) for number in seen[:60]] == list(range(60))


# Files.


def test_no_cell_is_a_formula_and_no_figure_is_changed():
    for text in ("=1+1", "+1", "-cmd", "@x", "\tx", "\rx"):
        assert safe(text) == "'" + text
    assert [safe(v) for v in (Decimal("-12.50"), Decimal("1234567.89"), 3, None, "T-1", 0.25)] == [
        "-12.50",
        "1234567.89",
        "3",
        "",
        "T-1",
        "0.25",
    ]


def test_a_file_reads_back_as_it_was():
    table = [["a", 'say "so"', "one, two"], ["two\nlines", "=HYPERLINK(1)", Decimal("-0.10")]]
    text = "".join(csv_lines(table))
    assert list(csv.reader(io.StringIO(text, newline=""))) == [
        ["a", 'say "so"', "one, two"],
        ["two\nlines", "'=HYPERLINK(1)", "-0.10"],
    ]
    assert text.endswith("\r\n") and '"one, two"' in text


def test_a_job_that_is_named_like_a_formula_is_harmless_in_every_file(at_the_office, gone):  # noqa: F811
    Ticket.objects.filter(pk=gone.pk).update(title="=2+5")
    assert fresh(gone).title == "=2+5"
    for path in ("/office/", "/office/tickets/"):
        table = rows(at_the_office.get(path, {"as": "csv"}))
        assert table[1][1] == "'=2+5"
