"""The office's pages are as fast with a large shop as with a small one, in the same number of queries.

A ratio within one run, so that a slow machine fails nobody. `HULLBENCH_BENCH_TICKETS=100000` fills the shop with so
many tickets (ten lines each) instead and prints the median of each page: `-s`; add `--postgres` for the other database.
"""

import os
import statistics
import time

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.actions import money
from builds.models import Line, Ticket, TicketShare
from tests.bench.large_shop import fill
from tests.builds.conftest import blank_papers, catalogue, kind, rig, ticket  # noqa: F401
from tests.builds.test_office_totals import hand_over, say_yes, to_the_bench

FEW = 150
MANY = int(os.environ.get("HULLBENCH_BENCH_TICKETS", 3_000))
TRIES, MOST_RATIO = 9, 2.0
ALL = "from=2017-01&to=2026-12"
YEAR = "from=2026-01&to=2026-12"
PAGES = [
    "/office/",
    f"/office/?{YEAR}",
    f"/office/?{ALL}",
    *(f"/office/by/{by}/?{ALL}" for by in ("month", "hull", "accessory", "category", "bundle", "tech", "counter")),
    f"/office/by/phase/?{ALL}",
    f"/office/tickets/?by=month&{ALL}",
    "/office/tickets/?by=month&from=2019-05&to=2019-05",
    f"/office/tickets/?by=month&order=most&{YEAR}",
    f"/office/tickets/?by=accessory&key=display_7in&{ALL}",
    "/office/tickets/?by=accessory&key=display_7in&from=2019-05&to=2019-05",
    f"/office/tickets/?by=category&key=lights&{ALL}",
    f"/office/tickets/?by=phase&key=drill&{ALL}",
    f"/office/tickets/?by=hull&key=sot_3_7_angler&{YEAR}",
    f"/office/tickets/?by=outcome&key=lost&{ALL}",
    f"/office/tickets/?by=days&key=3&{YEAR}",
    "/office/now/",
    f"/office/quotes/?{ALL}",
    "/office/ticket/T-0001/",
]


@pytest.fixture
def template(blank_papers, rig, counter, tech, owner):  # noqa: F811
    """One ticket that was handed over, paid a deposit and came from this catalogue."""
    agreed = say_yes(counter, rig)
    money.take_money(counter, agreed, kind="deposit", way="cash", amount=agreed.agreed_quote.deposit)
    hand_over(owner, tech, to_the_bench(counter, tech, agreed))
    return Ticket.objects.get(pk=rig.pk)


def measured(client):
    """Processor time [ms], time on the clock [ms] and queries of each page, the middle of some tries."""
    found = {}
    for path in PAGES:
        client.get(path)
        with CaptureQueriesContext(connection) as caught:
            assert client.get(path).status_code == 200, path
        queries = len(caught)
        tries = []
        for _ in range(TRIES):
            before, clock = time.process_time(), time.perf_counter()
            client.get(path)
            tries.append((1000 * (time.process_time() - before), 1000 * (time.perf_counter() - clock)))
        found[path] = statistics.median(t[0] for t in tries), statistics.median(t[1] for t in tries), queries
    return found


def gather_statistics():
    """What the database does by itself in time: look at what its tables hold, so that it chooses well."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


@pytest.mark.timing
def test_a_large_shop_slows_no_page_of_the_office_much_and_takes_no_more_queries(template, owner, client, capsys):
    client.force_login(owner)
    fill(template, FEW)
    few = measured(client)
    fill(template, MANY - FEW, after=FEW)
    gather_statistics()
    many = measured(client)
    with capsys.disabled():
        print(
            f"\n{connection.vendor}: {MANY} tickets, {Line.objects.count()} lines, {TicketShare.objects.count()} shares"
        )
        for path, (_, clock, queries) in many.items():
            print(f"{clock:7.0f} ms {queries:3} queries  {path}")
    for path in PAGES:
        assert many[path][2] <= few[path][2] <= 13, path
    slower = {path: many[path][0] / few[path][0] for path in PAGES}
    assert statistics.median(slower.values()) <= MOST_RATIO, slower
