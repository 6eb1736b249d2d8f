"""The shelf as it stands: on hand, held for tickets in the order of their acceptance, on order, short."""

import datetime
import math
import threading
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet, Sum
from django.db.models.functions import Coalesce

from builds.models import Movement, Need, OrderLine, OwnPart, PartMissing, StockItem, Ticket
from builds.states import OPEN
from catalog import shelf
from catalog.models import AccessoryType, CatalogueVersion, Consumable
from catalog.models.version import SHELF
from shop.fields import ThousandthsField

NOTHING = Decimal(0)
DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class NeedStanding:
    """One need: how much of it is held, and by when orders bring the rest; `uncovered` is on no order."""

    need: Need
    item: StockItem
    held: Decimal
    coming: tuple[tuple[datetime.date, Decimal], ...] = ()

    @property
    def waits(self) -> Decimal:
        """How much of it is not on the shelf."""
        return NOTHING if self.need.used else self.need.quantity - self.held

    @property
    def uncovered(self) -> Decimal:
        return self.waits - sum((quantity for _, quantity in self.coming), NOTHING)

    def here_on(self, today: datetime.date) -> datetime.date | None:
        """Return the day on which all of it is here, None where it is.

        What is on no order takes its days from today; what the shop never counted, from the customer's yes.
        """
        if not self.waits:
            return None
        days = [max(day, today) for day, _ in self.coming]
        if self.uncovered:
            if self.item.kept:
                days.append(today + restock_days(self.item, today) * DAY)
            else:
                days.append(max(today, (self.need.since or today) + self.item.lead_days * DAY))
        return max(days)


def restock_days(item: StockItem, today: datetime.date) -> int:
    """Return how long an item takes that is counted and short: its own days, else those of the shop's rules."""
    return item.lead_days or shelf.rates_on(today).restock_days


@dataclass
class ItemStanding:
    """One item of the shelf with its open needs, the earliest first, and what is outstanding of its orders."""

    item: StockItem
    needs: list[NeedStanding] = field(default_factory=list)
    outstanding: list[OrderLine] = field(default_factory=list)

    @property
    def on_hand(self) -> Decimal:
        return self.item.on_hand

    @property
    def needed(self) -> Decimal:
        return sum((one.need.quantity for one in self.needs), NOTHING)

    @property
    def held(self) -> Decimal:
        return sum((one.held for one in self.needs), NOTHING)

    @property
    def free(self) -> Decimal:
        return self.on_hand - self.held

    @property
    def on_order(self) -> Decimal:
        return sum((line.left for line in self.outstanding), NOTHING)

    @property
    def minimum(self) -> Decimal:
        return Decimal(self.item.thing.stock_minimum)

    @property
    def short(self) -> Decimal:
        """max(0, needed + minimum - on hand - on order): what has to be ordered."""
        return max(NOTHING, self.needed + self.minimum - self.on_hand - self.on_order)

    @property
    def packs(self) -> int:
        """The whole packs that cover what is short."""
        return math.ceil(self.short / Decimal(str(self.item.pack)))


def allotted(
    on_hand: Decimal, wanted: Iterable[Decimal], supply: Iterable[tuple[datetime.date, Decimal]]
) -> list[tuple[Decimal, tuple[tuple[datetime.date, Decimal], ...]]]:
    """Return what each want, the first one first, has of the shelf, and what of the supply that comes, by its day."""
    free, coming = on_hand, [[day, quantity] for day, quantity in sorted(supply)]
    result = []
    for quantity in wanted:
        held = min(free, quantity)
        free, left, parts = free - held, quantity - held, []
        while left and coming:
            part = min(left, coming[0][1])
            if part:
                parts.append((coming[0][0], part))
            left, coming[0][1] = left - part, coming[0][1] - part
            if not coming[0][1]:
                coming.pop(0)
        result.append((held, tuple(parts)))
    return result


def lines_with_what_came() -> QuerySet[OrderLine]:
    """Order lines, each with what `came` of it and could be kept."""
    came = Coalesce(Sum("movements__quantity"), 0, output_field=ThousandthsField())
    return OrderLine.objects.select_related("order").annotate(came=came)


def outstanding_lines() -> QuerySet[OrderLine]:
    """Lines of the orders that are not closed, the one that is expected first before the others."""
    return lines_with_what_came().filter(order__closed=False).order_by("order__expected_on", "id")


def standings(items: Iterable[StockItem]) -> dict[int, ItemStanding]:
    """Return how items stand, by their key, in the order given. Two queries."""
    found = {item.pk: ItemStanding(item) for item in items}
    if not found:
        return {}
    needs: dict[int, list[Need]] = defaultdict(list)
    for need in Need.objects.filter(used=False, item__in=found).select_related("ticket").order_by("id"):
        needs[need.item_id].append(need)
    for line in outstanding_lines().filter(item__in=found):
        line.left = max(NOTHING, line.quantity - line.came)
        if line.left:
            found[line.item_id].outstanding.append(line)
    for key, standing in found.items():
        supply = [(line.order.expected_on, line.left) for line in standing.outstanding]
        shares = allotted(standing.on_hand, (need.quantity for need in needs[key]), supply)
        standing.needs = [
            NeedStanding(need, standing.item, held, coming)
            for need, (held, coming) in zip(needs[key], shares, strict=True)
        ]
    return found


def items() -> QuerySet[StockItem]:
    return StockItem.objects.select_related("accessory", "consumable")


@dataclass(frozen=True)
class Shelf:
    """The whole shelf as one value: items by key and by the code of their type, and what tickets have to do with it.

    `wished` is what has a fewest on the shelf and was never there.
    """

    by_key: Mapping[int, ItemStanding]
    by_code: Mapping[str, ItemStanding]
    needs: Mapping[int, list[NeedStanding]]
    missing: Mapping[int, list[PartMissing]]
    own: Mapping[int, Mapping[str, OwnPart]]
    wished: list[ItemStanding]


_lock = threading.Lock()
_kept: tuple[tuple[str, str], Shelf] | None = None


def moved() -> None:
    """Say that something of the shelf changes; call inside the transaction, before its first change and after its last.

    The first call makes everyone else who changes the shelf wait: tickets are locked before it, the journal after it.
    """
    CatalogueVersion.move_on(SHELF)


def the_shelf() -> Shelf:
    """Return how everything stands, kept in the process until the shelf or the catalogue changes.

    No query of its own while nothing changed, seven after a change.
    """
    global _kept
    now = CatalogueVersion.current(SHELF), CatalogueVersion.current()
    with _lock:
        if _kept is None or _kept[0] != now:
            _kept = now, _load()
        return _kept[1]


def _load() -> Shelf:
    by_key = standings(items())
    needs: dict[int, list[NeedStanding]] = defaultdict(list)
    for one in by_key.values():
        for need in one.needs:
            needs[need.need.ticket_id].append(need)
    missing: dict[int, list[PartMissing]] = defaultdict(list)
    for wait in open_missing():
        missing[wait.ticket_id].append(wait)
    own: dict[int, dict[str, OwnPart]] = defaultdict(dict)
    for part in OwnPart.objects.filter(ticket__state__in=OPEN).select_related("by").order_by("id"):
        own[part.ticket_id][part.line_key] = part
    for mine in needs.values():
        mine.sort(key=lambda one: one.need.pk)
    by_code = {one.item.accessory.code: one for one in by_key.values() if one.item.accessory_id}
    return Shelf(by_key, by_code, dict(needs), dict(missing), dict(own), wished())


def wished() -> list[ItemStanding]:
    few = {"stock_minimum__gt": 0, "stock__isnull": True}
    kinds = [StockItem(accessory=kind) for kind in AccessoryType.objects.offered().filter(**few)]
    return [
        ItemStanding(item) for item in (*kinds, *(StockItem(consumable=c) for c in Consumable.objects.filter(**few)))
    ]


def open_missing() -> QuerySet[PartMissing]:
    """What the bench waits for and nobody has solved yet."""
    return PartMissing.objects.filter(found__isnull=True).select_related("by", "item", "ticket")


def all_standings() -> list[ItemStanding]:
    """Return every item of the shelf, and what is wished for, by its name."""
    found = [*the_shelf().by_key.values(), *the_shelf().wished]
    return sorted(found, key=lambda one: (one.item.thing.name.lower(), one.item.thing.code))


def quantity_words(quantity: Decimal, unit: str = "") -> str:
    """Return a quantity without noughts at its end, with its unit: "3", "0.75 m"."""
    text = f"{quantity:,f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text}\u202f{unit}" if unit else text


def day_words(day: datetime.date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def coming_words(coming: Iterable[tuple[datetime.date, Decimal]], today: datetime.date) -> str:
    """Return when what is on order is here: the last day counts, and a day that is past is said to be."""
    day = max(day for day, _ in coming)
    return f"on order, here about {day_words(day)}" if day >= today else f"on order, was due {day_words(day)}"


def need_words(one: NeedStanding, today: datetime.date) -> str:
    """Return how a need stands, in a few words."""
    if one.need.used:
        return "taken off the shelf"
    if not one.waits:
        return "held"
    rest = "to order" if one.uncovered else coming_words(one.coming, today)
    if not one.held:
        return rest
    return f"{quantity_words(one.held)} of {quantity_words(one.need.quantity)} held, the rest {rest}"


def free_words(code: str, quantity: int, today: datetime.date) -> str:
    """Return how a part stands that nobody agreed to; nothing where it was never counted and lies there as a rule."""
    one, days = the_shelf().by_code.get(code), shelf.waits().get(code, 0)
    if one is None or not one.item.kept:
        return f"to order, {days_words(days)}" if days else ""
    here_on = free_on(one, Decimal(quantity), today)
    if here_on is None:
        return "on the shelf"
    covered = sum((line.left for line in one.outstanding), one.on_hand) - one.needed >= quantity
    return (
        f"on order, here about {day_words(here_on)}"
        if covered
        else f"to order{f', {days_words(days)}' if days else ''}"
    )


def days_words(days: int) -> str:
    return f"{days} day{'' if days == 1 else 's'}"


def free_on(one: ItemStanding, quantity: Decimal, today: datetime.date) -> datetime.date | None:
    """Return the day from which so many of an item could be had by one who comes last, None where they lie there."""
    supply = [(line.order.expected_on, line.left) for line in one.outstanding]
    wants = [*(need.need.quantity for need in one.needs), quantity]
    held, coming = allotted(one.on_hand, wants, supply)[-1]
    if held == quantity:
        return None
    last = NeedStanding(Need(quantity=quantity), one.item, held, coming)
    return last.here_on(today)


def wait_days(wanted: Mapping[str, int], today: datetime.date, ticket: Ticket | None = None) -> int:
    """Return the days until the last of the parts could be here, for one who agrees today.

    What a `ticket` needs already keeps its turn. A type that was never counted comes as its lead time says.
    """
    days, known = [0], the_shelf().by_code
    for code, quantity in wanted.items():
        one = known.get(code)
        if one is None or not one.item.kept:
            days.append(shelf.waits().get(code, 0))
            continue
        mine = [need for need in one.needs if ticket is not None and need.need.ticket_id == ticket.pk]
        more = quantity - sum((need.need.quantity for need in mine), NOTHING)
        here_on = [need.here_on(today) for need in mine] + ([free_on(one, more, today)] if more > 0 else [])
        days += [(day - today).days for day in here_on if day]
    return max(days)


def entries_of(item: StockItem) -> QuerySet[Movement]:
    """An item's entries for a list, the latest first."""
    rows = Movement.objects.filter(item=item).select_related("by", "ticket", "order_line__order", "taken_back_by")
    return rows.order_by("-id")


def sums(item_keys: Iterable[int] | None = None) -> dict[int, Any]:
    """Return the sum of each item's movements, which its on hand has to equal."""
    rows = Movement.objects.order_by().values_list("item").annotate(total=Sum("quantity"))
    return dict(rows if item_keys is None else rows.filter(item__in=list(item_keys)))
