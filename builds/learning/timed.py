"""Timed work, and the one figure that a ticket says about an accessory type."""

import datetime
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

LEAST_COVERED = 0.8
"""A line whose timed phases make up less of its planned minutes was timed only in part."""
PART_TIMED, RAN_ON, PHASE_RAN_ON, STARTED_LATE = "part_timed", "ran_on", "phase_ran_on", "started_late"
WHY = {
    PART_TIMED: "timed only in part",
    RAN_ON: "far more than its like: the timer was left running",
    PHASE_RAN_ON: "one phase far beyond the others: the timer was left running",
    STARTED_LATE: "far less than its like: the timer was started late",
}


@dataclass(frozen=True, kw_only=True)
class Timed:
    """One phase of one type on one ticket: likely minutes planned and minutes worked [min], 0 where none were timed.

    `planned_min` is the ticket's own estimate, set-up shared and factors in, at the minutes that the catalogue has
    now. `kind` is the accessory type or the shop operation. `factors` names those that lengthened this phase on this
    hull. `units` is how many were fitted, `first` whether the first unit of the type is among them.
    """

    ticket: str
    kind: str
    phase: str
    planned_min: float
    worked_min: float
    units: int = 1
    first: bool = True
    factors: tuple[str, ...] = ()
    tech: str = ""
    on: datetime.date | None = None


@dataclass(frozen=True)
class Datum:
    """What a ticket says of a type: minutes worked against minutes planned [min], as a ratio on the log scale.

    The estimate of the ticket already holds what it shares and what its hull makes longer, so that the ratio is about
    the type alone, up to who worked and how the day went: `apart.effects_of` takes those out. `exposed` is the share
    of the planned minutes that each factor lengthened; `phases` holds planned and worked minutes of each phase.
    """

    ticket: str
    kind: str
    tech: str
    planned_min: float
    worked_min: float
    units: int
    on: datetime.date | None
    exposed: Mapping[str, float] = field(default_factory=dict)
    phases: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def log_ratio(self) -> float:
        return math.log(self.worked_min / self.planned_min)


@dataclass(frozen=True)
class LeftOut:
    """A figure that is not learned from, and why (a key of `WHY`)."""

    datum: Datum
    why: str

    @property
    def words(self) -> str:
        return WHY[self.why]


def gather(timed: Iterable[Timed]) -> tuple[list[Datum], list[LeftOut]]:
    """Return one datum for each type on each ticket, and those that were timed only in part.

    Phases are added first: at the bench several steps are ticked at once, and the minutes then stand with the last of
    them. What nobody timed at all is neither learned from nor left out. Raises ValueError for minutes below 0.
    """
    together: dict[tuple[str, str], list[Timed]] = {}
    for one in timed:
        if one.planned_min < 0 or one.worked_min < 0:
            raise ValueError("Minutes lie at 0 or above.")
        together.setdefault((one.ticket, one.kind), []).append(one)
    kept, left_out = [], []
    for rows in together.values():
        planned = math.fsum(row.planned_min for row in rows)
        if not planned or not any(row.worked_min for row in rows):
            continue
        datum = datum_of(rows, planned)
        covered = math.fsum(row.planned_min for row in rows if row.worked_min) / planned
        if covered < LEAST_COVERED:
            left_out.append(LeftOut(datum, PART_TIMED))
        else:
            kept.append(datum)
    return kept, left_out


def datum_of(rows: list[Timed], planned_min: float) -> Datum:
    """Return the datum of one type on one ticket; the tech is who worked most of it, the day its last."""
    by_tech: dict[str, float] = {}
    exposed: dict[str, float] = {}
    phases: dict[str, tuple[float, float]] = {}
    for row in rows:
        planned, worked = phases.get(row.phase, (0.0, 0.0))
        phases[row.phase] = planned + row.planned_min, worked + row.worked_min
        by_tech[row.tech] = by_tech.get(row.tech, 0.0) + row.worked_min
        for factor in row.factors:
            exposed[factor] = exposed.get(factor, 0.0) + row.planned_min / planned_min
    return Datum(
        ticket=rows[0].ticket,
        kind=rows[0].kind,
        tech=max(by_tech, key=lambda tech: (by_tech[tech], tech)),
        planned_min=planned_min,
        worked_min=math.fsum(row.worked_min for row in rows),
        units=max(row.units for row in rows),
        on=max((row.on for row in rows if row.on), default=None),
        exposed=exposed,
        phases=phases,
    )
