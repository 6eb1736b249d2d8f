"""Consumables used on a ticket, written down at the bench or at the hand-over; nobody has to."""

from collections.abc import Mapping
from decimal import Decimal

from builds.actions.ground import Refused, acting, require
from builds.models import Ticket, UsedConsumable
from builds.used_up import estimated_on, noted_on
from catalog.models import Consumable
from shop import clock


def note_used(
    actor, ticket: Ticket, used: Mapping[str, Decimal], *, revision: int | None = None
) -> list[UsedConsumable]:
    """Write down how much was used of each consumable, by its code; the latest figure of an item holds.

    What stands there already is not written again. Raises Refused where nothing is new.
    """
    require(actor, "note_used")
    if any(quantity < 0 for quantity in used.values()):
        raise Refused("How much was used starts at 0.")
    items = {item.code: item for item in Consumable.objects.filter(code__in=list(used))}
    if unknown := [code for code in used if code not in items]:
        raise Refused(f"“{unknown[0][:60]}” is no consumable of the catalogue.")
    estimated = estimated_on(ticket)
    said = {code: f"{quantity:f} {items[code].unit}" for code, quantity in used.items()}
    with acting(actor, ticket, "note_used", "note consumables", revision, said=said) as changed:
        noted = {code: row.quantity for code, row in noted_on(changed).items()}
        fresh = {code: quantity for code, quantity in used.items() if noted.get(code) != quantity}
        if not fresh:
            raise Refused("No amount is new. Write what was used of at least one.")
        return [
            UsedConsumable.objects.create(
                ticket=changed,
                item=items[code],
                quantity=quantity,
                estimated=estimated.get(code, Decimal(0)),
                by=actor,
                at=clock.now(),
            )
            for code, quantity in fresh.items()
        ]
