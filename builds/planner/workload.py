"""What the bench has to do and who does it: techs with their hours, tickets with their work, cure and days."""

import datetime
import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

DAY = datetime.timedelta(days=1)
MINUTE = datetime.timedelta(minutes=1)
DAY_MIN = 24 * 60


@dataclass(frozen=True)
class Tech:
    """Who works at the bench: hours by day of the week, Monday first [min], from `opens_min` on [min of the day]."""

    key: str
    name: str
    week_min: tuple[int, ...]
    opens_min: int = 9 * 60
    days_off: frozenset[datetime.date] = frozenset()

    def __post_init__(self) -> None:
        if len(self.week_min) != 7 or any(not 0 <= m <= DAY_MIN - self.opens_min for m in self.week_min):
            raise ValueError(f"{self.name}: a week has seven days, and a day's hours end by midnight.")

    def minutes_on(self, day: datetime.date) -> int:
        """Return the minutes that the tech works on a day [min]."""
        return 0 if day in self.days_off else self.week_min[day.weekday()]

    @property
    def works(self) -> bool:
        return any(self.week_min)


@dataclass(frozen=True)
class Stretch:
    """Work that goes on until something begins to cure, or the last of it.

    `minutes` of work [min]; `cure_min` is the cure that begins at its end [min by the clock, nights included];
    `wet` work waits until everything that was bedded before it is cured.
    """

    minutes: int
    cure_min: int = 0
    wet: bool = False


@dataclass(frozen=True)
class Held:
    """Where a person put a ticket: with a tech, on a day, ahead of one ticket, behind another; empty where free."""

    tech: str = ""
    day: datetime.date | None = None
    before: str = ""
    after: str = ""

    def __bool__(self) -> bool:
        return self != Held()


@dataclass(frozen=True)
class BenchTicket:
    """A ticket as the calendar takes it; `place` is its place in the order of acceptance.

    `parts_on` is the day on which its last part is here; no work on it before. `float_by` is the day on which it must
    float, `promised_on` the day that the customer was told. Nobody begins on it on the day of the yes, `agreed_on`
    (common practice, no source). `begun` tickets stay with their `tech` and go first. `cured_at` ends a cure that runs
    already.
    """

    key: str
    place: int
    stretches: tuple[Stretch, ...]
    parts_on: datetime.date | None = None
    float_by: datetime.date | None = None
    promised_on: datetime.date | None = None
    agreed_on: datetime.date | None = None
    tech: str = ""
    begun: bool = False
    cured_at: datetime.datetime | None = None
    held: Held = Held()

    @property
    def minutes(self) -> int:
        """The work that is left [min]."""
        return sum(stretch.minutes for stretch in self.stretches)

    @property
    def who(self) -> str:
        """The one tech who may work on it, or nothing where anyone may."""
        return self.held.tech or (self.tech if self.begun else "")


def stretches_of(steps: Iterable[tuple[float, float, bool]], factor: float = 1.0) -> tuple[Stretch, ...]:
    """Return the stretches of a ticket from its steps in their order, with the minutes times a factor.

    Parameters: each step's minutes [min], the cure that begins after it [h], whether it waits for the cure. A stretch
    is rounded up to a whole minute.
    """
    found: list[Stretch] = []
    minutes, wet, open_ = 0.0, False, False
    for step_min, cure_h, waits in steps:
        if open_ and waits and not wet:
            found.append(Stretch(whole(minutes), 0, wet))
            minutes, open_ = 0.0, False
        wet = (wet if open_ else False) or waits
        minutes, open_ = minutes + step_min * factor, True
        if cure_h:
            found.append(Stretch(whole(minutes), whole(cure_h * 60), wet))
            minutes, open_ = 0.0, False
    if open_:
        found.append(Stretch(whole(minutes), 0, wet))
    return tuple(found)


def percentile_factor(mean_min: float, sd_min: float, share: float) -> float:
    """Return by what the mean is multiplied [-, 1 or more], so that work takes no longer in that share of cases.

    (m + z s) / m, with z of the standard normal distribution; common practice, no source.
    """
    if mean_min <= 0:
        return 1.0
    return max(1.0, (mean_min + NormalDist().inv_cdf(share) * sd_min) / mean_min)


def whole(minutes: float) -> int:
    """Return minutes rounded up to a whole one [min]; a millionth above one is a rounding error, no minute."""
    return math.ceil(minutes - 1e-6)
