"""Prices that are older than the owner wants to quote from without asking."""

import calendar
import datetime
from collections.abc import Iterator
from typing import Any

from catalog import shelf
from catalog.models import AccessoryType


def months_before(day: datetime.date, months: int) -> datetime.date:
    """Return the same day some months earlier, the month's last day where it has no such day."""
    place = day.year * 12 + day.month - 1 - months
    year, month = place // 12, place % 12 + 1
    return datetime.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def oldest_on(today: datetime.date) -> datetime.date | None:
    """Return the day before which a price is old, None where no price is: the shop has no such rule, or no rules."""
    try:
        months = shelf.rates_on(today).price_age_months
    except LookupError:
        return None
    return months_before(today, months) if months else None


def types_priced_before(day: datetime.date | None) -> list[AccessoryType]:
    """Return the types that are offered at an older price, the oldest first."""
    if day is None:
        return []
    return list(AccessoryType.objects.offered().filter(priced_on__lt=day).order_by("priced_on", "name", "code"))


def types_without_date() -> list[AccessoryType]:
    return list(AccessoryType.objects.offered().filter(priced_on=None).order_by("name", "code"))


def as_rows(today: datetime.date) -> Iterator[list[Any]]:
    """Yield the old prices and those without a date as rows of a file, the header first."""
    yield ["code", "name", "supplier", "part_number", "cost", "price", "priced_on"]
    for kind in (*types_priced_before(oldest_on(today)), *types_without_date()):
        yield [kind.code, kind.name, kind.supplier, kind.part_number, kind.cost, kind.price, kind.priced_on]
