"""Alternatives: up to three ways to do one ticket, of which one is current and the others are kept as they are."""

from builds.actions.ground import Refused, acting
from builds.content import OF_AN_ALTERNATIVE, content_of, put_back
from builds.models import Alternative, Ticket

AS_ASKED = "as asked"
NAMES = (AS_ASKED, "leaner", "fuller")
MOST = len(NAMES)


def copy_current(actor, ticket: Ticket, name: str, *, revision: int | None = None) -> Ticket:
    """Copy the ticket's lines into a new alternative and go on with the copy; the first copy keeps the original."""
    with acting(actor, ticket, "change", "copy alternative", revision, said={"alternative": name}) as changed:
        if not changed.alternatives.exists():
            Alternative.objects.create(ticket=changed, name=AS_ASKED, is_current=True)
        kept = list(changed.alternatives.all())
        if len(kept) >= MOST:
            raise Refused(f"A ticket has at most {MOST} alternatives. Remove one first.")
        name = name.strip() or next(one for one in NAMES if one not in [other.name for other in kept])
        if name in [one.name for one in kept]:
            raise Refused(f"There is an alternative “{name}” already. Give the copy another name.")
        keep_current(changed)
        Alternative.objects.create(ticket=changed, name=name, is_current=True, place=kept[-1].place + 1)
    return changed


def keep_current(ticket: Ticket) -> None:
    """Write what the ticket says into its current alternative, which is current no more."""
    said = content_of(ticket, OF_AN_ALTERNATIVE)
    ticket.alternatives.filter(is_current=True).update(said=said, is_current=False)


def take(actor, ticket: Ticket, place: int, *, revision: int | None = None) -> Ticket:
    """Go on with another alternative: its lines become the ticket's, those that were current are kept."""
    said: dict[str, str] = {}
    with acting(actor, ticket, "change", "take alternative", revision, said=said) as changed:
        other = alternative_at(changed, place)
        said["alternative"] = other.name
        if not other.is_current:
            keep_current(changed)
            put_back(changed, other.said)
            changed.alternatives.filter(place=place).update(said={}, is_current=True)
    return changed


def remove(actor, ticket: Ticket, place: int, *, revision: int | None = None) -> Ticket:
    """Remove an alternative that is not current; the last one left is no alternative any more."""
    said: dict[str, str] = {}
    with acting(actor, ticket, "change", "remove alternative", revision, said=said) as changed:
        other = alternative_at(changed, place)
        if other.is_current:
            raise Refused("This is the one that the ticket is on. Take another first.")
        said["alternative"] = other.name
        other.delete()
        if changed.alternatives.count() == 1:
            changed.alternatives.all().delete()
    return changed


def alternative_at(ticket: Ticket, place: int) -> Alternative:
    found = ticket.alternatives.filter(place=place).first()
    if found is None:
        raise Refused("That alternative is no longer on the ticket.")
    return found
