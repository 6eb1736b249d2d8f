"""A page of the counter takes at most twelve queries, whatever the number of lines or tickets."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from builds.actions import alternatives, changes, lines
from builds.models import Need, StockItem, Ticket
from catalog.models import AccessoryType, CatalogueVersion
from catalog.models.version import BENCH
from tests.builds.conftest import agreed_on_paper

pytestmark = pytest.mark.usefixtures("blank_papers")

MOST = 12
PAGES = [
    "",
    "papers/",
    "questions/",
    "history/",
    "alternatives/",
    "money/",
    "about/",
    "boat/",
    "afloat/",
    "charges/",
    "parts/",
]


@pytest.fixture
def busy(rig, counter, kind):
    """A ticket of forty lines in two ways among five hundred others."""
    for _ in range(33):
        lines.add_line(counter, rig, kind("rod_holder_track_mount"), station="console")
    alternatives.copy_current(counter, rig, "leaner")
    now = timezone.now()
    same = {"hull": rig.hull, "opened_at": now, "changed_at": now, "state_at": now, "agreed_bench_min": 90.0}
    Ticket.objects.bulk_create(
        Ticket(number=f"X-{n}", title="fishing", state=("accepted", "draft")[n % 2], **same) for n in range(500)
    )
    CatalogueVersion.move_on(BENCH)  # as the first yes did
    return Ticket.objects.get(pk=rig.pk)


def queries_of(client, path):
    client.get(path)
    with CaptureQueriesContext(connection) as caught:
        assert client.get(path).status_code == 200
    return len(caught)


@pytest.mark.parametrize("page", PAGES)
def test_each_page_of_a_busy_ticket(page, busy, counter, client):
    client.force_login(counter)
    assert queries_of(client, f"/counter/ticket/{busy.number}/{page}") <= MOST


@pytest.mark.parametrize("page", ["", "new/", "tickets/", "?q=fishing", "?q=555-0142"])
def test_the_start_and_its_lists(page, busy, counter, client):
    client.force_login(counter)
    assert queries_of(client, f"/counter/{page}") <= MOST


@pytest.mark.parametrize("page", ["", "count/", "waiting/", "order/", "orders/"])
def test_the_shelf_and_its_lists(page, busy, counter, client):
    items = [StockItem(accessory=kind) for kind in AccessoryType.objects.all()]
    StockItem.objects.bulk_create(items, ignore_conflicts=True)
    same = {"ticket": busy, "item": StockItem.objects.first(), "quantity": 1, "since": timezone.localdate()}
    Need.objects.bulk_create(Need(line_key=f"L{n}", **same) for n in range(300))
    client.force_login(counter)
    assert queries_of(client, f"/counter/parts/{page}") <= MOST


@pytest.mark.parametrize("page", ["", "papers/", "money/", "history/"])
def test_a_ticket_that_is_agreed_and_one_that_is_changed(page, rig, counter, client, kind):
    agreed_on_paper(counter, rig)
    client.force_login(counter)
    path = f"/counter/ticket/{rig.number}/"
    assert queries_of(client, path + page) <= MOST
    changes.begin_change(counter, rig)
    lines.add_line(counter, rig, kind("anchor_trolley"))
    assert queries_of(client, path + page) <= MOST
    assert queries_of(client, path + "change/") <= MOST
