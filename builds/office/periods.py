"""The months that a page of the office looks at, from its address."""

import datetime
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from django.db.models import Max, Min

from builds.models import MonthTotals
from builds.office.keeping import MONTH
from shop import clock

WRITTEN = re.compile(r"(\d{4})-(\d{2})\Z")
ACCEPTED = "Months are written as 2026-11: year, dash, month."


@dataclass(frozen=True)
class Period:
    """From the first day of one month to the first day of another, both months counted."""

    first: datetime.date
    last: datetime.date

    @property
    def words(self) -> str:
        if self.first == self.last:
            return f"{self.first:%B %Y}"
        return f"{self.first:%B %Y} to {self.last:%B %Y}"

    @property
    def query(self) -> str:
        """The period as the end of an address."""
        return urlencode({"from": f"{self.first:%Y-%m}", "to": f"{self.last:%Y-%m}"})

    @property
    def months(self) -> list[datetime.date]:
        found, month = [], self.first
        while month <= self.last:
            found.append(month)
            month = moved(month, 1)
        return found


@dataclass(frozen=True)
class Asked:
    """The period that is shown, what was typed, and what is wrong with it; the period is then the usual one."""

    period: Period
    first: str
    last: str
    trouble: str
    usual: tuple[tuple[str, Period], ...]


def moved(month: datetime.date, by: int) -> datetime.date:
    """Return the month that lies some months later."""
    place = month.year * 12 + month.month - 1 + by
    return datetime.date(place // 12, place % 12 + 1, 1)


def kept_months() -> tuple[datetime.date | None, datetime.date | None]:
    """Return the first and the last month in which a boat left."""
    kept = MonthTotals.objects.filter(by=MONTH, tickets__gt=0).aggregate(Min("month"), Max("month"))
    return kept["month__min"], kept["month__max"]


def asked(query: Mapping[str, str], months: Collection[datetime.date] | None = None) -> Asked:
    """Return the period that an address asks for; without any, this month, or the last in which a boat left.

    `months` are those in which a boat left, where they are known already.
    """
    this = clock.today().replace(day=1)
    first_kept, last_kept = kept_months() if months is None else (min(months, default=None), max(months, default=None))
    begin, end = first_kept or this, last_kept or this
    latest = this if end >= this else end
    usual = (
        ("This month", Period(this, this)),
        ("Last month", Period(moved(this, -1), moved(this, -1))),
        ("Twelve months", Period(moved(this, -11), this)),
        ("This year", Period(this.replace(month=1), this)),
        ("All", Period(min(begin, this), max(end, this))),
    )
    first, last = query.get("from", "").strip(), query.get("to", "").strip()
    if not first and not last:
        return Asked(Period(latest, latest), f"{latest:%Y-%m}", f"{latest:%Y-%m}", "", usual)
    try:
        period = Period(read(first or last), read(last or first))
    except ValueError as error:
        return Asked(Period(latest, latest), first, last, str(error), usual)
    if period.first > period.last:
        return Asked(period_turned(period), first, last, "", usual)
    return Asked(period, first or last, last or first, "", usual)


def period_turned(period: Period) -> Period:
    return Period(period.last, period.first)


def read(text: str) -> datetime.date:
    """Return the first day of a month that is written as 2026-11. Raises ValueError with a sentence."""
    found = WRITTEN.match(text)
    if not found:
        raise ValueError(f"“{text[:20]}” is not a month. {ACCEPTED}")
    year, month = int(found[1]), int(found[2])
    if not (1970 <= year <= 2200 and 1 <= month <= 12):
        raise ValueError(f"“{text}” is not a month of the calendar. {ACCEPTED}")
    return datetime.date(year, month, 1)
