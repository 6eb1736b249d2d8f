"""What parts really cost: the weighted average of what came, in the margin of the boat that they went on.

Source: IAS 2 Inventories, paragraphs 25 and 27 (weighted average, worked out as each shipment is received), from
memory; the examples are reckoned by hand.
"""

import random
import re
from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command

from builds.actions import handing, ordering, shelf, work
from builds.actions.ordering import Came, Ordered
from builds.average_cost import averaged
from builds.earnings.missed import PARTS_COST, QUANTITY, way_of
from builds.models import Movement, OrderLine, TicketTotals
from builds.office.facts import facts_of
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion
from shop import clock
from tests.builds.conftest import fresh
from tests.builds.shelf_of import accepted, counted, item, kind, on_the_bench
from tests.builds.test_office_totals import kept, whole

D = Decimal
CODE = "anchor_trolley"


def test_each_shipment_moves_the_average_and_what_goes_leaves_it():
    """10 at 5.00 and 10 at 6.00: 110 / 20 = 5.50. 4 go; 16 at 5.50 and 8 at 7.00: 144 / 24 = 6.00."""
    average = averaged(D(10), D("5.00"), D(10), D("6.00"))
    assert average == D("5.50")
    assert averaged(D(20), average, D(-4), average) == average
    assert averaged(D(16), average, D(8), D("7.00")) == D("6.00")


def test_a_shipment_taken_back_gives_the_average_before():
    """16 at 5.50 and 8 at 7.00 are 24 at 6.00; the 8 at 7.00 less: (144 - 56) / 16 = 5.50."""
    assert averaged(D(24), D("6.00"), D(-8), D("7.00")) == D("5.50")


def test_with_nothing_left_the_last_average_stays():
    assert averaged(D(3), D("5.00"), D(-3), D("9.00")) == D("5.00")
    assert averaged(D(0), D("5.00"), D(2), D("9.00")) == D("9.00")


def test_by_chance_the_worth_that_goes_and_that_is_left_is_what_came():
    """An independent ledger in fractions; each rounding to 4 digits moves it by at most half of one a unit."""
    chance = random.Random(25)
    for _ in range(300):
        on_hand, average, slack = D(0), D(0), Fraction(0)
        came = gone = Fraction(0)
        costs = []
        for _ in range(chance.randint(1, 12)):
            if on_hand and chance.random() < 0.5:
                quantity = D(chance.randint(1, int(on_hand)))
                gone += Fraction(quantity) * Fraction(average)
                on_hand -= quantity
            else:
                quantity, cost = D(chance.randint(1, 40)), D(chance.randint(1, 90_000)) / 100
                average = averaged(on_hand, average, quantity, cost)
                on_hand, came = on_hand + quantity, came + Fraction(quantity) * Fraction(cost)
                costs.append(cost)
                slack += Fraction(1, 20_000) * Fraction(on_hand)
            assert min(costs) <= average <= max(costs)
        assert abs(came - gone - Fraction(on_hand) * Fraction(average)) <= slack


def costs(code, cost):
    AccessoryType.objects.filter(code=code).update(cost=cost)
    CatalogueVersion.move_on()


def bought(counter, packs, cost, code=CODE):
    """So many are ordered and come, at what the catalogue says on the day of the order."""
    costs(code, cost)
    today = clock.today()
    key = shelf.item_of(kind(code)).pk
    made = ordering.order(counter, [Ordered(key, packs)], supplier="S", ordered_on=today, expected_on=today)
    [line] = OrderLine.objects.filter(order=made)
    ordering.receive(counter, made, [Came(line.pk, line.quantity, boxes_opened=True, condition="good")])


def test_the_shelf_keeps_the_average_and_each_entry_what_it_cost(catalogue, counter):
    """4 counted at 20.00, 4 come at 26.00: 184 / 8 = 23.00; 2 are damaged at that; a count of 10 leaves it."""
    costs(CODE, "20.00")
    counted(counter, **{CODE: 4})
    bought(counter, 4, "26.00")
    assert item(CODE).average_cost == D("23.0000")
    shelf.write(counter, item(CODE), Movement.Kind.DAMAGED, D(2), why="Cracked")
    costs(CODE, "99.00")
    counted(counter, **{CODE: 10})
    assert item(CODE).average_cost == D("23.0000")
    said = Movement.objects.filter(item=item(CODE)).values_list("quantity", "unit_cost")
    assert [(int(quantity), cost) for quantity, cost in said] == [(4, D(20)), (4, D(26)), (-2, D(23)), (4, D(23))]


def test_the_owner_orders_at_what_the_supplier_confirmed_and_nobody_else_says_a_cost(catalogue, counter, owner, client):
    costs(CODE, "20.00")
    counted(counter, **{CODE: 1})
    AccessoryType.objects.filter(code=CODE).update(stock_minimum=2, supplier="Sample Supply")
    CatalogueVersion.move_on()
    today, key = str(clock.today()), f"type_{kind(CODE).pk}"
    page = {"counter": "/counter/parts/order/", "office": "/office/parts/order/"}
    client.force_login(counter)
    assert "cost_" not in client.get(page["counter"]).content.decode()
    with pytest.raises(PermissionDenied):
        line = Ordered(item(CODE).pk, 1, unit_cost=D("1.00"))
        ordering.order(counter, [line], supplier="S", ordered_on=clock.today(), expected_on=clock.today())
    client.force_login(owner)
    shown = client.get(page["office"]).content.decode()
    prefix = re.search(r'name="group" value="(s\d+)"', shown)[1]
    sent = {"group": prefix, f"{prefix}-packs_{key}": "1", f"{prefix}-short_{key}": "1"}
    sent |= {f"{prefix}-ordered_on": today, f"{prefix}-expected_on": today, f"{prefix}-supplier": "Sample Supply"}
    assert client.post(page["office"], sent | {f"{prefix}-cost_{key}": "dear"}).status_code == 422
    assert client.post(page["office"], sent | {f"{prefix}-cost_{key}": "23.4"}).status_code == 302
    assert (OrderLine.objects.get().unit_cost, kind(CODE).cost) == (D("23.4"), D("20.00"))


def test_a_delivery_taken_back_or_damaged_leaves_the_average_as_it_was(catalogue, counter):
    costs(CODE, "20.00")
    counted(counter, **{CODE: 4})
    bought(counter, 4, "26.00")
    shelf.take_back(counter, Movement.objects.latest("id"), why="Not ours")
    assert item(CODE).average_cost == D("20.0000")


@pytest.fixture
def gone(catalogue, counter, tech, owner, blank_papers):
    """Three agreed at a cost of 20.00 each; what came since made them 23.00; the boat has left."""
    costs(CODE, "20.00")
    counted(counter, **{CODE: 4})
    ticket = on_the_bench(counter, (CODE, 3))
    bought(counter, 4, "26.00")
    work.check(tech, fresh(ticket), why="Ticked on paper.")
    handing.hand_over(owner, whole(ticket), why="Tested on paper.", unpaid="On account")
    return fresh(ticket)


def test_the_margin_takes_what_the_parts_cost_and_says_so_on_the_way(gone):
    """3 at 23.00 instead of 20.00: 9.00 less profit, all of it the parts' cost."""
    way = way_of(facts_of(gone))
    assert (way.of(PARTS_COST), way.of(QUANTITY)) == (D("-9.00"), D("0.00"))
    assert way.planned + sum(part.amount for part in way.parts) == way.actual
    totals = TicketTotals.objects.get(ticket=gone)
    assert (totals.parts_cost, totals.why_parts_cost) == (D("69.00"), D("-9.00"))


def test_what_is_kept_is_what_is_computed_anew_also_after_an_entry_is_taken_back(gone, counter):
    """The three were not used after all: 60.00 agreed are won back, none of it by their cost."""
    before = kept()
    call_command("refresh_totals")
    assert kept() == before
    # A later delivery is dearer: what went before it keeps its cost.
    bought(counter, 2, "90.00")
    call_command("refresh_totals")
    assert kept() == before
    shelf.take_back(counter, Movement.objects.get(ticket=gone, kind=Movement.Kind.USED), why="Not fitted")
    totals = TicketTotals.objects.get(ticket=gone)
    assert (totals.parts_cost, totals.why_parts_cost, totals.why_quantity) == (D("0.00"), D("0.00"), D("60.00"))
    after = kept()
    assert after != before
    call_command("refresh_totals")
    assert kept() == after


def test_the_owner_opens_the_cost_of_each_line(gone, cast, client):
    client.force_login(cast["owner"])
    table = b"".join(client.get(f"/office/ticket/{gone.number}/?as=csv&table=parts")).decode().splitlines()
    assert table[0] == 'Line,Agreed,"Cost each, agreed",Used,"Cost each, average",Over'
    assert table[1].endswith(",3,20.00,3.0,23.00,9.00") and table[2] == "All,,,,,9.00"
    assert "What the parts cost" in client.get(f"/office/ticket/{gone.number}/").content.decode()


def test_lines_that_share_a_type_share_what_it_cost(catalogue, counter, tech):
    code = "reflective_tape_kit"
    costs(code, "20.00")
    counted(counter, **{code: 4})
    ticket = on_the_bench(counter, (code, 1), (code, 2))
    bought(counter, 4, "26.00", code)
    work.check(tech, fresh(ticket), why="Ticked on paper.")
    used = [(one.line, one.accessory, one.quantity, one.unit_cost) for one in facts_of(fresh(ticket)).used]
    assert used == [("L1", code, 1, 23), ("L2", code, 2, 23)]


def test_what_the_shelf_does_not_know_costs_what_was_agreed(catalogue, counter, tech):
    """A type that was never counted, and a ticket whose parts still lie on the shelf."""
    costs(CODE, "20.00")
    ticket = on_the_bench(counter, (CODE, 1))
    counted(counter, grab_loop_toggle=9)
    held = accepted(counter, ("grab_loop_toggle", 2))
    work.check(tech, fresh(ticket), why="Ticked on paper.")
    assert facts_of(fresh(ticket)).used == facts_of(fresh(held)).used == ()


def test_no_cost_of_the_shelf_is_told_at_the_counter(gone, cast, client):
    for role, path in (
        ("counter", f"/counter/parts/type/{CODE}/"),
        ("counter", "/counter/parts/"),
        ("counter", f"/counter/ticket/{gone.number}/parts/"),
        ("owner", f"/counter/parts/type/{CODE}/"),
    ):
        client.force_login(cast[role])
        assert "23.00" not in client.get(path).content.decode(), path
    assert "23.00" in client.get("/office/parts/").content.decode()
