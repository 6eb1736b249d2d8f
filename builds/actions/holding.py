"""What accepted tickets hold: their needs follow what is agreed, and leave the shelf when the boat is checked."""

import datetime
import json
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from decimal import ROUND_UP, Decimal
from typing import Any

from builds import stock
from builds.actions.shelf import locked, move, note
from builds.models import ChangeOrder, Line, Movement, Need, PartFound, PartMissing, Quote, StockItem, Ticket
from catalog import shelf
from catalog.models import AccessoryType
from shop import clock

Wanted = dict[tuple[str, int], Decimal]
"""How much is needed, by the line's key (empty for consumables) and the item's key."""
HUNDREDTH = Decimal("0.01")
"""What a consumable is laid out in, rounded up."""


def parts_wanted(lines: Iterable[Mapping[str, Any]]) -> Counter[str]:
    """Return how many of each accessory type the shop supplies to the lines of a sheet document."""
    wanted: Counter[str] = Counter()
    for line in lines:
        if line["supplied_by"] == Line.SuppliedBy.SHOP:
            wanted[line["accessory"]] += line["quantity"]
    return wanted


def hold(ticket: Ticket, agreed: Quote | ChangeOrder, actor=None) -> None:
    """Make the ticket's needs those of what is agreed; call inside its transaction, with the ticket locked.

    What it needed before keeps its turn; what is more than before comes after everyone who was there already.
    """
    lines, estimate = json.loads(agreed.sheet_json)["lines"], agreed.estimate
    stock.moved()
    wanted = wanted_of(lines, estimate)
    have: dict[tuple[str, int], list[Need]] = defaultdict(list)
    mine = Need.objects.filter(ticket=ticket, used=False).order_by("id")
    for need in mine:
        have[need.line_key, need.item_id].append(need)
    day = needed_on(agreed.ready_on, estimate["labour"]["bench_min"], estimate["labour"]["ready_h"])
    for key in {**wanted, **have}:
        fit(ticket, key, wanted.get(key, Decimal(0)), have[key], day)
    Need.objects.filter(ticket=ticket, used=False).update(needed_on=day)
    if actor is not None:
        forget_missing(actor, ticket, {line["id"]: line["accessory"] for line in lines})
    stock.moved()


def wanted_of(lines: Iterable[Mapping[str, Any]], estimate: Mapping[str, Any]) -> Wanted:
    """Return what the lines take from the shelf, and the consumables that the shop keeps count of."""
    lines = [line for line in lines if line["supplied_by"] == Line.SuppliedBy.SHOP]
    items = items_of({line["accessory"] for line in lines})
    wanted: Wanted = defaultdict(Decimal)
    for line in lines:
        wanted[line["id"], items[line["accessory"]]] += line["quantity"]
    used = {one["item"]: one["quantity"] for one in estimate.get("consumables") or ()}
    kept = StockItem.objects.filter(kept=True, consumable__code__in=used).values_list("consumable__code", "pk")
    for code, key in kept:
        quantity = Decimal(str(used[code])).quantize(HUNDREDTH, ROUND_UP)
        if quantity:
            wanted["", key] = quantity
    return wanted


def items_of(codes: set[str]) -> dict[str, int]:
    """Return the keys of the shelf's rows of accessory types, by code; those it never heard of begin with nothing."""
    rows = StockItem.objects.filter(accessory__code__in=codes)
    known = dict(rows.values_list("accessory__code", "pk"))
    if new := codes - set(known):
        kinds = AccessoryType.objects.filter(code__in=new).order_by("pk")
        StockItem.objects.bulk_create([StockItem(accessory=kind) for kind in kinds], ignore_conflicts=True)
        known = dict(rows.values_list("accessory__code", "pk"))
    return known


def fit(ticket: Ticket, key: tuple[str, int], wanted: Decimal, have: list[Need], day: datetime.date) -> None:
    """Make the rows of one need add up to what is wanted: more in a row of its own, less off the last ones."""
    line_key, item = key
    more = wanted - sum((need.quantity for need in have), Decimal(0))
    if more > 0:
        about = {"quantity": more, "since": clock.today(), "needed_on": day}
        Need.objects.create(ticket=ticket, item_id=item, line_key=line_key, **about)
    for need in reversed(have):
        if more >= 0:
            return
        off = min(-more, need.quantity)
        need.quantity, more = need.quantity - off, more + off
        if need.quantity:
            need.save(update_fields=["quantity"])
        else:
            need.delete()


def needed_on(ready_on: datetime.date, bench_min: float, ready_h: float) -> datetime.date:
    """Return the day on which the bench begins, so that the boat is ready on the promised one.

    ready_on - ceil(cure beyond the bench / 24 h) days, then back over the bench's working days,
    ceil(bench_min / minutes of a day). Common practice, no source.
    """
    rates = shelf.rates_on(clock.today())
    day = ready_on - datetime.timedelta(days=math.ceil(max(0.0, ready_h - bench_min / 60) / 24))
    left = max(1, math.ceil(bench_min / (rates.bench_hours_per_day * 60)))
    while True:
        left -= day.isoweekday() in rates.working_days
        if not left:
            return day
        day -= stock.DAY


def forget_missing(actor, ticket: Ticket, lines: Mapping[str, str]) -> None:
    """End the wait for parts whose line is no longer agreed, or has another part now."""
    for one in PartMissing.objects.filter(ticket=ticket, found__isnull=True).select_related("item__accessory"):
        code = one.item.accessory.code if one.item_id else lines.get(one.line_key)
        if lines.get(one.line_key) != code or one.line_key not in lines:
            PartFound.objects.create(missing=one, how=PartFound.How.CHANGED, at=clock.now(), by=actor)


def release(ticket: Ticket) -> None:
    """Let go of what the ticket holds; call inside its transaction."""
    mine = Need.objects.filter(ticket=ticket, used=False)
    locked(mine.values_list("item", flat=True))
    mine.delete()
    stock.moved()


def use(actor, ticket: Ticket) -> None:
    """Take what the ticket needs off the shelf; call inside the transaction of the check.

    What was fitted beyond what the ticket holds was there after all: it is counted in first, so that the shelf never
    falls below nothing and nobody else's part is taken. A type that was never counted has no entries.
    """
    mine = Need.objects.filter(ticket=ticket, used=False)
    items = locked(mine.values_list("item", flat=True))
    entries = []
    for one in stock.standings(items.values()).values():
        needs = [need for need in one.needs if need.need.ticket_id == ticket.pk]
        used = sum((need.need.quantity for need in needs), Decimal(0))
        found = used - sum((need.held for need in needs), Decimal(0))
        if not one.item.kept:
            continue
        if found:
            why = f"fitted on {ticket.number}, although the count had it not"
            entries.append(move(actor, one.item, Movement.Kind.COUNTED, found, why=why, ticket=ticket))
        entries.append(move(actor, one.item, Movement.Kind.USED, -used, ticket=ticket))
    mine.update(used=True)
    stock.moved()
    for entry in entries:
        note(actor, "use parts", entry)
