"""The parts of tickets: what each line waits for, when the last one is here, what stops a line at the bench."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from builds.models import Line, OwnPart, PartMissing, Ticket
from builds.states import ACCEPTED, BENCH, DRAFT, QUOTED
from builds.stock import NeedStanding, day_words, free_words, need_words, the_shelf
from shop import clock

WAIT_STATES = (ACCEPTED, BENCH)


@dataclass
class Parts:
    """The parts of one ticket as they stand today."""

    ticket: Ticket
    today: datetime.date
    needs: list[NeedStanding] = field(default_factory=list)
    missing: list[PartMissing] = field(default_factory=list)

    @property
    def waiting(self) -> list[NeedStanding]:
        return [one for one in self.needs if one.waits]

    @property
    def waiting_in_words(self) -> list[tuple[NeedStanding, str]]:
        return [(one, need_words(one, self.today)) for one in self.waiting]

    @property
    def here_on(self) -> datetime.date | None:
        """The day on which the last part is here; None where every one is."""
        return max(filter(None, (one.here_on(self.today) for one in self.needs)), default=None)

    @property
    def waits(self) -> bool:
        return bool(self.missing or self.waiting)

    @property
    def to_order(self) -> bool:
        """Whether something that it waits for is on no order."""
        return any(one.uncovered for one in self.waiting)

    @property
    def names(self) -> list[str]:
        """What it waits for, each name once."""
        found = [one.name for one in self.missing] + [str(one.item) for one in self.waiting]
        return list(dict.fromkeys(found))

    @property
    def words(self) -> str:
        """How the ticket stands with its parts, in a few words; nothing where it needs none."""
        if not self.needs and not self.missing:
            return ""
        if not self.waits:
            return "parts here"
        names = self.names
        what = names[0] if len(names) == 1 else f"{len(names)} parts"
        if not self.waiting:
            return f"waits for {what}"
        when = "to order" if self.to_order else f"here about {day_words(self.here_on)}"
        return f"waits for {what}, {when}"


def parts_of(tickets: Iterable[Ticket]) -> dict[int, Parts]:
    """Return the parts of tickets by the ticket's key."""
    shelf_now, today = the_shelf(), clock.today()
    return {
        ticket.pk: Parts(ticket, today, shelf_now.needs.get(ticket.pk, []), shelf_now.missing.get(ticket.pk, []))
        for ticket in tickets
    }


def parts_of_ticket(ticket: Ticket) -> Parts:
    return parts_of([ticket])[ticket.pk]


def waiting_tickets() -> list[Parts]:
    """Return the tickets that wait for a part: those that stand at the bench first, then by the day they need it."""
    tickets = Ticket.objects.filter(state__in=WAIT_STATES).select_related("customer", "hull").order_by("id")
    found = [parts for parts in parts_of(tickets).values() if parts.waits]
    far = datetime.date.max
    return sorted(found, key=lambda one: (not one.missing, one.here_on or far, one.ticket.pk))


def parts_here_on(ticket: Ticket) -> datetime.date | None:
    """Return the day on which the last part of an accepted ticket is here, None where every one is.

    A part on order comes on its order's day; one that is on no order comes after its lead time from today.
    """
    return parts_of_ticket(ticket).here_on


def line_words(ticket: Ticket) -> dict[str, str]:
    """Return how the part of each line stands, by the line's key, in a few words.

    What is agreed speaks of what is held; a draft of what lies free.
    """
    lines, parts = list(ticket.lines.all()), parts_of_ticket(ticket)
    own = own_parts_of(ticket)
    words = {line.key: own_words(own.get(line.key)) for line in lines if is_own(line)}
    ours = [line for line in lines if line.supplied_by == Line.SuppliedBy.SHOP]
    if ticket.state in WAIT_STATES:
        found = defaultdict(list)
        for one in parts.needs:
            found[one.need.line_key].append(need_words(one, parts.today))
        words |= {line.key: "; ".join(found[line.key]) for line in ours if line.key in found}
        return words | {one.line_key: "the bench waits for it" for one in parts.missing}
    wanted: Counter[str] = Counter()
    for line in ours if ticket.state in (DRAFT, QUOTED) else ():
        wanted[line.accessory.code] += line.quantity
        words[line.key] = free_words(line.accessory.code, wanted[line.accessory.code], parts.today)
    return words


# The customer's own.


def is_own(line: Line) -> bool:
    return line.supplied_by == Line.SuppliedBy.CUSTOMER


def own_parts_of(ticket: Ticket) -> Mapping[str, OwnPart]:
    """Return what was last written down of each of the customer's own parts, by the line's key."""
    return the_shelf().own.get(ticket.pk, {})


def own_words(one: OwnPart | None) -> str:
    """Return how a part of the customer's own stands, in a few words."""
    if one is None:
        return "not looked over yet"
    when = f"received {day_words(one.received_on)}, " if one.received_on else ""
    powered = {
        OwnPart.Powered.PASSED: ", powered: passed",
        OwnPart.Powered.FAILED: ", powered: failed",
    }.get(one.powered, "")
    reading = f", read {one.reading}" if one.reading else ""
    return f"{when}{one.get_condition_display()}{powered}{reading}"


def own_stop(name: str, one: OwnPart) -> str:
    """Return why a part of the customer's own cannot be fitted, as one sentence."""
    if one.condition == OwnPart.Condition.MISSING:
        why = "was not brought or is not complete"
    elif one.powered == OwnPart.Powered.FAILED:
        why = f"failed when it was powered{f' ({one.reading})' if one.reading else ''}"
    else:
        why = "is damaged"
    return f"The customer's own {name} {why}. The counter asks the customer first."


# What stops a line at the bench.


def stops_of(ticket: Ticket) -> dict[str, str]:
    """Return why a line stands still at the bench, by the line's key. One query at most."""
    stops = {one.line_key: waits_words(one) for one in the_shelf().missing.get(ticket.pk, ())}
    bad = {key: one for key, one in own_parts_of(ticket).items() if one.stops}
    if bad:
        lines = ticket.lines.select_related("accessory").filter(key__in=bad)
        stops |= {line.key: own_stop(line.accessory.name, bad[line.key]) for line in lines if is_own(line)}
    return stops


def waits_words(one: PartMissing) -> str:
    """Return what the bench waits for, with the words of whoever missed it."""
    return f"Waits for {one.name}: {one.words.rstrip('.')}."
