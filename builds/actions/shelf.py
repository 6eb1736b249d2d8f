"""The shelf: every movement is an entry, written with the total that it leads to; taken back by a counter-entry."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction

from builds import stock
from builds.actions.ground import Refused
from builds.average_cost import averaged
from builds.models import Movement, StockItem, Ticket
from builds.office.keeping import keep
from builds.states import HANDED_OVER
from catalog.models import AccessoryType, Consumable
from shop import clock, journal, once, roles

Kind = Movement.Kind
WRITTEN_BY_HAND = {Kind.RETURNED: 1, Kind.SENT_BACK: -1, Kind.DAMAGED: -1}
"""What a person writes besides counts, and its sign."""


def allowed(actor, right: str) -> None:
    if not roles.may(actor, right):
        raise PermissionDenied


def locked(keys: Iterable[int]) -> dict[int, StockItem]:
    """Return items of the shelf, nobody else's to change until the end of the transaction.

    A ticket is locked before the shelf, the journal after it, so that no two wait for each other crosswise.
    """
    stock.moved()
    rows = stock.items().select_for_update(of=("self",)).filter(pk__in=list(keys)).order_by("pk")
    return {item.pk: item for item in rows}


def item_of(thing: AccessoryType | Consumable) -> StockItem:
    """Return the shelf's row of a type or a consumable; one that it never heard of begins with nothing."""
    which = {"accessory" if isinstance(thing, AccessoryType) else "consumable": thing}
    return StockItem.objects.get_or_create(**which)[0]


def move(
    actor, item: StockItem, kind: str, quantity: Decimal, *, unit_cost: Decimal | None = None, **about: Any
) -> Movement:
    """Write one entry, and move the total and the average cost with it; `item` is locked.

    Without a unit cost it comes or goes at the average. Raises Refused where less than nothing is left.
    """
    after = item.on_hand + quantity
    if after < 0:
        has = stock.quantity_words(item.on_hand, item.unit)
        raise Refused(
            f"{item}: the shelf has {has}; {stock.quantity_words(-quantity, item.unit)} cannot go. Count first."
        )
    each = item.worth if unit_cost is None else unit_cost
    if quantity:
        item.average_cost = averaged(item.on_hand, item.worth, quantity, each)
    item.on_hand, item.kept = after, True
    item.save(update_fields=["on_hand", "kept", "average_cost"])
    return Movement.objects.create(
        item=item,
        kind=kind,
        quantity=quantity,
        on_hand_after=after,
        unit_cost=each,
        at=clock.now(),
        by=actor,
        **about,
    )


def count(actor, counted: Mapping[int, tuple[Decimal, Decimal | None]], *, why: str = "") -> list[Movement]:
    """Write down what was counted: by the item's key how much there is, and what the page said that there was.

    A count that differs from the total of an item that is kept needs a reason.
    """
    allowed(actor, "count_stock")
    with transaction.atomic():
        once.spend()
        items, written = locked(counted), []
        for key, item in items.items():
            there, seen = counted[key]
            if there < 0:
                raise Refused(f"{item}: a count starts at 0.")
            if seen is not None and seen != item.on_hand:
                was, now = (stock.quantity_words(one, item.unit) for one in (seen, item.on_hand))
                raise Refused(f"{item}: the shelf went from {was} to {now} since this page was shown. Count it again.")
            if item.kept and there != item.on_hand and not why.strip():
                raise Refused(f"{item}: why the count differs is missing. Write it in a few words.")
            reason = why.strip() or ("counted, as it should be" if item.kept else "first count")
            written.append(move(actor, item, Kind.COUNTED, there - item.on_hand, why=reason))
        stock.moved()
        for entry in written:
            note(actor, "count parts", entry)
    return written


def write(actor, item: StockItem, kind: str, quantity: Decimal, *, why: str) -> Movement:
    """Write down that parts came back to the shelf, were sent back, or were found damaged; with a reason."""
    allowed(actor, "count_stock")
    if kind not in WRITTEN_BY_HAND:
        raise Refused("Say whether it came back, was sent back or is damaged.")
    if quantity <= 0:
        raise Refused("How much is nought. Write a figure above 0.")
    if not why.strip():
        raise Refused("Why is missing. Write it in a few words.")
    with transaction.atomic():
        once.spend()
        entry = move(actor, locked([item.pk])[item.pk], kind, quantity * WRITTEN_BY_HAND[Kind(kind)], why=why.strip())
        stock.moved()
        note(actor, "write stock entry", entry)
    return entry


def take_back(actor, entry: Movement, *, why: str = "") -> Movement:
    """Undo an entry by its opposite; both stay. What a boat that has left used moves what it earned."""
    allowed(actor, "count_stock")
    with transaction.atomic():
        once.spend()
        ticket = Ticket.objects.select_for_update().filter(pk=entry.ticket_id).first()
        item = locked([entry.item_id])[entry.item_id]
        if entry.takes_back_id:
            raise Refused("This entry takes another one back. Write a new entry instead.")
        if Movement.objects.filter(takes_back=entry).exists():
            raise Refused("This entry is taken back already.")
        opposite = counter_entry(actor, item, entry, why.strip())
        stock.moved()
        note(actor, "take stock entry back", opposite)
        if ticket and ticket.state == HANDED_OVER:
            keep(ticket)
    return opposite


def counter_entry(actor, item: StockItem, entry: Movement, why: str) -> Movement:
    """Write the opposite of an entry; `item` is locked."""
    same = {"ticket": entry.ticket, "order_line": entry.order_line}
    return move(actor, item, entry.kind, -entry.quantity, unit_cost=entry.unit_cost, why=why, takes_back=entry, **same)


def note(actor, name: str, entry: Movement) -> None:
    """Write the journal's line of an entry."""
    before = {"on_hand": entry.on_hand_after - entry.quantity}
    after = {"on_hand": entry.on_hand_after, "entry": entry.pk, "kind": entry.kind}
    journal.record(actor, name, entry.item, before, after, entry.why)
