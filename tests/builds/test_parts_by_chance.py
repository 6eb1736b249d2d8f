"""Two thousand acts upon the shelf by chance, beside a ledger that knows nothing of the program: one token a piece."""

import datetime
import json
import random
from collections import Counter
from decimal import Decimal
from types import SimpleNamespace

import pytest

from builds import purchase, stock
from builds.actions import holding, ordering, shelf
from builds.actions.ground import Refused
from builds.actions.ordering import Came, Ordered
from builds.models import Movement, Need, StockItem, Ticket
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion

ACTS = 2000
CODES = ["anchor_trolley", "ball_base_25mm", "display_7in", "rod_holder_flush_tube", "cable_gland_deck"]
DAY = datetime.date(2027, 6, 1)
ESTIMATE = {"labour": {"bench_min": 60.0, "ready_h": 2.0}}


def agreed_to(lines):
    """What a customer agreed to, as far as the shelf asks: how many of a part on a line."""
    rows = [
        {"id": key, "accessory": code, "quantity": quantity, "supplied_by": "shop"}
        for key, (code, quantity) in lines.items()
    ]
    return SimpleNamespace(sheet_json=json.dumps({"lines": rows}), estimate=ESTIMATE, ready_on=DAY)


class Ledger:
    """The shelf in tokens: who waits stands in a row, one token a piece, and the first ones have what lies there."""

    def __init__(self):
        self.lies = Counter()
        self.row = {code: [] for code in CODES}
        self.ordered = {}
        self.closed = set()

    def agree(self, ticket, lines):
        for code in CODES:
            for key in {"L1", "L2"}:
                want = lines[key][1] if key in lines and lines[key][0] == code else 0
                mine = [n for n, token in enumerate(self.row[code]) if token == (ticket, key)]
                for n in reversed(mine[want:]):
                    del self.row[code][n]
        for key in sorted(lines):
            code, want = lines[key]
            self.row[code] += [(ticket, key)] * (want - self.row[code].count((ticket, key)))

    def leave(self, ticket):
        for code in CODES:
            self.row[code] = [token for token in self.row[code] if token[0] != ticket]

    def check(self, ticket, kept):
        for code in CODES:
            served = self.row[code][: self.lies[code]]
            if code in kept:
                self.lies[code] -= sum(token[0] == ticket for token in served)
        self.leave(ticket)

    def held(self, code):
        return Counter(ticket for ticket, _ in self.row[code][: self.lies[code]])

    def coming(self, code):
        return sum(
            max(0, wanted - came)
            for (order, of), (wanted, came) in self.ordered.items()
            if of == code and order not in self.closed
        )


class Shop:
    """A shop of five parts and a dozen tickets, in which something happens."""

    def __init__(self, owner, tickets, seed):
        self.owner, self.tickets, self.dice, self.ledger = owner, tickets, random.Random(seed), Ledger()
        kinds = {kind.code: kind for kind in AccessoryType.objects.filter(code__in=CODES)}
        self.items = {code: shelf.item_of(kinds[code]) for code in CODES}
        self.lines, self.kept, self.orders, self.done = {}, set(), {}, Counter()

    def step(self):
        act = self.dice.choice(["count", "move", "accept", "accept", "change", "cancel", "check", "order", "receive"])
        code, ticket = self.dice.choice(CODES), self.dice.choice(self.tickets)
        getattr(self, act)(code, ticket)
        self.done[act] += 1

    def count(self, code, _):
        there = self.dice.randint(0, 6)
        shelf.count(self.owner, {self.items[code].pk: (Decimal(there), None)}, why="counted anew")
        self.ledger.lies[code] = there
        self.kept.add(code)

    def move(self, code, _):
        kind, sign = self.dice.choice([("returned", 1), ("sent_back", -1), ("damaged", -1)])
        many = self.dice.randint(1, 3)
        if self.ledger.lies[code] + sign * many < 0:
            with pytest.raises(Refused, match="Count first"):
                shelf.write(self.owner, self.items[code], kind, Decimal(many), why="seen")
            return
        shelf.write(self.owner, self.items[code], kind, Decimal(many), why="seen")
        self.ledger.lies[code] += sign * many
        self.kept.add(code)

    def wish(self, had):
        """Return other lines; as often the same ones, of another number."""
        if had and self.dice.random() < 0.7:
            return {key: (code, self.dice.randint(1, 4)) for key, (code, _) in had.items()}
        keys = ("L1", "L2")[: self.dice.choice((1, 2))]
        return {key: (self.dice.choice(CODES), self.dice.randint(1, 3)) for key in keys}

    def accept(self, _, ticket):
        if ticket.pk not in self.lines:
            self.change(None, ticket, first=True)

    def change(self, _, ticket, first=False):
        if first or ticket.pk in self.lines:
            self.lines[ticket.pk] = self.wish(self.lines.get(ticket.pk))
            holding.hold(ticket, agreed_to(self.lines[ticket.pk]))
            self.ledger.agree(ticket.pk, self.lines[ticket.pk])

    def cancel(self, _, ticket):
        holding.release(ticket)
        self.ledger.leave(ticket.pk)
        self.lines.pop(ticket.pk, None)

    def check(self, _, ticket):
        holding.use(self.owner, ticket)
        self.ledger.check(ticket.pk, self.kept)
        self.lines.pop(ticket.pk, None)

    def order(self, code, _):
        made = ordering.order(
            self.owner,
            [Ordered(self.items[code].pk, self.dice.randint(1, 4))],
            supplier="Bay",
            ordered_on=DAY,
            expected_on=DAY,
        )
        line = made.lines.get()
        self.orders[made.pk] = (made, line, code)
        self.ledger.ordered[made.pk, code] = [int(line.quantity), 0]

    def receive(self, *_):
        if not self.orders:
            return
        key = self.dice.choice(sorted(self.orders))
        made, line, code = self.orders[key]
        if self.dice.random() < 0.3:
            ordering.close(self.owner, made, why="no more comes")
            self.ledger.closed.add(key)
            del self.orders[key]
            return
        many, condition = self.dice.randint(1, 3), self.dice.choice(["good", "good", "short", "damaged", "wrong"])
        ordering.receive(self.owner, made, [Came(line.pk, Decimal(many), False, condition, "as seen")])
        if condition != "wrong":
            self.kept.add(code)
        if condition in ("good", "short"):
            self.ledger.lies[code] += many
            self.ledger.ordered[key, code][1] += many


def compare(shop):
    """Hold the program's shelf against the tokens."""
    known = stock.standings(StockItem.objects.select_related("accessory", "consumable"))
    for code, item in shop.items.items():
        one, ledger = known[item.pk], shop.ledger
        assert one.on_hand == ledger.lies[code] >= 0
        held = Counter()
        for need in one.needs:
            held[need.need.ticket_id] += int(need.held)
        assert +held == ledger.held(code)
        assert one.needed == len(ledger.row[code])
        assert one.held + one.free == one.on_hand
        assert one.free >= 0
        assert one.on_order == ledger.coming(code)
        short = len(ledger.row[code]) + int(one.minimum) - ledger.lies[code] - ledger.coming(code)
        assert one.short == max(0, short)


def the_list_covers_what_is_short(shop):
    listed = {row.item.pk: row for supplier in purchase.to_order() for row in supplier.rows}
    for code, item in shop.items.items():
        minimum = stock.the_shelf().by_key[item.pk].minimum
        short = len(shop.ledger.row[code]) + minimum - shop.ledger.lies[code] - shop.ledger.coming(code)
        assert (item.pk in listed) == (short > 0)
        if short > 0:
            row = listed[item.pk]
            assert row.quantity - row.item.pack < short <= row.quantity


@pytest.fixture
def tickets(ticket):
    same = {"hull": ticket.hull, "opened_at": ticket.opened_at, "changed_at": ticket.opened_at}
    Ticket.objects.bulk_create(
        Ticket(number=f"C-{n}", title="by chance", state="accepted", state_at=ticket.opened_at, **same)
        for n in range(12)
    )
    return list(Ticket.objects.filter(number__startswith="C-").order_by("pk"))


def test_two_thousand_acts_leave_the_shelf_as_the_ledger_has_it(tickets, owner):
    AccessoryType.objects.filter(code=CODES[0]).update(stock_minimum=3, order_pack=4)
    CatalogueVersion.move_on()
    shop = Shop(owner, tickets, seed=20)
    for n in range(ACTS):
        shop.step()
        if n % 10 == 0:
            compare(shop)
        if n % 50 == 0:
            the_list_covers_what_is_short(shop)
    compare(shop)
    the_list_covers_what_is_short(shop)
    assert min(shop.done.values()) > ACTS / 20, "every act had its turn"
    totals = stock.sums()
    assert all(item.on_hand == totals.get(item.pk, 0) for item in StockItem.objects.all())
    assert not Movement.objects.filter(on_hand_after__lt=0).exists()
    assert not Need.objects.filter(quantity__lte=0).exists()
    counted_up = Movement.objects.filter(kind="counted")
    assert counted_up.exists() and not counted_up.filter(why="").exists()
