"""The promise date: parts on order, the bench's earlier work, this ticket's work, its cure, the working days."""

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass

DAY = datetime.timedelta(days=1)
SLACK_MIN = 1e-6


@dataclass(frozen=True)
class Promise:
    """The day on which a boat is ready, and the days that lead to it.

    `parts_here_on` is the day on which the last part is here; `bench_from` and `bench_until` are the first and the last
    day of the work; `cure_h` is the cure that the work does not cover [h]. `working` opens the date to its parts, as
    pairs of words in their order.
    """

    ready_on: datetime.date
    parts_here_on: datetime.date
    bench_from: datetime.date
    bench_until: datetime.date
    cure_h: float
    working: tuple[tuple[str, str], ...]


def promise(
    start: datetime.date,
    *,
    parts_days: int,
    queue_min: float,
    bench_min: float,
    ready_h: float,
    bench_hours_per_day: float,
    working_days: Sequence[int],
) -> Promise:
    """Return the promise for a ticket that is agreed on the day `start`.

    Work begins on the working day after `start` at the earliest, when the parts are here and the bench is free: the
    earlier tickets' `queue_min` fill the bench from that day on. The ticket's own `bench_min` follow, day by day, on
    the same day where it has minutes left. Cure beyond the bench, max(0, ready_h - bench_min / 60), runs by the clock,
    nights included, from the end of the last bench day. The boat is handed over on a working day. Common practice, no
    source.

    Parameters: `parts_days` [days of the calendar, 0 or more]; `queue_min`, `bench_min` [min]; `ready_h` [h];
    `bench_hours_per_day` [h, above 0]; `working_days` as ISO 8601 numbers, 1 is Monday. Raises ValueError where no day
    is a working day or a day has no hours.
    """
    if not working_days or bench_hours_per_day <= 0:
        raise ValueError("The bench needs a working day and hours on it.")
    day_min = bench_hours_per_day * 60
    first = next_working_day(start + DAY, working_days)
    parts_here_on = start + parts_days * DAY
    queue_days, queue_left_min = divmod(max(0.0, queue_min), day_min)
    free_on = forward(first, int(queue_days), working_days)
    begin, used_min = free_on, queue_left_min
    if parts_days and (with_parts := next_working_day(parts_here_on, working_days)) > free_on:
        begin, used_min = with_parts, 0.0
    bench_days = max(1, math.ceil((used_min + bench_min - SLACK_MIN) / day_min))
    bench_until = forward(begin, bench_days - 1, working_days)
    cure_h = max(0.0, ready_h - bench_min / 60)
    ready_on = next_working_day(bench_until + math.ceil(cure_h / 24) * DAY, working_days)
    working = (
        ("Agreed", words(start)),
        ("Parts here", words(parts_here_on) if parts_days else "on the shelf"),
        ("Bench free of earlier tickets", f"{words(free_on)}, {hours(queue_min)} before"),
        ("Bench work", f"{hours(bench_min)} from {words(begin)} to {words(bench_until)}"),
        ("Cure beyond the bench", f"{cure_h:.0f}\u202fh" if cure_h else "none"),
        ("Ready", words(ready_on)),
    )
    return Promise(ready_on, parts_here_on, begin, bench_until, cure_h, working)


def late_by_days(promised: Promise, float_by: datetime.date) -> int:
    """Return by how many days [0 or more] a boat is ready after the day on which it must float."""
    return max(0, (promised.ready_on - float_by).days)


def next_working_day(day: datetime.date, working_days: Sequence[int]) -> datetime.date:
    """Return the day itself where the bench works on it, else the next one on which it does."""
    while day.isoweekday() not in working_days:
        day += DAY
    return day


def forward(day: datetime.date, count: int, working_days: Sequence[int]) -> datetime.date:
    """Return the working day that is `count` working days after a working day."""
    for _ in range(count):
        day = next_working_day(day + DAY, working_days)
    return day


def words(day: datetime.date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def hours(minutes: float) -> str:
    return f"{int(minutes // 60)}\u202fh\u202f{int(minutes % 60):02d}"
