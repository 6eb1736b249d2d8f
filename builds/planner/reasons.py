"""Which tickets are late, by how much and why, in words."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .calendar import Placed, Plan, plan
from .words import day_words, hour_words, listed
from .workload import BenchTicket, Held, Tech

NAMED_AT_MOST = 3


@dataclass(frozen=True)
class Late:
    """A ticket that is ready after a day that was given: `to_float` for the day to float, else the promised day.

    `why` is a sentence: what would have to be otherwise.
    """

    ticket: BenchTicket
    due_on: datetime.date
    ready_on: datetime.date
    to_float: bool
    why: str

    @property
    def days(self) -> int:
        return (self.ready_on - self.due_on).days


def late_in(made: Plan, techs: Iterable[Tech], working_days: Sequence[int] = (1, 2, 3, 4, 5)) -> tuple[Late, ...]:
    """Return the late tickets of a plan, those that miss their day to float first, then by how late they are."""
    people = tuple(techs)
    found = []
    for one in made.placed:
        due = due_of(one)
        if due:
            day, to_float = due
            why = why_late(one, day, made, people, working_days)
            found.append(Late(one.ticket, day, one.ready_on, to_float, why))
    return tuple(sorted(found, key=lambda late: (not late.to_float, -late.days, late.ticket.place, late.ticket.key)))


def due_of(one: Placed) -> tuple[datetime.date, bool] | None:
    """Return the day that a ticket misses and whether it is the one to float by; the day to float goes before."""
    ticket = one.ticket
    if ticket.float_by and one.ready_on > ticket.float_by:
        return ticket.float_by, True
    if ticket.promised_on and one.ready_on > ticket.promised_on:
        return ticket.promised_on, False
    return None


def why_late(
    one: Placed, due_on: datetime.date, made: Plan, techs: tuple[Tech, ...], working_days: Sequence[int]
) -> str:
    """Return why a ticket is late: the first thing without which it would not be, were it alone on the bench."""

    def alone(ticket: BenchTicket, people: Iterable[Tech] = techs) -> datetime.date:
        found = plan(people, [ticket], made.begin, working_days, placings=0).placed
        return found[0].ready_on if found else datetime.date.max

    ticket = one.ticket
    free = replace(ticket, held=Held())
    if due_on < made.begin.date():
        return f"The day has passed; {hour_words(ticket.minutes)} of work are left."
    if alone(replace(free, parts_on=None), (replace(tech, days_off=frozenset()) for tech in techs)) > due_on:
        return f"Its own work ({hour_words(ticket.minutes)}) and cure take until {day_words(one.ready_on)}."
    if alone(replace(free, parts_on=None)) > due_on:
        return "Days off: nobody who may work on it is here early enough."
    if ticket.parts_on and alone(free) > due_on:
        return f"Its parts are here on {day_words(ticket.parts_on)}."
    if ticket.held and alone(ticket) > due_on:
        return "It is held where it is: let it go, or move it."
    return busy_words(one, made)


def busy_words(one: Placed, made: Plan) -> str:
    """Return which tickets have the tech before this one is done, those with most of the time first."""
    minutes: dict[str, int] = {}
    for block in made.blocks:
        if block.tech == one.tech and block.ticket != one.ticket.key and block.end <= one.finish:
            minutes[block.ticket] = minutes.get(block.ticket, 0) + block.minutes
    if not minutes:
        return "It waits for the ticket that it is held behind." if one.ticket.held.after else "The bench is busy."
    first = sorted(minutes, key=lambda key: (-minutes[key], key))
    others = f" and {len(first) - NAMED_AT_MOST} more" if len(first) > NAMED_AT_MOST else ""
    names = listed(first[:NAMED_AT_MOST], others)
    return f"The bench is busy before it with {names}: {hour_words(sum(minutes.values()))}."
