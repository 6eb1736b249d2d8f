"""Parts: held in the order of acceptance, ordered when short, received for who waits, missed at the bench."""

import csv
import datetime
import io
import json
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction

from builds import parts, purchase, querysets, stock
from builds.actions import holding, missing, ordering, papers, shelf, signing, tickets, work
from builds.actions.ground import Refused
from builds.actions.ordering import Came, Ordered
from builds.models import ClockMark, Movement, OwnPart, PartFound, StockItem, Ticket
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion
from shop import clock
from shop.once import new_token
from tests.builds.at_once import all_at_once
from tests.builds.conftest import fresh
from tests.builds.test_bench import job  # noqa: F401

pytestmark = pytest.mark.usefixtures("blank_papers")

CODE = "display_7in"
TODAY = datetime.date(2027, 3, 1)
LABOUR = {"labour": {"bench_min": 60.0, "ready_h": 2.0}}


@pytest.fixture
def item(kind):
    return shelf.item_of(kind(CODE))


def agreed_to(quantity, supplied_by="shop"):
    line = {"id": "L1", "accessory": CODE, "quantity": quantity, "supplied_by": supplied_by}
    return SimpleNamespace(sheet_json=json.dumps({"lines": [line]}), estimate=LABOUR, ready_on=TODAY)


@pytest.fixture
def accepted(ticket):
    """Three accepted tickets; what they agreed to, the test says."""
    same = {"hull": ticket.hull, "opened_at": ticket.opened_at, "changed_at": ticket.opened_at}
    rows = [Ticket(number=f"W-{n}", title="x", state="accepted", state_at=ticket.opened_at, **same) for n in range(3)]
    Ticket.objects.bulk_create(rows)
    return list(Ticket.objects.filter(number__startswith="W-").order_by("pk"))


def count(who, item, there, why="counted"):
    return shelf.count(who, {item.pk: (Decimal(there), None)}, why=why)


def standing(item):
    return stock.standings([StockItem.objects.get(pk=item.pk)])[item.pk]


def held(item):
    return [int(one.held) for one in standing(item).needs]


def order(who, item, packs, supplier="Bay Supply"):
    today = clock.today()
    lines = [Ordered(item.pk, packs)]
    return ordering.order(
        who, lines, supplier=supplier, ordered_on=today, expected_on=today + datetime.timedelta(days=5)
    )


def came(made, quantity, condition="good", note=""):
    return [Came(made.lines.get().pk, Decimal(quantity), True, condition, note)]


def test_who_accepts_first_is_served_first_and_a_change_order_keeps_its_turn_for_what_it_had(item, accepted, counter):
    a, b, c = accepted
    count(counter, item, 4)
    for one, quantity in ((a, 2), (b, 1), (c, 2)):
        holding.hold(one, agreed_to(quantity))
    assert held(item) == [2, 1, 1]
    holding.hold(a, agreed_to(4))  # two more, after b and c
    assert [(one.need.ticket, int(one.held)) for one in standing(item).needs] == [(a, 2), (b, 1), (c, 1), (a, 0)]
    holding.hold(a, agreed_to(1))
    assert held(item) == [1, 1, 2]
    holding.release(b)
    assert (held(item), standing(item).free) == ([1, 2], 1)


@pytest.mark.parametrize("supplied_by", ["customer", "already_fitted"])
def test_what_the_shop_does_not_supply_is_not_held(supplied_by, item, accepted, counter):
    count(counter, item, 4)
    holding.hold(accepted[0], agreed_to(2, supplied_by))
    assert standing(item).needs == []


def test_the_shelf_falls_below_nothing_by_no_entry_and_a_count_that_differs_needs_a_reason(item, counter):
    count(counter, item, 2, why="")
    with pytest.raises(Refused, match="Count first"):
        shelf.write(counter, item, "damaged", Decimal(3), why="fell")
    with pytest.raises(Refused, match="why the count differs"):
        count(counter, item, 1, why=" ")
    count(counter, item, 1, why="one was in the van")
    assert [int(one) for one in Movement.objects.values_list("on_hand_after", flat=True)] == [2, 1]


def test_a_count_of_a_page_that_is_old_is_refused(item, counter):
    count(counter, item, 5)
    with pytest.raises(Refused, match="went from 3 to 5"):
        shelf.count(counter, {item.pk: (Decimal(4), Decimal(3))}, why="x")


def test_an_entry_is_taken_back_once_and_both_stay(item, counter):
    count(counter, item, 5)
    entry = shelf.write(counter, item, "damaged", Decimal(2), why="fell")
    shelf.take_back(counter, entry, why="it was another box")
    with pytest.raises(Refused, match="taken back already"):
        shelf.take_back(counter, entry)
    assert (standing(item).on_hand, Movement.objects.count()) == (5, 3)


def test_a_tech_neither_counts_nor_orders(item, tech):
    with pytest.raises(PermissionDenied):
        count(tech, item, 5)
    with pytest.raises(PermissionDenied):
        order(tech, item, 1)


@pytest.fixture
def by_four(item, kind):
    """Kept at 3 at least, bought by four."""
    AccessoryType.objects.filter(code=CODE).update(
        stock_minimum=3, order_pack=4, supplier="=Bay", part_number="@17", cost=Decimal("10.00")
    )
    CatalogueVersion.move_on()
    return shelf.item_of(kind(CODE))


def test_the_list_covers_what_is_short_in_whole_packs(by_four, accepted, counter):
    count(counter, by_four, 2)
    for one in accepted[:2]:
        holding.hold(one, agreed_to(2))
    (supplier,) = purchase.to_order()
    (row,) = supplier.rows
    # needed 4, at least 3, 2 there: 5 short, two packs of 4 for 80.00; one ticket waits.
    assert (row.standing.short, row.standing.packs, row.quantity, row.cost) == (5, 2, 8, Decimal("80.00"))
    assert row.tickets == ["W-1"]
    order(counter, by_four, 2)
    assert purchase.to_order() == []


def test_the_table_holds_no_formula_and_costs_only_for_the_owner(by_four, counter):
    count(counter, by_four, 0)
    plain = list(csv.reader(io.StringIO(purchase.as_csv(purchase.to_order(), costs=False).lstrip("\ufeff"))))
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for row in plain for cell in row)
    assert "cost" not in plain[0]
    dear = list(csv.reader(io.StringIO(purchase.as_csv(purchase.to_order(), costs=True).lstrip("\ufeff"))))
    assert (dear[0][-1], dear[1][-1]) == ("cost", "40.00")


def test_what_comes_goes_to_who_waits_in_order_and_what_is_bad_stays_on_order(item, accepted, counter):
    count(counter, item, 0)
    for one in accepted:
        holding.hold(one, agreed_to(1))
    made = order(counter, item, 3)
    result = ordering.receive(counter, made, came(made, 1))
    assert (result.served, result.complete, held(item)) == (["W-0"], ["W-0"], [1, 0, 0])
    ordering.receive(counter, made, came(made, 1, "damaged", "screen cracked"))
    ordering.receive(counter, made, came(made, 1, "wrong", "the small one"))
    assert (standing(item).on_hand, standing(item).on_order, held(item)) == (1, 2, [1, 0, 0])
    with pytest.raises(Refused, match="what is wrong"):
        ordering.receive(counter, made, came(made, 1, "damaged"))
    ordering.receive(counter, made, came(made, 2))
    assert (held(item), standing(item).on_order) == ([1, 1, 1], 0)


def test_an_order_written_on_an_old_list_is_refused(item, accepted, counter):
    count(counter, item, 0)
    holding.hold(accepted[0], agreed_to(1))
    holding.hold(accepted[1], agreed_to(1))
    day = clock.today()
    with pytest.raises(Refused, match="short is 2 now"):
        ordering.order(counter, [Ordered(item.pk, 1, Decimal(1))], supplier="B", ordered_on=day, expected_on=day)


def test_the_expected_day_moves_when_the_parts_are_here(item, accepted, counter):
    count(counter, item, 0)
    holding.hold(accepted[0], agreed_to(1))
    made = order(counter, item, 1)
    assert parts.parts_here_on(accepted[0]) == made.expected_on
    later = made.expected_on + datetime.timedelta(days=9)
    ordering.expect(counter, made, later, why="the ship is late")
    assert parts.parts_here_on(accepted[0]) == later
    ordering.receive(counter, made, came(made, 1))
    assert parts.parts_here_on(accepted[0]) is None


@pytest.mark.django_db(transaction=True)
def test_the_last_part_taken_by_fifty_at_once_goes_to_one(item, ticket, counter):
    count(counter, item, 1)
    same = {"hull": ticket.hull, "opened_at": ticket.opened_at, "changed_at": ticket.opened_at}
    rows = [Ticket(number=f"F-{n}", title="x", state="accepted", state_at=ticket.opened_at, **same) for n in range(50)]
    Ticket.objects.bulk_create(rows)

    def taken(one):
        def act():
            with transaction.atomic():
                holding.hold(one, agreed_to(1))
            return one.pk

        return act

    found = all_at_once([taken(one) for one in Ticket.objects.filter(number__startswith="F-")])
    assert sorted(found, key=str) == sorted(
        Ticket.objects.filter(number__startswith="F-").values_list("pk", flat=True), key=str
    )
    tickets_held = held(item)
    assert (len(tickets_held), sum(tickets_held), tickets_held[0]) == (50, 1, 1)
    words = [stock.need_words(one, TODAY) for one in standing(item).needs]
    assert (words[0], set(words[1:])) == ("held", {"to order"})
    assert standing(item).short == 49 + standing(item).minimum


# On the bench.


def test_a_part_missing_at_the_bench_stops_the_clock_and_the_check_until_it_is_found(job, tech, counter):  # noqa: F811
    line = job.lines.get(accessory__code=CODE)
    shown = shelf.item_of(line.accessory)
    count(counter, shown, 1)
    work.set_clock(tech, job, running=True, key=new_token())
    wait = missing.miss_part(tech, fresh(job), line_key=line.key, words="Bin is empty.", key=new_token())
    assert not ClockMark.objects.filter(ticket=job).last().running
    assert standing(shown).on_hand == 0
    assert parts.parts_of_ticket(fresh(job)).words.startswith("waits for ")
    with pytest.raises(Refused, match="Waits for"):
        work.check(tech, fresh(job), why="late")
    missing.find_part(tech, fresh(job), wait, how="found", words="under the bench")
    assert standing(shown).on_hand == 1
    work.check(tech, fresh(job), why="On paper.")
    assert standing(shown).on_hand == 0
    with pytest.raises(Refused):
        missing.find_part(tech, fresh(job), wait, how="found")


def test_a_wait_ends_when_the_part_is_received(job, tech, counter):  # noqa: F811
    line = job.lines.get(accessory__code=CODE)
    shown = shelf.item_of(line.accessory)
    count(counter, shown, 1)
    wait = missing.miss_part(tech, fresh(job), line_key=line.key, words="Bin is empty.", key=new_token())
    made = order(counter, shown, 1)
    ordering.receive(counter, made, came(made, 1))
    assert PartFound.objects.get(missing=wait).how == "received"


def test_the_customers_own_part_that_failed_stops_its_line_and_says_so(job, tech):  # noqa: F811
    line = job.lines.get(accessory__code=CODE)
    job.lines.filter(pk=line.pk).update(supplied_by="customer")
    about = {"line_key": line.key, "condition": "good"}
    missing.record_own_part(tech, fresh(job), **about, powered="failed", reading="0.00 A at 12.8 V")
    assert "failed when it was powered (0.00 A at 12.8 V)" in parts.stops_of(fresh(job))[line.key]
    missing.record_own_part(tech, fresh(job), **about, powered="passed", reading="0.62 A at 12.8 V")
    assert parts.stops_of(fresh(job)) == {}
    assert OwnPart.objects.count() == 2
    with pytest.raises(Refused, match="cannot have been powered"):
        missing.record_own_part(tech, fresh(job), line_key=line.key, condition="missing", powered="passed")


def test_a_yes_holds_what_is_agreed_and_a_cancelled_ticket_lets_it_go(rig, counter):
    shown = shelf.item_of(rig.lines.get(accessory__code=CODE).accessory)
    count(counter, shown, 1)
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    signing.accept(counter, rig, signing.Yes("Customer 0412", signing.places_of(quote), note="By hand."), way="paper")
    assert (held(shown), standing(shown).free) == ([1], 0)
    tickets.close(counter, fresh(rig), "cancel", why="The boat is sold.")
    assert (held(shown), standing(shown).free) == ([], 1)
