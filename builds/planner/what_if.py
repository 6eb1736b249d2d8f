"""What moving one ticket does to the others, before anything is written."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .calendar import Moment, Plan, plan
from .workload import BenchTicket, Held, Tech


class Circle(ValueError):
    """Tickets that would have to begin before one another."""


@dataclass(frozen=True)
class Shift:
    """One ticket before and after a move: when it is begun and ready, and with whom; None where it found no time."""

    ticket: BenchTicket
    start_before: Moment | None
    start_after: Moment | None
    ready_before: datetime.date | None
    ready_after: datetime.date | None
    tech_before: str
    tech_after: str

    @property
    def days(self) -> int:
        """By how many days it is ready later; below 0 where it is earlier."""
        return (self.ready_after - self.ready_before).days if self.ready_after and self.ready_before else 0

    @property
    def becomes_late(self) -> bool:
        """Whether it misses a day that it met before."""
        return any(
            self.ready_after is None or (day < self.ready_after and (not self.ready_before or self.ready_before <= day))
            for day in (self.ticket.float_by, self.ticket.promised_on)
            if day
        )


@dataclass(frozen=True)
class WhatIf:
    """The plan as it is and as it would be, the moved ticket's own shift, and those of the others that change."""

    before: Plan
    after: Plan
    own: Shift
    others: tuple[Shift, ...]


def what_if(
    techs: Iterable[Tech],
    tickets: Iterable[BenchTicket],
    begin: Moment,
    key: str,
    held: Held,
    working_days: Sequence[int] = (1, 2, 3, 4, 5),
) -> WhatIf:
    """Return what holding one ticket in another place does to the others; both plans are made as `plan` makes them.

    Raises KeyError for a ticket that is not among them, Circle where tickets would wait for one another.
    """
    people, every = tuple(techs), tuple(tickets)
    if all(ticket.key != key for ticket in every):
        raise KeyError(key)
    changed = tuple(replace(ticket, held=held) if ticket.key == key else ticket for ticket in every)
    refuse_circle(changed, key)
    before, after = plan(people, every, begin, working_days), plan(people, changed, begin, working_days)
    shifts = shifts_between(before, after)
    own = next(shift for shift in shifts if shift.ticket.key == key)
    return WhatIf(before, after, own, tuple(s for s in shifts if s.ticket.key != key and is_change(s)))


def shifts_between(before: Plan, after: Plan) -> tuple[Shift, ...]:
    """Return every ticket as it lies in both plans, in the order in which they are begun in the later one."""
    was = {one.ticket.key: one for one in before.placed}
    now = {one.ticket.key: one for one in after.placed}
    tickets = [one.ticket for one in after.placed] + list(after.unplaced)
    found = []
    for ticket in tickets:
        old, new = was.get(ticket.key), now.get(ticket.key)
        found.append(
            Shift(
                ticket=ticket,
                start_before=old.start if old else None,
                start_after=new.start if new else None,
                ready_before=old.ready_on if old else None,
                ready_after=new.ready_on if new else None,
                tech_before=old.tech if old else "",
                tech_after=new.tech if new else "",
            )
        )
    return tuple(found)


def is_change(shift: Shift) -> bool:
    """Return whether a ticket's ready day, its tech or the day of its begin changes."""
    days = [moment.date() if moment else None for moment in (shift.start_before, shift.start_after)]
    return (shift.ready_before, shift.tech_before, days[0]) != (shift.ready_after, shift.tech_after, days[1])


def refuse_circle(tickets: Iterable[BenchTicket], key: str) -> None:
    """Raise Circle where a ticket would have to begin before itself."""
    later: dict[str, set[str]] = {}
    for ticket in tickets:
        if ticket.held.before:
            later.setdefault(ticket.key, set()).add(ticket.held.before)
        if ticket.held.after:
            later.setdefault(ticket.held.after, set()).add(ticket.key)
    stack, seen = [key], {key}
    while stack:
        one = stack.pop()
        for other in sorted(later.get(one, ())):
            if other == key:
                raise Circle(f"{key} would have to begin before itself, by way of {one}. Let {one} go first.")
            if other not in seen:
                seen.add(other)
                stack.append(other)


def ahead_of(made: Plan, key: str) -> str:
    """Return the ticket that the same tech begins before this one, or nothing."""
    order = [one.ticket.key for one in made.placed if one.tech == made[key].tech]
    at = order.index(key)
    return order[at - 1] if at else ""


def behind(made: Plan, key: str) -> str:
    """Return the ticket that the same tech begins after this one, or nothing."""
    order = [one.ticket.key for one in made.placed if one.tech == made[key].tech]
    at = order.index(key)
    return order[at + 1] if at + 1 < len(order) else ""
