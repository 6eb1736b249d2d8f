"""When a boat is ready, from bench hours, cure and the shop's working days."""

import datetime
import math

from catalog.models import ShopRates


def ready_on(ready_h: float, bench_min: float, rates: ShopRates, start: datetime.date) -> datetime.date:
    """Return the day on which the boat is ready, when work begins on the next working day.

    The bench minutes fill the shop's bench hours day by day; what the cure takes beyond the bench hours
    (`ready_h` less the bench hours) runs by the clock, nights included.
    """
    bench_h = bench_min / 60
    days = max(1, math.ceil(bench_h / rates.bench_hours_per_day))
    day = start
    while days:
        day += datetime.timedelta(days=1)
        if day.isoweekday() in rates.working_days:
            days -= 1
    return next_working_day(day + datetime.timedelta(days=math.ceil(max(0.0, ready_h - bench_h) / 24)), rates)


def next_working_day(day: datetime.date, rates: ShopRates) -> datetime.date:
    while day.isoweekday() not in rates.working_days:
        day += datetime.timedelta(days=1)
    return day
