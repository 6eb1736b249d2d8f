"""Consumables used against estimated: written down by whoever knows, read by the owner as far as the figures carry."""

import csv
import html
import io
from decimal import Decimal

import pytest

from builds.actions import handing, using, work
from builds.actions.ground import Refused
from builds.learning.used import used
from builds.models import TicketTotals, UsedConsumable
from builds.office import used_up as office
from builds.office.periods import Period
from builds.used_up import estimated_on, rows_of
from catalog.models import Consumable
from shop import clock
from shop.models import JournalEntry
from tests.builds.conftest import fresh
from tests.builds.shelf_of import on_the_bench, whole

D = Decimal
SEALANT = "marine_sealant"
pytestmark = pytest.mark.usefixtures("blank_papers")


@pytest.fixture
def busy(catalogue, counter):
    return on_the_bench(counter, ("anchor_trolley", 1))


@pytest.fixture
def gone(busy, tech, owner):
    work.check(tech, busy, why="Ticked on paper.")
    handing.hand_over(owner, whole(busy), why="Tested on paper.", unpaid="On account")
    return fresh(busy)


def test_the_form_asks_for_what_was_estimated_in_its_unit(busy, tech, client):
    client.force_login(tech)
    page = client.get(f"/bench/ticket/{busy.number}/consumables/").content.decode()
    for row in rows_of(busy):
        assert html.escape(row.item.name) in page and f"used_{row.item.code}" in page
    assert estimated_on(busy)[SEALANT] > 0 and "ml" in page
    assert "Consumables used" in client.get(f"/bench/ticket/{busy.number}/").content.decode()


def test_the_bench_writes_what_was_used_and_the_counter_mends_it(busy, tech, counter, client):
    client.force_login(tech)
    sent = {f"used_{SEALANT}": "14.5 ml", "other": "dry_cell", "other_amount": "2"}
    assert client.post(f"/bench/ticket/{busy.number}/consumables/", sent).status_code == 302
    assert set(UsedConsumable.objects.values_list("item__code", "quantity", "estimated")) == {
        (SEALANT, D("14.5"), estimated_on(busy)[SEALANT]),
        ("dry_cell", D(2), D(0)),
    }
    entry = JournalEntry.objects.latest("number")
    assert (entry.action, entry.after[SEALANT]) == ("note consumables", "14.5 ml")
    client.force_login(counter)
    path = f"/counter/ticket/{busy.number}/consumables/"
    assert 'value="14.5"' in client.get(path).content.decode()
    sent = {f"used_{SEALANT}": "16", "used_dry_cell": "2"}
    assert client.post(path, sent).status_code == 302
    # Only what is new is a row; the latest holds, the first one stays.
    assert list(UsedConsumable.objects.filter(item__code=SEALANT).values_list("quantity", flat=True)) == [D("14.5"), 16]
    assert UsedConsumable.objects.count() == 3


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({f"used_{SEALANT}": "a lot"}, "That is no amount; accepted: such as 12 or 0.75 ml."),
        ({f"used_{SEALANT}": "-1"}, "An amount starts at 0."),
        ({f"used_{SEALANT}": "3 l"}, "That is no amount"),
        ({"other": "dry_cell"}, "How much of it is missing."),
        ({"other_amount": "3"}, "What it is is missing."),
    ],
)
def test_what_does_not_fit_is_said_and_what_was_typed_stays(sent, words, busy, tech, client):
    client.force_login(tech)
    answer = client.post(f"/bench/ticket/{busy.number}/consumables/", sent)
    page = answer.content.decode()
    assert (answer.status_code, words in page) == (422, True)
    assert all(f'value="{value}"' in page for value in sent.values())
    assert not UsedConsumable.objects.exists()


def test_a_form_that_says_nothing_new_is_refused(busy, tech, client):
    client.force_login(tech)
    assert client.post(f"/bench/ticket/{busy.number}/consumables/", {}).status_code == 409
    using.note_used(tech, busy, {SEALANT: D(3)})
    with pytest.raises(Refused, match="No amount is new"):
        using.note_used(tech, busy, {SEALANT: D(3)})
    with pytest.raises(Refused, match="is no consumable of the catalogue"):
        using.note_used(tech, busy, {"no_such_thing": D(3)})


def test_nought_is_a_figure_and_nothing_is_none(busy, tech):
    using.note_used(tech, busy, {SEALANT: D(0)})
    noted = {row.item.code: row.noted for row in rows_of(busy)}
    assert noted.pop(SEALANT).quantity == 0 and set(noted.values()) == {None}


def period():
    month = clock.today().replace(day=1)
    return Period(month, month)


def noted(gone, tech, *pairs):
    """Rows of so many tickets as if each had left this month: (estimated, used)."""
    item, totals = Consumable.objects.get(code=SEALANT), TicketTotals.objects.get(ticket=gone)
    for n, (estimated, quantity) in enumerate(pairs):
        ticket = gone
        if n:
            ticket = fresh(gone)
            ticket.pk, ticket.number, ticket._state.adding = None, f"T-9{n:03d}", True
            ticket.save()
            totals.pk, totals.ticket, totals._state.adding = None, ticket, True
            totals.save()
        UsedConsumable.objects.create(
            ticket=ticket, item=item, quantity=quantity, estimated=estimated, by=tech, at=clock.now()
        )


def test_the_owner_reads_amount_ratio_tickets_and_spread(gone, tech, cast, client):
    """10 and 30 ml estimated, 15 and 27 used: 42 / 40 = 1.05, from 0.9 to 1.5; two tickets carry no belief.

    2 ml more than estimated, at 0.05 each: 0.10.
    """
    Consumable.objects.filter(code=SEALANT).update(unit_cost="0.0500")
    noted(gone, tech, (D(10), D(15)), (D(30), D(27)))
    [row] = office.table_of(period()).rows
    assert row.cells == (2, D(40), D(42), D("1.05"), D("0.9"), D("1.5"), None, D("0.10"))
    client.force_login(cast["owner"])
    table = list(csv.reader(io.StringIO(b"".join(client.get("/office/consumables/?as=csv")).decode())))
    assert table[1][1:5] == ["2", "40.000", "42.000", "1.050000"]
    assert "105" in client.get("/office/consumables/").content.decode()
    assert client.get("/office/consumables/?as=print").status_code == 200


def test_from_enough_tickets_on_the_owner_reads_what_is_believed(gone, tech):
    pairs = [(D(10), D(10 + n % 3)) for n in range(office.LEAST_TICKETS)]
    noted(gone, tech, *pairs)
    [row] = office.table_of(period()).rows
    found = used({SEALANT: [(float(a), float(b)) for a, b in pairs]})
    assert float(row.cells[6]) == pytest.approx(found.groups[SEALANT].believed)
    assert 1 < row.cells[6] <= row.cells[3]


def test_only_the_latest_note_of_a_boat_that_left_counts(gone, tech, counter):
    using.note_used(tech, gone, {SEALANT: D(99)})
    using.note_used(counter, gone, {SEALANT: D(12), "dry_cell": D(2)})
    rows = {row.name.partition(",")[0]: row.cells for row in office.table_of(period()).rows}
    sealant = next(cells for name, cells in rows.items() if "ealant" in name)
    assert (sealant[0], sealant[2]) == (1, D(12))
    beyond = [cells for cells in rows.values() if cells[0] == 0]
    assert [cells[8] for cells in beyond] == [D(2)]
    before = Period(*[clock.today().replace(day=1, year=clock.today().year - 1)] * 2)
    assert office.table_of(before).rows == []


def test_who_may_note_and_who_may_read(gone, cast, client):
    for role, status in (("counter", 403), ("tech", 403), ("owner", 200)):
        client.force_login(cast[role])
        assert client.get("/office/consumables/").status_code == status
    client.force_login(cast["counter"])
    assert client.get(f"/counter/ticket/{gone.number}/consumables/").status_code == 200
    assert client.get(f"/bench/ticket/{gone.number}/consumables/").status_code == 403
