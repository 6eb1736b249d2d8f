"""Work at the bench: minutes worked, the checked boat, the hand-over."""

from builds.actions.ground import acting
from builds.models import Ticket, WorkEntry
from shop import clock


def record_work(
    actor,
    ticket: Ticket,
    *,
    phase: str,
    minutes: float,
    line_key: str = "",
    accessory_code: str = "",
    operation_code: str = "",
    revision: int | None = None,
) -> WorkEntry:
    """Write down minutes that the tech worked in one phase."""
    said = {
        "phase": phase,
        "minutes": minutes,
        "line_key": line_key,
        "accessory_code": accessory_code,
        "operation_code": operation_code,
    }
    with acting(actor, ticket, "record_work", "record work", revision, said=said) as changed:
        changed.tech = changed.tech or actor
        return WorkEntry.objects.create(ticket=changed, tech=actor, at=clock.now(), **said)


def move_on(actor, ticket: Ticket, act: str, *, why: str = "", revision: int | None = None) -> Ticket:
    """Say that the boat is checked, or that it is handed over."""
    with acting(actor, ticket, act, act, revision, why) as changed:
        pass
    return changed
