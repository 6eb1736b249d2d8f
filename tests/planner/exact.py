"""The bench's week as a mixed integer program, asked of HiGHS through scipy: is there any plan that ends in time?

The program knows nothing of our sequences. Time goes by whole hours, in which all that is given lies (hours of techs,
work, cures); every tech may change from one ticket to another at any hour. Its decision is between 0 and 1: which tech
has a ticket, and by when what has to cure is done; the hours themselves are shares, since with those decisions fixed
a plan in shares can be turned into one in whole hours (an assignment of hours to tickets, whose matrix is one of
intervals).
"""

import datetime
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from builds.planner.workload import DAY, BenchTicket, Stretch, Tech

BEGIN = datetime.datetime(2026, 11, 23)
"""A Monday, at midnight."""
HOUR = datetime.timedelta(hours=1)
INFEASIBLE = 2


def random_week(seed: int) -> tuple[list[Tech], list[BenchTicket]]:
    """Return one to three techs with days off and three to eight tickets, all in whole hours."""
    chance = random.Random(seed)
    techs = []
    for n in range(chance.choice([1, 1, 2, 2, 3])):
        hours = [chance.choice([0, 4, 6, 6, 7, 8]) for _ in range(5)] + [chance.choice([0, 0, 4]), 0]
        hours = hours if any(hours) else [0, 0, 6, 0, 0, 0, 0]
        off = frozenset(BEGIN.date() + chance.randrange(14) * DAY for _ in range(chance.randrange(3)))
        techs.append(Tech(f"tech {n}", f"Tech {n}", tuple(60 * h for h in hours), days_off=off))
    return techs, [random_ticket(chance, n) for n in range(chance.randint(3, 8))]


def random_ticket(chance: random.Random, n: int) -> BenchTicket:
    """Return a ticket with one or two beds, most with a wet test after them, whose parts come within a week."""
    stretches = [Stretch(60 * chance.randint(1, 7), 60 * chance.choice([0, 4, 12, 24, 24, 48]))]
    if chance.random() < 0.5:
        stretches.append(Stretch(60 * chance.randint(1, 4), 60 * chance.choice([0, 0, 12, 24])))
    if chance.random() < 0.8:
        stretches.append(Stretch(60 * chance.randint(1, 2), wet=True))
    parts_on = BEGIN.date() + chance.choice([0, 0, 1, 2, 3, 4, 7]) * DAY
    return BenchTicket(f"T-{n}", n, tuple(stretches), parts_on=parts_on)


def hours_to(moment: datetime.datetime) -> int:
    return round((moment - BEGIN) / HOUR)


@dataclass
class Program:
    """A mixed integer program while it is written: variables from 0 to 1, rows of low <= sum <= high."""

    whole: list[int] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def variable(self, whole: bool = False) -> int:
        self.whole.append(int(whole))
        return len(self.whole) - 1

    def row(self, low: float, terms: Sequence[tuple[int, float]], high: float) -> None:
        for column, value in terms:
            self.rows.append(len(self.low))
            self.columns.append(column)
            self.values.append(value)
        self.low.append(low)
        self.high.append(high)

    def has_a_solution(self) -> bool:
        shape = len(self.low), len(self.whole)
        matrix = coo_matrix((self.values, (self.rows, self.columns)), shape=shape).tocsr()
        answer = milp(
            np.zeros(shape[1]),
            constraints=LinearConstraint(matrix, self.low, self.high),
            bounds=Bounds(0, 1),
            integrality=np.array(self.whole),
        )
        assert answer.status in (0, INFEASIBLE), answer.message
        return answer.status == 0


def can_end(techs: Sequence[Tech], tickets: Sequence[BenchTicket], limits: Sequence[int]) -> bool:
    """Return whether there is a plan in which each ticket is done by its limit, in hours from the begin."""
    program = Program()
    used: dict[tuple[str, int], list[tuple[int, float]]] = {}
    for ticket, limit in zip(tickets, limits, strict=True):
        has = [(program.variable(whole=True), tech) for tech in techs]
        program.row(1, [(y, 1) for y, _ in has], 1)
        for y, tech in has:
            first = hours_to(datetime.datetime.combine(ticket.parts_on, datetime.time.min))
            hours = {hour: program.variable() for hour in hours_of(tech, first, limit)}
            for hour, x in hours.items():
                used.setdefault((tech.key, hour), []).append((x, 1))
            write_ticket(program, ticket, limit, y, hours)
    for terms in used.values():
        program.row(0, terms, 1)
    return program.has_a_solution()


def hours_of(tech: Tech, first: int, limit: int) -> list[int]:
    """Return the hours that a tech works, each by its begin, from one hour on and done by a limit."""
    return [
        hour
        for day in range(limit // 24 + 1)
        for n in range(tech.minutes_on(BEGIN.date() + day * DAY) // 60)
        if first <= (hour := 24 * day + tech.opens_min // 60 + n) < limit
    ]


def write_ticket(program: Program, ticket: BenchTicket, limit: int, y: int, hours: dict[int, int]) -> None:
    """Write what a ticket asks of one tech's hours: its work, its cures in time, no wet work before they end."""
    wet = sum(stretch.minutes for stretch in ticket.stretches if stretch.wet) // 60
    dry = ticket.minutes // 60 - wet
    program.row(0, [*((x, 1) for x in hours.values()), (y, -dry - wet)], 0)
    done = 0
    for stretch in ticket.stretches:
        if stretch.wet:
            continue
        done += stretch.minutes // 60
        if not (cure := stretch.cure_min // 60):
            continue
        in_time = [(x, 1) for hour, x in hours.items() if hour + 1 + cure <= limit]
        program.row(0, [*in_time, (y, -done)], np.inf)
        if not wet:
            continue
        cured: dict[int, int] = {}
        for n, hour in enumerate(hours, start=1):
            before = [(x, 1) for earlier, x in hours.items() if earlier + 1 + cure <= hour]
            if len(before) >= done and len(before) not in cured:
                cured[len(before)] = z = program.variable(whole=True)
                program.row(0, [*before, (z, -done)], np.inf)
            if n > dry:
                by_now = [(x, 1.0) for x in list(hours.values())[:n]]
                freed = [(cured[len(before)], -wet)] if len(before) in cured else []
                program.row(-np.inf, [*by_now, (y, -dry), *freed], 0)
