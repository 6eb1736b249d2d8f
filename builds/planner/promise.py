"""The promise date: a ticket put into the hours that the agreed ones leave; its parts, its cure, the working days."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .free_time import FreeTime
from .placing import Bench, Place, ends_first
from .search import as_accepted
from .words import day_words, hour_words, time_words
from .workload import BenchTicket, Tech


@dataclass(frozen=True)
class Promise:
    """The day on which a boat is ready, and what leads to it.

    `bench_from` and `bench_until` are the first and the last day of the work; `cured_at` is the end of the last cure,
    None where nothing cures. `working` opens the date to its parts, as pairs of words in their order.
    """

    ready_on: datetime.date
    bench_from: datetime.date
    bench_until: datetime.date
    cured_at: datetime.datetime | None
    working: tuple[tuple[str, str], ...]


class Booked:
    """The bench with the agreed tickets in their places, in the order of acceptance: what one more finds free."""

    def __init__(
        self,
        techs: Iterable[Tech],
        agreed: Iterable[BenchTicket],
        begin: datetime.datetime,
        working_days: Sequence[int],
    ):
        """Raises ValueError where nobody works at the bench, or no day is a working day."""
        self.bench = Bench(techs, agreed, begin, working_days)
        if not working_days or not any(hours.tech.works for hours in self.bench.hours):
            raise ValueError("The bench needs a working day and hours on it.")
        draft = self.bench.built(as_accepted(self.bench))
        self.places = draft.places if draft else []
        self.free = draft.free if draft else []

    def place(self, ticket: BenchTicket) -> Place | None:
        """Return where a ticket lies, with the tech who ends it first; None where nobody has time for it.

        The others keep their places; what the ticket itself had is free for it.
        """
        bench = self.bench
        return ends_first(
            ticket.stretches,
            bench.techs_for(ticket),
            self.free_for(ticket.key),
            bench.earliest_of(ticket),
            bench.minutes_to(ticket.cured_at) if ticket.cured_at else 0,
        )

    def free_for(self, key: str) -> list[FreeTime]:
        own = self.places[self.bench.number[key]] if key in self.bench.number else None
        if own is None:
            return self.free
        free = self.free[:]
        free[own.tech] = free[own.tech].copy()
        for pieces in own.pieces:
            free[own.tech].give(pieces)
        return free

    def minutes_before(self, ticket: BenchTicket, until: datetime.datetime) -> int:
        """Return the work on the other tickets that lies before a moment [min]."""
        end = self.bench.minutes_to(until)
        places = [place for one, place in zip(self.bench.tickets, self.places, strict=True) if one.key != ticket.key]
        pieces = [piece for place in places if place for stretch in place.pieces for piece in stretch]
        return sum(max(0, min(end, last) - first) for first, last in pieces)


def promise(ticket: BenchTicket, booked: Booked, enough_in: float) -> Promise | None:
    """Return the promise for a ticket that is agreed to on its day `agreed_on`; None where nobody has time for it.

    Its work begins on the day after that at the earliest, when its parts are here, in the hours that the agreed tickets
    leave. Cure runs by the clock, nights and weekends included, keeps no tech, and holds up nothing but this ticket's
    wet work. The boat is handed over on a working day. Common practice, no source.

    Parameters: `enough_in`, the share of such jobs that its minutes suffice for (0 to 1), said with them.
    """
    place = booked.place(ticket)
    if place is None:
        return None
    bench = booked.bench
    begin, until = bench.moment(place.start), bench.moment(place.at)
    cured_at = bench.moment(place.cured) if place.cured else None
    ready_on = bench.day_of(bench.ready_day(place.finish))
    span = day_words(begin.date())
    if until.date() != begin.date():
        span = f"{span} to {day_words(until.date())}"
    working = (
        ("Agreed", day_words(ticket.agreed_on) if ticket.agreed_on else "at work already"),
        ("Parts here", day_words(ticket.parts_on) if ticket.parts_on else "on the shelf"),
        ("Other tickets before it", hour_words(booked.minutes_before(ticket, begin))),
        ("Bench work", f"{hour_words(ticket.minutes)}, {span}"),
        ("Long enough for", share_words(enough_in)),
        ("Cured", time_words(cured_at) if cured_at else "nothing cures"),
        ("Ready", day_words(ready_on)),
    )
    return Promise(ready_on, begin.date(), until.date(), cured_at, working)


def share_words(share: float) -> str:
    """Return a share of such jobs as a reader hears it."""
    if share == 0.5:
        return "half of such jobs"
    tenths = 10 * share
    return f"{tenths:.0f} in 10 such jobs" if abs(tenths - round(tenths)) < 1e-9 else f"{share:.0%} of such jobs"


def late_by_days(ready_on: datetime.date, float_by: datetime.date) -> int:
    """Return by how many days [0 or more] a boat is ready after the day on which it must float."""
    return max(0, (ready_on - float_by).days)
