"""Two thousand acts of a shop by chance, beside a ledger of its own: both say the same of every part and ticket.

The ledger is plain Python and knows nothing of the program: lists of what came and went, and queues.
"""

import datetime
import random
from decimal import Decimal

import pytest
from django.db import transaction

from builds import parts, purchase, stock
from builds.actions import holding, ordering, shelf
from builds.actions.ground import Refused
from builds.actions.ordering import Came, Ordered
from builds.actions.tickets import open_ticket
from builds.models import Movement, Need, PurchaseOrder, StockItem, Ticket
from catalog.models import AccessoryType, HullType
from catalog.models.version import CatalogueVersion
from shop import clock, journal
from tests.builds.shelf_of import hold

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("catalogue")]

ACTS, LOOK_EVERY, SEED, TICKETS = 2_000, 100, 20261204, 600
FEWEST = {"anchor_trolley": 2, "reflective_tape_kit": 0, "grab_loop_toggle": 5, "float_bags_sit_inside": 0}
PACK = {"anchor_trolley": 1, "reflective_tape_kit": 10, "grab_loop_toggle": 2, "float_bags_sit_inside": 1}
DAY = datetime.timedelta(days=1)


class Ledger:
    """What should be there: figures on hand, queues of needs, lines of orders."""

    def __init__(self):
        self.on_hand = dict.fromkeys(FEWEST, 0)
        self.kept = set()
        self.queue = {code: [] for code in FEWEST}
        self.lines = []

    def want(self, ticket, lines):
        """A ticket's needs become these; what is more than before goes to the end."""
        for code, queue in self.queue.items():
            for key in {row[1] for row in queue if row[0] == ticket} | {k for k, (c, _) in lines.items() if c == code}:
                wanted = lines[key][1] if key in lines and lines[key][0] == code else 0
                mine = [row for row in queue if row[:2] == [ticket, key]]
                have = sum(row[2] for row in mine)
                if wanted > have:
                    queue.append([ticket, key, wanted - have])
                while have > wanted:
                    mine[-1][2] -= 1
                    have -= 1
                    if not mine[-1][2]:
                        queue.remove(mine.pop())

    def drop(self, ticket):
        for code, queue in self.queue.items():
            self.queue[code] = [row for row in queue if row[0] != ticket]

    def held(self, code):
        """How much each ticket holds of a type, the first in the queue first."""
        left, found = self.on_hand[code], {}
        for ticket, _, quantity in self.queue[code]:
            took = min(left, quantity)
            left -= took
            found[ticket] = found.get(ticket, 0) + took
        return found

    def use(self, ticket):
        """What the ticket held goes; what it needed beyond that was there after all, and goes too."""
        for code in FEWEST:
            self.on_hand[code] -= self.held(code).get(ticket, 0) if code in self.kept else 0
        self.drop(ticket)

    def on_order(self, code):
        return sum(
            max(0, line["quantity"] - line["came"]) for line in self.lines if line["code"] == code and line["open"]
        )

    def short(self, code):
        needed = sum(row[2] for row in self.queue[code])
        return max(0, needed + FEWEST[code] - self.on_hand[code] - self.on_order(code))


class Shop:
    """The program's acts, each written into the ledger as a person would."""

    def __init__(self, counter, tickets):
        self.chance, self.counter, self.ledger = random.Random(SEED), counter, Ledger()
        self.fresh, self.open = list(tickets), []
        self.items = {code: self.item_of(code) for code in FEWEST}
        self.entries, self.refused = [], 0

    def item_of(self, code):
        return shelf.item_of(AccessoryType.objects.get(code=code))

    def some_lines(self):
        codes = [self.chance.choice(list(FEWEST)) for _ in range(self.chance.randint(1, 3))]
        return {f"L{n}": (code, self.chance.randint(1, 4)) for n, code in enumerate(codes, start=1)}

    def act(self):
        acts = [self.accept] * 4 + [self.check] * 3 + [self.change, self.cancel, self.count, self.take_back, self.order]
        acts += [self.write] * 2 + [self.receive] * 2 + [self.close]
        self.chance.choice(acts)()

    def accept(self):
        if self.fresh:
            ticket, lines = self.fresh.pop(), self.some_lines()
            hold(ticket, **lines)
            self.ledger.want(ticket.pk, lines)
            self.open.append(ticket)

    def change(self):
        if self.open:
            ticket, lines = self.chance.choice(self.open), self.some_lines()
            hold(ticket, **lines)
            self.ledger.want(ticket.pk, lines)

    def cancel(self):
        if self.open:
            ticket = self.open.pop(self.chance.randrange(len(self.open)))
            with transaction.atomic():
                holding.release(ticket)
            self.ledger.drop(ticket.pk)

    def check(self):
        if self.open:
            ticket = self.open.pop(self.chance.randrange(len(self.open)))
            with transaction.atomic():
                holding.use(self.counter, ticket)
            self.ledger.use(ticket.pk)

    def count(self):
        code = self.chance.choice(list(FEWEST))
        there = max(0, self.ledger.on_hand[code] + self.chance.randint(-2, 3))
        shelf.count(self.counter, {self.items[code].pk: (Decimal(there), None)}, why="Counted")
        self.ledger.on_hand[code] = there
        self.ledger.kept.add(code)

    def write(self):
        code, many = self.chance.choice(list(FEWEST)), self.chance.randint(1, 2)
        kind, sign = self.chance.choice([("damaged", -1), ("returned", 1), ("sent_back", -1)])
        if self.allowed(
            self.ledger.on_hand[code] + sign * many >= 0,
            lambda: shelf.write(self.counter, self.items[code], kind, Decimal(many), why="Seen"),
        ):
            self.ledger.on_hand[code] += sign * many
            self.ledger.kept.add(code)

    def take_back(self):
        entry = Movement.objects.filter(takes_back=None, taken_back_by=None).order_by("-id").first()
        if entry is None:
            return
        code = next(code for code, item in self.items.items() if item.pk == entry.item_id)
        many = int(entry.quantity)
        if self.allowed(
            self.ledger.on_hand[code] - many >= 0, lambda: shelf.take_back(self.counter, entry, why="A mistake")
        ):
            self.ledger.on_hand[code] -= many
            for line in self.ledger.lines:
                line["came"] -= many if line["pk"] == entry.order_line_id else 0

    def allowed(self, may, act):
        """Do an act, which is refused exactly where the ledger would fall below nothing."""
        try:
            with transaction.atomic():
                act()
        except Refused:
            self.refused += 1
            assert not may
            return False
        assert may
        return True

    def order(self):
        short = {code: self.ledger.short(code) for code in FEWEST if self.ledger.short(code)}
        if not short:
            return
        packs = {code: -(-many // PACK[code]) for code, many in short.items()}
        today = clock.today()
        made = ordering.order(
            self.counter,
            [Ordered(self.items[code].pk, packs[code], Decimal(short[code])) for code in short],
            supplier="Sample Supply",
            ordered_on=today,
            expected_on=today + self.chance.randint(0, 20) * DAY,
        )
        for line in made.lines.all():
            code = next(code for code, item in self.items.items() if item.pk == line.item_id)
            about = {"pk": line.pk, "order": made, "code": code, "came": 0, "open": True}
            self.ledger.lines.append({**about, "quantity": packs[code] * PACK[code]})

    def receive(self):
        left = [line for line in self.ledger.lines if line["open"] and line["came"] < line["quantity"]]
        if left:
            line = self.chance.choice(left)
            many = self.chance.randint(1, line["quantity"] - line["came"])
            condition = self.chance.choice(["good", "good", "good", "short", "damaged", "wrong"])
            came = Came(line["pk"], Decimal(many), True, condition, "Seen")
            ordering.receive(self.counter, line["order"], [came])
            if condition in ("good", "short"):
                line["came"] += many
                self.ledger.on_hand[line["code"]] += many
            if condition != "wrong":
                self.ledger.kept.add(line["code"])

    def close(self):
        orders = sorted({line["order"].pk for line in self.ledger.lines if line["open"]})
        if orders and self.chance.random() < 0.3:
            pk = self.chance.choice(orders)
            ordering.close(self.counter, PurchaseOrder.objects.get(pk=pk), why="Sold out")
            for line in self.ledger.lines:
                line["open"] = line["open"] and line["order"].pk != pk


def check_that_both_say_the_same(shop):
    found = {one.item.accessory.code: one for one in stock.standings(stock.items()).values()}
    listed = {row.item.thing.code: row.standing.short for one in purchase.to_order() for row in one.rows}
    sums = stock.sums()
    for code in FEWEST:
        one, ledger = found[code], shop.ledger
        held = {}
        for need in one.needs:
            held[need.need.ticket_id] = held.get(need.need.ticket_id, 0) + need.held
        assert one.on_hand == sums.get(one.item.pk, 0) == ledger.on_hand[code] >= 0
        assert one.held + one.free == one.on_hand
        assert held == ledger.held(code)
        assert one.on_order == ledger.on_order(code)
        assert one.short == ledger.short(code)
        assert listed.get(code, 0) == ledger.short(code)
        assert one.item.kept == (code in ledger.kept)


@pytest.fixture
def shop(counter):
    for code, fewest in FEWEST.items():
        AccessoryType.objects.filter(code=code).update(stock_minimum=fewest, order_pack=PACK[code])
    CatalogueVersion.move_on()

    first = open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_4"))
    now = clock.now()
    same = {"hull": first.hull, "opened_at": now, "changed_at": now, "state_at": now, "state": "accepted"}
    Ticket.objects.bulk_create(Ticket(number=f"X-{n}", **same) for n in range(TICKETS))
    return Shop(counter, Ticket.objects.filter(number__startswith="X-").order_by("-id"))


def test_two_thousand_acts_leave_what_an_independent_ledger_says(shop):
    for n in range(ACTS):
        shop.act()
        if n % LOOK_EVERY == 0:
            check_that_both_say_the_same(shop)
    check_that_both_say_the_same(shop)
    assert shop.refused > 10
    assert Need.objects.filter(used=True).exists() and Movement.objects.count() > 500
    assert StockItem.objects.filter(on_hand__lt=0).count() == 0
    assert journal.verify() is None
    waiting = {one.ticket.pk for one in parts.waiting_tickets()}
    short_of = {
        ticket
        for code in FEWEST
        for ticket, held in shop.ledger.held(code).items()
        if held < sum(row[2] for row in shop.ledger.queue[code] if row[0] == ticket)
    }
    assert waiting == short_of
