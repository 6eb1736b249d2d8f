"""Activities and what each waits for: earliest and latest times, slack, the critical path."""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import TypeVar

Name = TypeVar("Name", bound=Hashable)
SLACK = 1e-9


@dataclass(frozen=True)
class Timing:
    """When an activity may start and end at the earliest and at the latest, in the unit of its duration."""

    earliest_start: float
    earliest_finish: float
    latest_start: float
    latest_finish: float

    @property
    def slack(self) -> float:
        return self.latest_start - self.earliest_start

    @property
    def is_critical(self) -> bool:
        return abs(self.slack) <= SLACK * max(1.0, self.latest_finish)


def timings_of(durations: Mapping[Name, float], after: Mapping[Name, Iterable[Name]]) -> dict[Name, Timing]:
    """Return the timing of each activity; the whole takes the greatest earliest finish.

    Parameters: durations [any one unit]; after, the activities that each waits for.
    ES = greatest EF of what it waits for; EF = ES + duration; LF = least LS of what waits for it; LS = LF - duration.
    Raises ValueError where activities wait for one another in a circle.

    References: critical path method, Kelley and Walker 1959.
    """
    try:
        order = list(TopologicalSorter({name: list(after.get(name, ())) for name in durations}).static_order())
    except CycleError as error:
        raise ValueError(f"activities wait for one another in a circle: {error.args[1]}") from None
    early: dict[Name, tuple[float, float]] = {}
    for name in order:
        start = max((early[before][1] for before in after.get(name, ())), default=0.0)
        early[name] = start, start + durations[name]
    finish = max((end for _, end in early.values()), default=0.0)
    latest: dict[Name, float] = dict.fromkeys(order, finish)
    for name in reversed(order):
        for before in after.get(name, ()):
            latest[before] = min(latest[before], latest[name] - durations[name])
    return {name: Timing(*early[name], latest[name] - durations[name], latest[name]) for name in durations}
