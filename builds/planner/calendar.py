"""The bench's calendar: who works on which ticket when, what cures meanwhile, when each ticket is done.

A list schedule: tickets are placed one after another in a sequence, each with the tech who ends it first, into the
first free minutes; what was placed before is worked round. The order of acceptance, by which days are promised, is the
plan while it keeps them all. Else several sequences by rule are tried, and the best one is bettered by moving a ticket
or a part of one. The heuristic is our own. Dealt sequences are always the same ones, and every tie goes by the order of
acceptance: the same input gives the same plan.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .free_time import Piece
from .placing import Bench, Place
from .search import PLACINGS, found
from .workload import MINUTE, BenchTicket, Tech

Moment = datetime.datetime


@dataclass(frozen=True)
class Block:
    """One piece of work on one day: a tech on a ticket from `start` to `end`; `wet` is work after the cure."""

    ticket: str
    tech: str
    start: Moment
    end: Moment
    wet: bool

    @property
    def day(self) -> datetime.date:
        return self.start.date()

    @property
    def minutes(self) -> int:
        return round((self.end - self.start) / MINUTE)


@dataclass(frozen=True)
class Placed:
    """A ticket in its place: who works on it in which blocks, from when to when it cures, when it is done.

    `finish` is the end of the last work or of the last cure; `ready_on` the day on which the boat can be handed over.
    """

    ticket: BenchTicket
    tech: str
    blocks: tuple[Block, ...]
    cures: tuple[tuple[Moment, Moment], ...]
    finish: Moment
    ready_on: datetime.date

    @property
    def start(self) -> Moment:
        return self.blocks[0].start if self.blocks else self.finish


@dataclass(frozen=True)
class Plan:
    """The calendar from `begin` on: tickets in the order in which they are begun, and those that found no time."""

    begin: Moment
    placed: tuple[Placed, ...]
    unplaced: tuple[BenchTicket, ...]

    def __getitem__(self, key: str) -> Placed:
        return next(one for one in self.placed if one.ticket.key == key)

    @property
    def blocks(self) -> tuple[Block, ...]:
        """Every block by its start, then by tech."""
        every = (block for one in self.placed for block in one.blocks)
        return tuple(sorted(every, key=lambda block: (block.start, block.tech, block.end)))

    @property
    def finish(self) -> Moment:
        """When the last ticket is done; the begin where there is none."""
        return max((one.finish for one in self.placed), default=self.begin)


def plan(
    techs: Iterable[Tech],
    tickets: Iterable[BenchTicket],
    begin: Moment,
    working_days: Sequence[int] = (1, 2, 3, 4, 5),
    *,
    placings: int = PLACINGS,
) -> Plan:
    """Return the plan of the bench from a moment of the shop's clock on.

    What it aims at, in this order: every ticket finds time; fewest days after the days on which boats must float;
    fewest days after the promised days; the last ticket done early; all tickets done early (the sum of their
    finishes). Before all of it: a promised day that the order of acceptance keeps is kept, and where it keeps every
    day, nothing is moved at all. A ticket stays with the tech who begins it. What a person held keeps its place
    whatever that costs.

    Parameters: `working_days` as ISO 8601 numbers, on which boats are handed over; `placings` bounds the search, 0
    takes the best rule alone. Raises ValueError where two techs or two tickets have one key.
    """
    bench = Bench(techs, tickets, begin, working_days)
    draft = found(bench, placings)
    placed = [placed_of(bench, i, place) for i, place in enumerate(draft.places) if place]
    placed.sort(key=lambda one: (one.start, one.ticket.place, one.ticket.key))
    return Plan(
        bench.begin, tuple(placed), tuple(t for t, place in zip(bench.tickets, draft.places, strict=True) if not place)
    )


def placed_of(bench: Bench, i: int, place: Place) -> Placed:
    """Return a ticket's place in moments of the shop's clock."""
    ticket, tech = bench.tickets[i], bench.hours[place.tech].tech.key
    blocks: list[Block] = []
    for stretch, pieces in zip(ticket.stretches, place.pieces, strict=True):
        for start, end in pieces:
            block = Block(ticket.key, tech, bench.moment(start), bench.moment(end), stretch.wet)
            if blocks and blocks[-1].end == block.start and blocks[-1].wet == block.wet:
                block = Block(ticket.key, tech, blocks.pop().start, block.end, block.wet)
            blocks.append(block)
    cures = [(bench.moment(start), bench.moment(end)) for start, end in together(place.cures)]
    ready_on = bench.day_of(bench.ready_day(place.finish))
    return Placed(ticket, tech, tuple(blocks), tuple(cures), bench.moment(place.finish), ready_on)


def together(pieces: list[Piece]) -> list[Piece]:
    """Return pieces with those that touch or overlap put together."""
    whole: list[Piece] = []
    for start, end in sorted(pieces):
        if whole and start <= whole[-1][1]:
            whole[-1] = (whole[-1][0], max(end, whole[-1][1]))
        else:
            whole.append((start, end))
    return whole
