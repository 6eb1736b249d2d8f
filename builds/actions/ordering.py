"""Orders from suppliers: what is short is ordered, what comes is received, and goes to the tickets that wait."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction

from builds import parts, stock
from builds.actions import shelf
from builds.actions.ground import Refused, acting
from builds.actions.shelf import allowed, locked, move
from builds.models import (
    Delivery,
    Movement,
    NumberSeries,
    OrderLine,
    PartFound,
    PartMissing,
    PurchaseOrder,
    Ticket,
)
from shop import clock, journal, once

LARGEST_QUANTITY = Decimal(1_000_000)
Condition = Delivery.Condition


@dataclass(frozen=True)
class Ordered:
    """One line of an order: the item's key, how many packs, what the page said was short, what one piece or unit costs.

    Without a cost it is the catalogue's of the day.
    """

    item: int
    packs: int
    seen_short: Decimal | None = None
    unit_cost: Decimal | None = None


@dataclass(frozen=True)
class Came:
    """What came of one line of an order, by its key."""

    line: int
    quantity: Decimal
    boxes_opened: bool
    condition: str
    note: str = ""


@dataclass
class Received:
    """What a delivery brought: the tickets that hold more for it, and those of them that wait for nothing more."""

    deliveries: list[Delivery] = field(default_factory=list)
    served: list[str] = field(default_factory=list)
    complete: list[str] = field(default_factory=list)


def order(
    actor,
    lines: Iterable[Ordered],
    *,
    supplier: str,
    ordered_on: datetime.date,
    expected_on: datetime.date,
    reference: str = "",
    note: str = "",
) -> PurchaseOrder:
    """Write down what was ordered from a supplier; a cost of its own is the owner's to say.

    Refused where what is short changed since the page was shown.
    """
    allowed(actor, "order_parts")
    lines = list(lines)
    if any(line.unit_cost is not None for line in lines):
        allowed(actor, "see_costs")
    wanted = {line.item: line for line in lines if line.packs > 0}
    if not wanted:
        raise Refused("No part is named. Write how many packs of at least one.")
    if expected_on < ordered_on:
        raise Refused("The expected day lies before the day of the order.")
    with transaction.atomic():
        once.spend()
        standing = stock.standings(locked(wanted).values())
        for key, one in standing.items():
            seen = wanted[key].seen_short
            if seen is not None and seen != one.short:
                short = stock.quantity_words(one.short, one.item.unit) if one.short else "nothing"
                raise Refused(f"{one.item}: short is {short} now; someone ordered, received or accepted meanwhile.")
        made = PurchaseOrder.objects.create(
            number=f"P-{NumberSeries.take('purchase'):04d}",
            supplier=supplier.strip(),
            reference=reference.strip(),
            ordered_on=ordered_on,
            expected_on=expected_on,
            note=note.strip(),
            at=clock.now(),
            by=actor,
        )
        rows = [line_of(made, one, wanted[key]) for key, one in standing.items()]
        OrderLine.objects.bulk_create(rows)
        stock.moved()
        said = {"expected_on": expected_on, "lines": {str(row.item): str(row.quantity) for row in rows}}
        journal.record(actor, "order parts", made, {}, said, note)
    return made


def line_of(made: PurchaseOrder, one: stock.ItemStanding, wanted: Ordered) -> OrderLine:
    quantity = wanted.packs * Decimal(str(one.item.pack))
    if quantity > LARGEST_QUANTITY:
        raise Refused(f"{one.item}: {wanted.packs} packs are too many.")
    cost = one.item.unit_cost if wanted.unit_cost is None else wanted.unit_cost
    return OrderLine(order=made, item=one.item, packs=wanted.packs, quantity=quantity, unit_cost=cost)


def receive(actor, made: PurchaseOrder, came: Iterable[Came]) -> Received:
    """Write down what came, and end the waits at the bench that it ends.

    Good parts go to the shelf, and so to the tickets that wait, in their order. Damaged ones come and go in two
    entries, wrong ones are noted: both stay on order until they are replaced or the order is closed.
    """
    allowed(actor, "receive_parts")
    given = {one.line: one for one in came if one.quantity > 0}
    if not given:
        raise Refused("Nothing came, by this form. Write how many came of at least one part.")
    with transaction.atomic():
        once.spend()
        made = PurchaseOrder.objects.select_for_update().get(pk=made.pk)
        if made.closed:
            raise Refused(f"{made} is closed: nothing more was expected of it. Count the parts in instead.")
        lines = {line.pk: line for line in OrderLine.objects.filter(order=made)}
        if unknown := set(given) - set(lines):
            raise Refused(f"{len(unknown)} of the parts are not on {made}.")
        waiting = waits_for({lines[key].item_id for key in given})
        items = locked({lines[key].item_id for key in given})
        before = held_by_ticket(items)
        entries = [entry for one in given.values() for entry in take_in(actor, lines[one.line], items, one)]
        result = Received([one for one, _ in entries])
        gained = {ticket for ticket, held in held_by_ticket(items).items() if held > before.get(ticket, 0)}
        result.served = sorted(ticket.number for ticket in gained)
        stock.moved()
        for _, moved in entries:
            for movement in moved:
                shelf.note(actor, "receive parts", movement)
        said = {str(one.line): f"{one.quantity} {one.condition}" for one in given.values()}
        journal.record(actor, "receive parts", made, {}, said)
        if waiting:
            end_waits(actor, waiting)
            stock.moved()
    left = parts.parts_of(gained).values()
    result.complete = sorted(one.ticket.number for one in left if not one.waits)
    return result


def take_in(actor, line: OrderLine, items, one: Came) -> list[tuple[Delivery, list[Movement]]]:
    """Write one line's delivery and its entries; the items are locked."""
    if one.condition not in Condition.values:
        raise Refused("Say in which condition it came: good, fewer than noted, damaged or wrong.")
    if one.condition in (Condition.DAMAGED, Condition.WRONG) and not one.note.strip():
        raise Refused(f"{line.item}: what is wrong with it is missing. Write it in a few words.")
    if one.quantity > LARGEST_QUANTITY:
        raise Refused(f"{line.item}: {one.quantity} is too much.")
    delivery = Delivery.objects.create(
        line=line,
        quantity=one.quantity,
        boxes_opened=one.boxes_opened,
        condition=one.condition,
        note=one.note.strip(),
        at=clock.now(),
        by=actor,
    )
    item, moved, why = items[line.item_id], [], one.note.strip()
    if one.condition != Condition.WRONG:
        about = {"unit_cost": line.unit_cost, "why": why, "order_line": line}
        moved.append(move(actor, item, Movement.Kind.RECEIVED, one.quantity, **about))
        if one.condition == Condition.DAMAGED:
            moved.append(move(actor, item, Movement.Kind.DAMAGED, -one.quantity, **about))
    return [(delivery, moved)]


def waits_for(items: set[int]) -> list[PartMissing]:
    """Return the open waits at the bench for some items, their tickets locked: a ticket is locked before its items."""
    waiting = stock.open_missing().filter(item__in=items)
    tickets = {one.ticket_id for one in waiting}
    list(Ticket.objects.select_for_update().filter(pk__in=tickets).order_by("pk"))
    return list(waiting.filter(ticket__in=tickets))


def held_by_ticket(items) -> dict[Ticket, Decimal]:
    """Return how much of the items each ticket holds."""
    held: dict[Ticket, Decimal] = {}
    for one in stock.standings(items.values()).values():
        for need in one.needs:
            held[need.need.ticket] = held.get(need.need.ticket, Decimal(0)) + need.held
    return held


def end_waits(actor, waiting: list[PartMissing]) -> None:
    """End the waits whose line holds all that it needs now."""
    found = parts.parts_of({one.ticket for one in waiting})
    for one in waiting:
        line = [need for need in found[one.ticket_id].needs if need.need.line_key == one.line_key]
        if line and not any(need.waits for need in line):
            with acting(actor, one.ticket, "find_part", "part came", said={"part": one.name}):
                PartFound.objects.create(missing=one, how=PartFound.How.RECEIVED, at=clock.now(), by=actor)


def expect(actor, made: PurchaseOrder, day: datetime.date, *, why: str = "") -> PurchaseOrder:
    """Write down another day on which an order is expected."""
    allowed(actor, "order_parts")
    with transaction.atomic():
        once.spend()
        made = PurchaseOrder.objects.select_for_update().get(pk=made.pk)
        if day < made.ordered_on:
            raise Refused("The expected day lies before the day of the order.")
        before, made.expected_on = made.expected_on, day
        made.save(update_fields=["expected_on"])
        stock.moved()
        journal.record(actor, "expect parts", made, {"expected_on": before}, {"expected_on": day}, why.strip())
    return made


def close(actor, made: PurchaseOrder, *, why: str) -> PurchaseOrder:
    """Say that no more comes of an order; what is outstanding is short again."""
    allowed(actor, "order_parts")
    if not why.strip():
        raise Refused("Why no more comes is missing. Write it in a few words.")
    with transaction.atomic():
        once.spend()
        made = PurchaseOrder.objects.select_for_update().get(pk=made.pk)
        if made.closed:
            raise Refused(f"{made} is closed already.")
        made.closed = True
        made.save(update_fields=["closed"])
        stock.moved()
        journal.record(actor, "close order", made, {"closed": False}, {"closed": True}, why.strip())
    return made
