"""Sums of months by one view of the office, read in one query each."""

import datetime

from django.db.models import Sum

from builds.earnings.earned import ACCESSORY, BUNDLE, CATEGORY, PHASE, TECH
from builds.earnings.figures import NAMES, Figures, figures_of
from builds.models import MonthTotals
from builds.office.keeping import COUNTER, HULL, MONTH
from builds.office.periods import Period
from catalog import shelf
from catalog.models import HullType
from shop.models import User

BY_WORDS = {
    MONTH: "month",
    HULL: "hull type",
    ACCESSORY: "accessory type",
    CATEGORY: "category",
    BUNDLE: "bundle",
    TECH: "tech",
    COUNTER: "counter person",
    PHASE: "step",
}
REST = {
    ACCESSORY: "The boat as a whole: shop operations, consumables, fees",
    CATEGORY: "The boat as a whole: shop operations, consumables, fees",
    BUNDLE: "In no bundle, and the boat as a whole",
    TECH: "Nobody wrote minutes",
    COUNTER: "Nobody named",
    PHASE: "In no step",
}
Counted = tuple[int, Figures]
"""How many tickets, and their sum."""


def of_period(by: str, period: Period) -> dict[str, Counted]:
    """Return the sums of a period, by key."""
    return of_views((by,), period)[by]


def of_views(views: tuple[str, ...], period: Period) -> dict[str, dict[str, Counted]]:
    """Return the sums of a period of several views, in one query."""
    rows = (
        MonthTotals.objects.filter(by__in=views, month__gte=period.first, month__lte=period.last)
        .values("by", "key")
        .annotate(count=Sum("tickets"), **{f"sum_{name}": Sum(name) for name in NAMES})
        .order_by("by", "key")
    )
    found: dict[str, dict[str, Counted]] = {view: {} for view in views}
    for row in rows:
        if row["count"]:
            found[row["by"]][row["key"]] = row["count"], summed(row)
    return found


def by_month(period: Period | None = None) -> dict[datetime.date, Counted]:
    """Return the sums of each month in which a boat left, of a period or of all."""
    rows = MonthTotals.objects.filter(by=MONTH, tickets__gt=0)
    if period:
        rows = rows.filter(month__gte=period.first, month__lte=period.last)
    return {row["month"]: (row["tickets"], figures_of(row)) for row in rows.order_by("month").values()}


def summed(row: dict) -> Figures:
    return figures_of({name: row[f"sum_{name}"] for name in NAMES})


def whole(period: Period) -> Counted:
    """Return the sum of all tickets of a period."""
    return of_period(MONTH, period).get("", (0, Figures()))


def grouped(by: str, period: Period) -> dict[str, Counted]:
    """Return the sums of a period by the keys of a view."""
    if by == MONTH:
        return {f"{month:%Y-%m}": counted for month, counted in by_month(period).items()}
    return of_period(by, period)


def names_of(by: str) -> dict[str, str]:
    """Return what the keys of a view are called."""
    rest = {"": REST[by]} if by in REST else {}
    if by == ACCESSORY:
        return {code: kind["name"] for code, kind in shelf.records()["accessories"].items()} | rest
    if by == BUNDLE:
        return {bundle.code: bundle.name for bundle in shelf.bundles()} | rest
    if by in (TECH, COUNTER):
        return {str(pk): name for pk, name in User.objects.values_list("pk", "name")} | rest
    if by == HULL:
        return dict(HullType.objects.values_list("code", "name"))
    if by == MONTH:
        return {}
    return rest


def name_of(by: str, key: str, names: dict[str, str]) -> str:
    """Return what a key is called; a code that is gone from the catalogue is read out."""
    if key in names:
        return names[key]
    if by == MONTH:
        return f"{datetime.date.fromisoformat(f'{key}-01'):%B %Y}"
    return key.replace("_", " ").capitalize()


# How quotes ended.


def days_of(counted: dict[str, Counted]) -> dict[int, int]:
    """Return how many quotes took how many days to the yes, the fewest days first."""
    return dict(sorted((int(key), count) for key, (count, _) in counted.items()))


def days_by(share: float, counts: dict[int, int]) -> int | None:
    """Return the number of days by which a share of the quotes had its yes; None without any.

    The least number of days that at least this share took: the inverse of the distribution function.
    """
    left = share * sum(counts.values())
    for days, count in sorted(counts.items()):
        left -= count
        if left <= 1e-9:
            return days
    return None
