"""What is short is ordered, what comes goes to the tickets that wait.

Facts of the trade: common practice, no source.
"""

import csv
import datetime
import io
from decimal import Decimal

import pdfplumber
import pytest
from django.core.exceptions import PermissionDenied

from builds import bench, parts, promise, purchase, stock
from builds.actions import changes, lines, missing, ordering, shelf, work
from builds.actions.ground import Refused
from builds.actions.holding import needed_on
from builds.actions.ordering import Came, Ordered
from builds.bridge import estimate_of
from builds.documents import PaperFacts, purchase_list_pdf
from builds.models import ClockMark, Delivery, Movement, Need, OwnPart, PartFound, PurchaseOrder
from catalog.models import AccessoryType, Consumable, ShopRates
from catalog.models.version import CatalogueVersion
from catalog.shelf import rates_on
from shop import clock, journal
from shop.once import new_token
from tests.builds.at_once import all_at_once
from tests.builds.shelf_of import accepted, counted, draft, held, item, kind, on_the_bench, standing, whole

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("catalogue")]

DAY = datetime.timedelta(days=1)


PRINTED = "test_the_printed_list"


@pytest.fixture(autouse=True)
def blank(request):
    """Papers are blank but in the test that reads one."""
    if not request.node.name.startswith(PRINTED):
        request.getfixturevalue("blank_papers")


def supplied(code, **figures):
    AccessoryType.objects.filter(code=code).update(**figures)
    CatalogueVersion.move_on()


def order(actor, *wanted, days=9, **more):
    """Order packs of types: (code, packs)."""
    today = clock.today()
    lines = [Ordered(item(code).pk, packs) for code, packs in wanted]
    return ordering.order(
        actor, lines, supplier="Sample Supply", ordered_on=today, expected_on=today + days * DAY, **more
    )


def came(actor, made, code, quantity, condition="good", note="", opened=True):
    line = made.lines.get(item__accessory__code=code)
    return ordering.receive(actor, made, [Came(line.pk, Decimal(quantity), opened, condition, note)])


def short():
    return {row.item.thing.code: row.standing.short for one in purchase.to_order() for row in one.rows}


# The list.


def test_short_is_what_is_needed_and_the_fewest_less_on_hand_and_on_order(counter):
    """7 needed and 2 at least on the shelf, 4 there, 3 on order: 7 + 2 - 4 - 3 = 2 are short."""
    counted(counter, reflective_tape_kit=4)
    supplied("reflective_tape_kit", stock_minimum=2)
    accepted(counter, ("reflective_tape_kit", 7))
    order(counter, ("reflective_tape_kit", 3))
    assert short() == {"reflective_tape_kit": 2}
    order(counter, ("reflective_tape_kit", 2))
    assert short() == {}


def test_nothing_is_short_while_the_shelf_has_enough_and_the_fewest_alone_can_be(counter):
    counted(counter, anchor_trolley=4, cart_scupper_posts=1)
    accepted(counter, ("anchor_trolley", 4))
    assert short() == {}
    supplied("cart_scupper_posts", stock_minimum=3)
    assert short() == {"cart_scupper_posts": 2}


def test_the_list_is_by_supplier_in_whole_packs_and_what_has_none_comes_last(counter):
    supplied("anchor_trolley", supplier="Sample Supply", part_number="AT-9", order_pack=4)
    first = accepted(counter, ("anchor_trolley", 5), ("cart_scupper_posts", 1))
    second = accepted(counter, ("anchor_trolley", 1))
    groups = purchase.to_order()
    assert [one.title for one in groups] == ["Sample Supply", "No supplier yet"]
    [row] = groups[0].rows
    assert (row.standing.short, row.standing.packs, row.quantity) == (6, 2, 8)
    assert row.tickets == [first.number, second.number]
    assert row.needed_on == min(Need.objects.filter(item=row.item).values_list("needed_on", flat=True))
    assert row.cost == 8 * kind("anchor_trolley").cost


def test_the_day_it_is_needed_is_the_day_the_bench_begins():
    """Ready Fri 4 Dec with 300 min of bench, 6 h a day, and 24 h of cure after it: the bench has Thu 3 Dec.

    900 min are 2.5 days: Tue, Wed, Thu. Nothing cures and ready on Mon 7 Dec with 720 min: Fri 4 and Mon 7.
    """
    friday, monday = datetime.date(2026, 12, 4), datetime.date(2026, 12, 7)
    assert needed_on(friday, 300.0, 29.0) == datetime.date(2026, 12, 3)
    assert needed_on(friday, 900.0, 39.0) == datetime.date(2026, 12, 1)
    assert needed_on(monday, 720.0, 12.0) == datetime.date(2026, 12, 4)


def test_a_pack_of_a_consumable_is_its_cartridge_or_spool(counter):
    sealant = Consumable.objects.get(code="marine_sealant")
    Consumable.objects.filter(pk=sealant.pk).update(stock_minimum=700)
    CatalogueVersion.move_on()
    shelf.count(counter, {shelf.item_of(sealant).pk: (Decimal("99.5"), None)})
    [group] = purchase.to_order()
    [row] = group.rows
    assert (row.standing.short, row.standing.packs, row.quantity) == (Decimal("600.5"), 3, 900)
    assert row.cost == Decimal("40.50")


def test_two_who_order_the_same_list_order_it_once(counter):
    accepted(counter, ("anchor_trolley", 2))
    line = Ordered(item("anchor_trolley").pk, 2, Decimal(2))
    today = clock.today()
    about = {"supplier": "", "ordered_on": today, "expected_on": today}
    ordering.order(counter, [line], **about)
    with pytest.raises(Refused, match="short is nothing now"):
        ordering.order(counter, [line], **about)
    assert PurchaseOrder.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_who_order_the_same_list_at_the_same_moment_order_it_once(counter):
    accepted(counter, ("anchor_trolley", 2))
    line, today = Ordered(item("anchor_trolley").pk, 2, Decimal(2)), clock.today()
    about = {"supplier": "", "ordered_on": today, "expected_on": today}
    found = all_at_once([lambda: ordering.order(counter, [line], **about)] * 6)
    assert sum(isinstance(one, PurchaseOrder) for one in found) == 1
    assert sum(isinstance(one, Refused) for one in found) == 5


def test_who_may_not_order_or_receive(tech, counter):
    accepted(counter, ("anchor_trolley", 2))
    made = order(counter, ("anchor_trolley", 2))
    for act in (
        lambda: order(tech, ("anchor_trolley", 2)),
        lambda: came(tech, made, "anchor_trolley", 1),
        lambda: ordering.expect(tech, made, clock.today()),
        lambda: ordering.close(tech, made, why="Sold out"),
    ):
        with pytest.raises(PermissionDenied):
            act()


def test_an_order_that_makes_no_sense_is_refused(counter):
    accepted(counter, ("anchor_trolley", 2))
    with pytest.raises(Refused, match="No part is named"):
        order(counter, ("anchor_trolley", 0))
    with pytest.raises(Refused, match="before the day of the order"):
        order(counter, ("anchor_trolley", 1), days=-1)


def test_the_table_is_rfc_4180_and_holds_no_formula(counter):
    """RFC 4180, sections 2.1, 2.3 and 2.7: lines end with CRLF, a header, quotes doubled."""
    supplied("anchor_trolley", supplier='=HYPERLINK("x")', part_number="+49", name='Trolley, 2" line')
    accepted(counter, ("anchor_trolley", 2))
    text = purchase.as_csv(purchase.to_order(), costs=False)
    assert text.count("\r\n") == text.count("\n") == 2
    [row] = csv.DictReader(io.StringIO(text.lstrip("\ufeff"), newline=""))
    assert (row["supplier"], row["part_number"], row["name"]) == ('\'=HYPERLINK("x")', "'+49", 'Trolley, 2" line')
    assert (row["packs"], row["quantity"], row["unit"]) == ("2", "2", "each")
    assert "cost" not in row
    assert "cost" in purchase.as_csv(purchase.to_order(), costs=True).splitlines()[0]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_printed_list_says_the_same_and_has_costs_for_the_owner_alone(paper, counter):
    supplied("anchor_trolley", supplier="Sample Supply", part_number="AT-9", name="Anchor trolley " + "very long " * 10)
    supplied("anchor_trolley", stock_minimum=3)
    facts = PaperFacts("", shop_name="Example Outfitting", issued_at=clock.local(clock.now()))
    for costs in (False, True):
        groups = purchase.as_groups(purchase.to_order(), costs=costs)
        data = purchase_list_pdf(facts, groups, "USD", paper)
        with pdfplumber.open(io.BytesIO(data)) as pdf:
            page = pdf.pages[0]
            text, sizes = page.extract_text(), {round(char["size"], 1) for char in page.chars}
            grey = {char["non_stroking_color"] for char in page.chars} - {(0,), (0, 0, 0), (0.0,), (0.0, 0.0, 0.0)}
        assert "Sample Supply" in text and "AT-9" in text and "shelf" in text
        assert min(sizes) >= 10.5
        assert grey == set()
        cost = f"{3 * kind('anchor_trolley').cost:,.2f}"
        assert (cost in text) == costs


# What comes.


def test_what_came_goes_to_the_tickets_that_wait_in_their_order(counter):
    first = accepted(counter, ("anchor_trolley", 2))
    second = accepted(counter, ("anchor_trolley", 2))
    made = order(counter, ("anchor_trolley", 4))
    assert parts.line_words(second)["L1"].startswith("on order, here about ")
    result = came(counter, made, "anchor_trolley", 3)
    assert (result.served, result.complete) == ([first.number, second.number], [first.number])
    assert (held(first, "anchor_trolley"), held(second, "anchor_trolley")) == (2, 1)
    assert parts.parts_of_ticket(first).words == "parts here"
    assert standing("anchor_trolley").on_order == 1
    assert came(counter, made, "anchor_trolley", 1).complete == [second.number]
    assert standing("anchor_trolley").on_order == 0


def test_boxes_and_condition_are_noted_and_what_cannot_be_used_stays_on_order(counter):
    accepted(counter, ("anchor_trolley", 4))
    made = order(counter, ("anchor_trolley", 4))
    with pytest.raises(Refused, match="what is wrong with it is missing"):
        came(counter, made, "anchor_trolley", 1, "damaged")
    came(counter, made, "anchor_trolley", 1, "damaged", "Box wet, pulley broken")
    came(counter, made, "anchor_trolley", 1, "wrong", "A rod holder", opened=False)
    came(counter, made, "anchor_trolley", 2, "short", "The note says 3")
    kept = Delivery.objects.values_list("quantity", "condition", "boxes_opened")
    assert list(kept) == [(1, "damaged", True), (1, "wrong", False), (2, "short", True)]
    entries = Movement.objects.values_list("kind", "quantity")
    assert list(entries) == [("received", 1), ("damaged", -1), ("received", 2)]
    one = standing("anchor_trolley")
    assert (one.on_hand, one.on_order, one.short) == (2, 2, 0)


def test_a_delivery_written_down_by_mistake_is_taken_back_and_is_on_order_again(counter):
    accepted(counter, ("anchor_trolley", 2))
    made = order(counter, ("anchor_trolley", 2))
    came(counter, made, "anchor_trolley", 2)
    shelf.take_back(counter, Movement.objects.get(), why="Another order's")
    one = standing("anchor_trolley")
    assert (one.on_hand, one.on_order, one.held) == (0, 2, 0)


def test_a_closed_order_brings_nothing_more_and_its_rest_is_short_again(counter):
    accepted(counter, ("anchor_trolley", 3))
    made = order(counter, ("anchor_trolley", 3))
    came(counter, made, "anchor_trolley", 1)
    with pytest.raises(Refused, match="Why no more comes is missing"):
        ordering.close(counter, made, why=" ")
    ordering.close(counter, made, why="Sold out")
    assert short() == {"anchor_trolley": 2}
    with pytest.raises(Refused, match="is closed"):
        came(counter, made, "anchor_trolley", 1)


def test_the_expected_day_is_when_the_parts_of_a_ticket_are_here_and_it_moves_the_promise(counter):
    ticket = accepted(counter, ("anchor_trolley", 1), ("cart_scupper_posts", 1))
    counted(counter, cart_scupper_posts=1)
    made = order(counter, ("anchor_trolley", 1), days=30)
    today = clock.today()
    assert parts.parts_here_on(ticket) == today + 30 * DAY
    late = promise.ready_with_parts(parts.parts_of_ticket(ticket))
    assert late > today + 30 * DAY > ticket.agreed_quote.ready_on
    ordering.expect(counter, made, today + 40 * DAY, why="The supplier wrote")
    assert parts.parts_here_on(ticket) == today + 40 * DAY
    assert promise.ready_with_parts(parts.parts_of_ticket(ticket)) > late
    came(counter, made, "anchor_trolley", 1)
    assert parts.parts_here_on(ticket) is None
    assert promise.ready_with_parts(parts.parts_of_ticket(ticket)) is None


def test_what_is_on_no_order_comes_after_its_lead_time_and_what_is_late_comes_today_at_the_earliest(counter):
    ticket = accepted(counter, ("anchor_trolley", 1))
    supplied("anchor_trolley", lead_days=6)
    assert parts.parts_here_on(ticket) == clock.today() + 6 * DAY
    made = order(counter, ("anchor_trolley", 1), days=0)
    PurchaseOrder.objects.filter(pk=made.pk).update(expected_on=clock.today() - 3 * DAY)
    stock.moved()
    assert parts.parts_here_on(ticket) == clock.today()
    assert parts.line_words(ticket)["L1"].startswith("on order, was due ")


def test_a_quote_promises_by_what_lies_free_and_by_what_comes(counter):
    """A part with 14 days of lead time waits 14 days, none where one lies free, 5 where one is free of an order."""
    wanted, today = {"cart_scupper_posts": 1}, clock.today()
    supplied("cart_scupper_posts", lead_days=14)
    assert stock.wait_days(wanted, today) == 14
    counted(counter, cart_scupper_posts=1)
    assert stock.wait_days(wanted, today) == 0
    accepted(counter, ("cart_scupper_posts", 1))
    assert stock.wait_days(wanted, today) == 14
    order(counter, ("cart_scupper_posts", 1), days=5)
    assert stock.wait_days(wanted, today) == 5
    ticket = draft(counter, ("cart_scupper_posts", 1))
    promised = promise.promise_of(estimate_of(ticket), rates_on(today), today)
    assert dict(promised.working)["Parts here"] == stock.day_words(today + 5 * DAY)


def test_a_part_that_ran_out_is_not_promised_for_today_though_it_lies_on_the_shelf_as_a_rule(counter):
    """Without days of its own it takes the days of the shop's rules: 5 as shipped."""
    wanted, today = {"cart_scupper_posts": 1}, clock.today()
    supplied("cart_scupper_posts", lead_days=0)
    assert stock.wait_days(wanted, today) == 0, "never counted"
    counted(counter, cart_scupper_posts=1)
    ticket = accepted(counter, ("cart_scupper_posts", 2))
    assert stock.wait_days(wanted, today) == 5
    assert parts.parts_here_on(ticket) == today + 5 * DAY
    ShopRates.objects.update(restock_days=8)
    CatalogueVersion.move_on()
    assert stock.wait_days(wanted, today) == 8


def test_a_ticket_that_is_changed_keeps_the_part_that_it_holds(counter):
    counted(counter, cart_scupper_posts=1)
    supplied("cart_scupper_posts", lead_days=14)
    ticket = accepted(counter, ("cart_scupper_posts", 1))
    today = clock.today()
    assert stock.wait_days({"cart_scupper_posts": 1}, today, ticket) == 0
    assert stock.wait_days({"cart_scupper_posts": 2}, today, ticket) == 14


# Missing at the bench.


def miss(tech, ticket, line="L1", **more):
    said = {"words": "The bin is empty", "key": new_token(), **more}
    return missing.miss_part(tech, ticket, line_key=line, **said)


def test_a_missing_part_stops_its_line_and_the_clocks_goes_off_the_count_and_is_short(counter, tech):
    counted(counter, anchor_trolley=1)
    ticket = on_the_bench(counter, ("anchor_trolley", 1))
    work.set_clock(tech, ticket, running=True, key=new_token())
    found = miss(tech, ticket, step=2)
    stopped = [step for step in bench.steps_of(ticket) if step.said["line"] == "L1"]
    sentence = f"Waits for {kind('anchor_trolley').name}: The bin is empty."
    assert {step.locked for step in stopped} == {sentence}
    with pytest.raises(Refused, match="The bin is empty"):
        work.mark_step(tech, ticket, stopped[0].n, done=True, key=new_token())
    assert not ClockMark.objects.filter(ticket=ticket, by=tech).last().running
    assert (item("anchor_trolley").on_hand, short()) == (0, {"anchor_trolley": 1})
    assert parts.parts_of_ticket(ticket).words.startswith("waits for ")
    with pytest.raises(Refused, match="waits for"):
        miss(tech, ticket)
    with pytest.raises(Refused, match="Say that it is here"):
        work.check(tech, ticket, why="On paper.")
    assert journal.history(ticket).filter(action="miss part").get().why == "The bin is empty"
    assert found.movement.quantity == -1


def test_what_a_phone_sends_twice_is_missed_once(counter, tech):
    ticket, key = on_the_bench(counter, ("anchor_trolley", 1)), new_token()
    assert miss(tech, ticket, key=key) == miss(tech, ticket, key=key)


def test_a_missing_part_that_comes_ends_the_wait_and_is_journalled(counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 2))
    miss(tech, ticket)
    made = order(counter, ("anchor_trolley", 2))
    came(counter, made, "anchor_trolley", 1)
    assert parts.parts_of_ticket(ticket).missing
    came(counter, made, "anchor_trolley", 1)
    assert not parts.parts_of_ticket(ticket).missing
    assert PartFound.objects.get().how == "received"
    assert journal.history(ticket).filter(action="part came").exists()
    assert journal.verify() is None


def test_a_part_that_was_here_after_all_is_on_the_count_again(counter, tech):
    counted(counter, anchor_trolley=2)
    ticket = on_the_bench(counter, ("anchor_trolley", 2))
    found = miss(tech, ticket, quantity=2)
    assert item("anchor_trolley").on_hand == 0
    missing.find_part(tech, ticket, found, how="found")
    assert (item("anchor_trolley").on_hand, held(ticket, "anchor_trolley")) == (2, 2)
    assert parts.parts_of_ticket(ticket).words == "parts here"
    with pytest.raises(Refused, match="ended already"):
        missing.find_part(tech, ticket, found, how="found")


def test_a_wait_that_is_solved_otherwise_says_how(counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1))
    found = miss(tech, ticket)
    with pytest.raises(Refused, match="How it was solved is missing"):
        missing.find_part(counter, ticket, found, how="other")
    missing.find_part(counter, ticket, found, how="other", words="Bought in the harbour")
    assert not parts.parts_of_ticket(ticket).missing


def test_a_line_that_is_taken_off_ends_its_wait(counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1), ("cart_scupper_posts", 1))
    miss(tech, ticket, "L2")
    changes.begin_change(counter, ticket)
    lines.remove_line(counter, ticket, "L2")
    consent = changes.Consent("Customer 0412", "counter")
    changes.agree_change(counter, whole(ticket), why="Goes without", consent=consent)
    assert PartFound.objects.get().how == "changed"
    assert not parts.parts_of_ticket(ticket).missing


# The customer's own.


def test_the_customers_own_part_is_looked_over_and_a_failed_one_stops_its_line(counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1, "customer"), ("cart_scupper_posts", 1))
    assert parts.line_words(ticket)["L1"] == "not looked over yet"
    missing.record_own_part(
        tech, ticket, line_key="L1", condition="good", powered="failed", reading="0 A at 12.8 V", note="Dead"
    )
    locked = {step.said["line"]: step.locked for step in bench.steps_of(ticket) if step.said["line"] in ("L1", "L2")}
    assert "failed when it was powered (0 A at 12.8 V)" in locked["L1"]
    assert not locked["L2"]
    assert "powered: failed, read 0 A at 12.8 V" in parts.line_words(ticket)["L1"]
    missing.record_own_part(counter, ticket, line_key="L1", condition="worn", powered="passed", reading="0.6 A")
    assert parts.stops_of(ticket) == {}
    assert OwnPart.objects.filter(ticket=ticket).count() == 2


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"condition": "missing"}, "was not brought or is not complete"),
        ({"condition": "damaged"}, "is damaged"),
    ],
)
def test_a_part_of_the_customers_that_is_missing_or_damaged_stops_its_line(said, sentence, counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1, "customer"), ("cart_scupper_posts", 1))
    missing.record_own_part(tech, ticket, line_key="L1", **said)
    assert sentence in parts.stops_of(ticket)["L1"]


def test_an_own_part_is_recorded_only_where_it_is_the_customers(counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1, "customer"), ("cart_scupper_posts", 1))
    for said, why in (
        ({"line_key": "L2", "condition": "good"}, "not the customer's own"),
        ({"line_key": "L1", "condition": "missing", "powered": "passed"}, "cannot have been powered"),
        ({"line_key": "L1", "condition": "good", "received_on": clock.today() + DAY}, "lies ahead"),
        ({"line_key": "L1", "condition": "shiny"}, "Say in which condition"),
    ):
        with pytest.raises(Refused, match=why):
            missing.record_own_part(tech, ticket, **said)
