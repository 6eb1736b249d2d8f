"""Tickets put into the techs' free time one after another, as a sequence says, and what that costs."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .free_time import FreeTime, Hours, Piece
from .workload import DAY, DAY_MIN, MINUTE, BenchTicket, Stretch, Tech

NO_DAY = 10**6
HELD_TO_A_DAY, BEGUN, FREE = range(3)

Portion = tuple[int, int, int]
"""Some stretches of a ticket that are placed together: its number, the first of them, the one after the last."""
Cost = tuple[int, int, int, int, int]
"""Tickets that found no time, days late to float, days after the promise, the last finish, all finishes [min]."""


@dataclass
class Place:
    """Where a ticket lies: its tech, the pieces of each stretch, its cures, begin and finish [min]."""

    tech: int
    pieces: list[list[Piece]]
    cures: list[Piece]
    start: int
    at: int
    cured: int

    @property
    def finish(self) -> int:
        return max(self.at, self.cured)


@dataclass
class Draft:
    """A sequence and what came of it; `given` names the tech of tickets that are not left to the first who ends."""

    sequence: list[Portion]
    given: dict[int, int]
    places: list[Place | None]
    cost: Cost
    free: list[FreeTime]


class Bench:
    """The techs' hours and the tickets, numbered in the order of acceptance."""

    def __init__(
        self,
        techs: Iterable[Tech],
        tickets: Iterable[BenchTicket],
        begin: datetime.datetime,
        working_days: Sequence[int],
    ):
        self.begin = begin.replace(second=0, microsecond=0)
        self.midnight = datetime.datetime.combine(begin.date(), datetime.time.min)
        self.working_days = frozenset(working_days)
        self.tickets = sorted(tickets, key=lambda ticket: (ticket.place, ticket.key))
        self.hours = [Hours(tech, self.begin) for tech in sorted(techs, key=lambda tech: tech.key)]
        keys = [ticket.key for ticket in self.tickets]
        if len(set(keys)) < len(keys) or len({hours.tech.key for hours in self.hours}) < len(self.hours):
            raise ValueError("Two techs or two tickets have one key.")
        self.number = {key: i for i, key in enumerate(keys)}
        self.behind = self.held_behind()
        self.group = self.groups()
        self.earliest = [self.earliest_of(ticket) for ticket in self.tickets]
        self.cured = [self.minutes_to(t.cured_at) if t.cured_at else 0 for t in self.tickets]
        self.may = [self.techs_for(ticket) for ticket in self.tickets]
        self.float_day = [self.day_number(ticket.float_by) for ticket in self.tickets]
        self.promised_day = [self.day_number(ticket.promised_on) for ticket in self.tickets]
        self.latest = [NO_DAY] * len(self.tickets)
        self.ready_days: list[int] = []
        self.placings = 0

    # What is given.

    def minutes_to(self, moment: datetime.datetime) -> int:
        return round((moment - self.midnight) / MINUTE)

    def moment(self, minutes: int) -> datetime.datetime:
        return self.midnight + minutes * MINUTE

    def day_of(self, number: int) -> datetime.date:
        return self.midnight.date() + number * DAY

    def day_number(self, day: datetime.date | None) -> int:
        return NO_DAY if day is None else (day - self.midnight.date()).days

    def earliest_of(self, ticket: BenchTicket) -> int:
        """Return the first minute at which a ticket may be worked on: its parts are here, its day has come.

        That is the day after the yes, unless it is begun or a person holds it to another.
        """
        after_the_yes = ticket.agreed_on + DAY if ticket.agreed_on and not ticket.begun else None
        days = [self.day_number(day) * DAY_MIN for day in (ticket.parts_on, ticket.held.day or after_the_yes) if day]
        return max([self.minutes_to(self.begin), *days])

    def techs_for(self, ticket: BenchTicket) -> list[int]:
        """Return the techs who may work on a ticket; one who is not here any more holds nothing back."""
        known = [i for i, hours in enumerate(self.hours) if hours.tech.works]
        own = [i for i in known if self.hours[i].tech.key == ticket.who]
        return own or known

    def held_behind(self) -> list[list[int]]:
        """Return for each ticket those that have to begin before it; what would close a circle is left out."""
        behind: list[list[int]] = [[] for _ in self.tickets]
        for i, ticket in enumerate(self.tickets):
            for first, second in (
                (i, self.number.get(ticket.held.before)),
                (self.number.get(ticket.held.after), i),
            ):
                if first is not None and second is not None and not comes_before(second, first, behind):
                    behind[second].append(first)
        return behind

    def groups(self) -> list[int]:
        """Return who is placed first; what is held before or behind another ticket is drawn to that one's group."""
        group = [HELD_TO_A_DAY if t.held.day else BEGUN if t.begun else FREE for t in self.tickets]
        for _ in self.tickets:
            for second, firsts in enumerate(self.behind):
                for first in firsts:
                    if self.tickets[first].held.before == self.tickets[second].key:
                        group[first] = min(group[first], group[second])
                    group[second] = max(group[first], group[second])
        return group

    # Placing.

    def built(
        self, sequence: list[Portion], given: dict[int, int] | None = None, bound: Cost | None = None
    ) -> Draft | None:
        """Place the portions of a sequence; a ticket goes to the tech of `given`, else to the one who ends it first.

        None as soon as it costs more than the bound (what is placed only adds to a cost), or a ticket is ready after
        its latest day.
        """
        given = given or {}
        free = [FreeTime(hours) for hours in self.hours]
        places: list[Place | None] = [None] * len(self.tickets)
        lost = late = broken = end = total = 0
        for i, first, last in sequence:
            place = places[i]
            if first == 0:
                place = self.begun(i, [given[i]] if i in given else self.may[i], free, places)
            if place and go_on(place, self.tickets[i].stretches[first:last], free[place.tech]):
                for pieces in place.pieces[first:]:
                    free[place.tech].take(pieces)
            else:
                place = None
            places[i] = place
            self.placings += (last - first) * (len(self.may[i]) if first == 0 and i not in given else 1)
            if last < len(self.tickets[i].stretches):
                continue
            if place is None:
                lost += 1
            else:
                if self.ready_day(place.finish) > self.latest[i]:
                    return None
                days = self.days_late(i, place.finish)
                late, broken = late + days[0], broken + days[1]
                end, total = max(end, place.finish), total + place.finish
            if bound and (lost, late, broken, end, total) > bound:
                return None
        return Draft(sequence, given, places, (lost, late, broken, end, total), free)

    def begun(self, i: int, techs: list[int], free: list[FreeTime], places: list[Place | None]) -> Place | None:
        """Return an empty place for a ticket with the tech who would end it first, were nothing else to come."""
        earliest = max([self.earliest[i], *(place.start for j in self.behind[i] if (place := places[j]))])
        if len(techs) == 1:
            return Place(techs[0], [], [], -1, earliest, self.cured[i])
        found = ends_first(self.tickets[i].stretches, techs, free, earliest, self.cured[i])
        return Place(found.tech, [], [], -1, earliest, self.cured[i]) if found else None

    def keep_days_of(self, draft: Draft) -> None:
        """From now on no ticket with a promised day is ready later than in a draft, unless by its promised day."""
        for i, place in enumerate(draft.places):
            if place and self.promised_day[i] != NO_DAY:
                self.latest[i] = max(self.promised_day[i], self.ready_day(place.finish))

    def days_late(self, i: int, finish: int) -> tuple[int, int]:
        """Return by how many days a ticket that ends then misses the day to float and the promised day."""
        ready = self.ready_day(finish)
        return max(0, ready - self.float_day[i]), max(0, ready - self.promised_day[i])

    def ready_day(self, finish: int) -> int:
        """Return the number of the first working day on which a boat that is done then can be handed over."""
        day = max(0, finish // DAY_MIN)
        while len(self.ready_days) <= day:
            self.ready_days.append(self.working_day(len(self.ready_days)))
        return self.ready_days[day]

    def working_day(self, number: int) -> int:
        monday = self.midnight.isoweekday() - 1
        days = range(number, number + 7)
        return next((day for day in days if (monday + day) % 7 + 1 in self.working_days), number)


def ends_first(
    stretches: Sequence[Stretch], techs: Iterable[int], free: Sequence[FreeTime], earliest: int, cured: int
) -> Place | None:
    """Return where stretches would lie with the tech who ends them first; None where nobody has time for them."""
    found: list[Place] = []
    for tech in techs:
        place = Place(tech, [], [], -1, earliest, cured)
        if go_on(place, stretches, free[tech]):
            found.append(place)
    return min(found, key=lambda place: (place.finish, place.start, place.tech)) if found else None


def go_on(place: Place, stretches: Sequence[Stretch], free: FreeTime) -> bool:
    """Put further stretches of a ticket into free time, wet ones after the cure; False where no time is left."""
    at, cured = place.at, place.cured
    for stretch in stretches:
        pieces = free.find(stretch.minutes, max(at, cured) if stretch.wet else at)
        if pieces is None:
            return False
        if pieces:
            at = pieces[-1][1]
            if place.start < 0:
                place.start = pieces[0][0]
        place.pieces.append(pieces)
        if stretch.cure_min:
            place.cures.append((at, at + stretch.cure_min))
            cured = max(cured, at + stretch.cure_min)
    place.at, place.cured = at, cured
    if place.start < 0:
        place.start = at
    return True


def comes_before(first: int, second: int, behind: list[list[int]]) -> bool:
    """Return whether a ticket is another one, or has to begin before it."""
    stack, seen = [second], set()
    while stack:
        one = stack.pop()
        if one == first:
            return True
        if one not in seen:
            seen.add(one)
            stack += behind[one]
    return False
