"""The interview: the customer's answers, each where the build sheet takes it from."""

from typing import Any

from builds.actions.ground import acting
from builds.actions.hulls import put_on_type
from builds.models import Aboard, Interview, Ticket
from catalog.models import HullType


def answer(
    actor,
    ticket: Ticket,
    *,
    answers: dict[str, Any],
    paddler_kg: float | None,
    kit_kg: float | None,
    water: str,
    hull_type: HullType | None = None,
    revision: int | None = None,
) -> Ticket:
    """Write down the answers; masses and water go to the ticket, another hull type puts it on another boat."""
    with acting(actor, ticket, "change", "answer", revision) as changed:
        changed.water = water
        if hull_type is not None:
            put_on_type(changed, hull_type)
        weigh(changed, True, "paddler", paddler_kg)
        weigh(changed, False, "kit", kit_kg)
        Interview.objects.update_or_create(ticket=changed, defaults=answers)
    return changed


def weigh(ticket: Ticket, is_person: bool, name: str, mass_kg: float | None) -> None:
    """Give the first person or the first gear aboard its mass; what was not answered stays as it is."""
    if mass_kg is None:
        return
    first = ticket.aboard.filter(is_person=is_person).first()
    if first is None:
        first = Aboard(ticket=ticket, is_person=is_person, name=name, place=ticket.aboard.count())
    first.mass_kg = mass_kg
    first.save()
