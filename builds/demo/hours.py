"""The demo shop's time: moments of its days, and when the bench is done. No database."""

import datetime
from dataclasses import dataclass

BENCH_OPENS_H = 9.0
DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Hours:
    """The shop's time: its zone, on which days the bench works (1 is Monday) and how many hours."""

    zone: datetime.tzinfo
    working_days: tuple[int, ...]
    bench_hours: float

    def at(self, day: datetime.date, hour: float) -> datetime.datetime:
        """Return the moment of an hour of a day, such as 9.5 for half past nine."""
        midnight = datetime.datetime(day.year, day.month, day.day, tzinfo=self.zone)
        return midnight + datetime.timedelta(hours=hour)

    def day_of(self, moment: datetime.datetime) -> datetime.date:
        return moment.astimezone(self.zone).date()

    def working_day(self, day: datetime.date, wait: int = 0) -> datetime.date:
        """Return the first day from `day` on that the bench works, or the one that comes `wait` working days later."""
        while day.isoweekday() not in self.working_days or wait:
            wait -= day.isoweekday() in self.working_days
            day += DAY
        return day

    def after_work(self, start: datetime.datetime, minutes: float) -> datetime.datetime:
        """Return when a tech who starts at `start` has worked so many minutes, within the bench's hours."""
        day, left = self.working_day(self.day_of(start)), datetime.timedelta(minutes=minutes)
        begin = max(start, self.at(day, BENCH_OPENS_H))
        while begin + left > (closes := self.at(day, BENCH_OPENS_H + self.bench_hours)):
            left -= max(datetime.timedelta(), closes - begin)
            day = self.working_day(day + DAY)
            begin = self.at(day, BENCH_OPENS_H)
        return begin + left
