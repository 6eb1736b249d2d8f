"""The whole catalogue as plain records for the estimator, kept in the process until the catalogue changes.

`version()` is one query; while it stays the same, nothing else is asked of the database. The records are shared:
who needs to change one copies it first.
"""

import datetime
import threading
from dataclasses import dataclass

from catalog.models import AccessoryType, Bundle, CatalogueVersion, Consumable, HullType, ShopOperation, ShopRates


@dataclass(frozen=True)
class _Kept:
    version: str
    records: dict[str, dict[str, dict]]
    rates: list[tuple[datetime.date, dict]]
    withdrawn: frozenset[str]
    waits: dict[str, int]
    rules: list[ShopRates]
    bundles: list[Bundle]
    codes: dict[str, dict[int, str]]


NO_RATES = "The shop has no rates and rules yet. Load the catalogue or add them in the office."

_lock = threading.Lock()
_kept: _Kept | None = None


def version() -> str:
    """Return a text that changes with every change of the catalogue; one query."""
    return CatalogueVersion.current()


def records() -> dict[str, dict[str, dict]]:
    """Return {"accessories", "shop_operations", "consumables", "hull_types"}, each {code: record}.

    One query while nothing changed, a fixed number after a change.
    """
    return _current().records


def code_of(kind: str, pk: int) -> str:
    """Return the code of a row of one kind, such as "accessories", by its key. Raises KeyError where it is gone."""
    return _current().codes[kind][pk]


def withdrawn() -> frozenset[str]:
    """Return the codes of accessory types that stay on old tickets and are offered no more."""
    return _current().withdrawn


def waits() -> dict[str, int]:
    """Return the days until a type is here, of those that do not lie on the shelf."""
    return _current().waits


def bundles() -> list[Bundle]:
    """Return the bundles that are offered, with their lines."""
    return _current().bundles


def rates_on(date: datetime.date) -> ShopRates:
    """Return the shop's rates and rules that hold on a date. Raises LookupError where the shop has none at all."""
    rules = _current().rules
    if not rules:
        raise LookupError(NO_RATES)
    return next((one for one in reversed(rules) if one.holds_from <= date), rules[0])


def shop_record(on_date: datetime.date) -> dict:
    """Return the `shop` object of a build sheet: the rules holding on a date, and every consumable's price and cost.

    Raises LookupError where the shop has no rules at all.
    """
    kept = _current()
    if not kept.rates:
        raise LookupError(NO_RATES)
    began = [rates for holds_from, rates in kept.rates if holds_from <= on_date]
    rates = began[-1] if began else kept.rates[0][1]
    prices = {
        code: {key: record[key] for key in ("unit_price", "unit_cost", "unit", "name")}
        for code, record in kept.records["consumables"].items()
    }
    return {**rates, "consumables": prices}


def _current() -> _Kept:
    """The version is read first: a change in between is then noticed on the next call, not missed."""
    global _kept
    now = version()
    with _lock:
        if _kept is None or _kept.version != now or not now:
            _kept = _load(now)
        return _kept


def _load(now: str) -> _Kept:
    types = list(AccessoryType.objects.whole())
    rules = list(ShopRates.objects.order_by("holds_from"))
    kinds = {
        "accessories": types,
        "shop_operations": ShopOperation.objects.all(),
        "consumables": Consumable.objects.all(),
        "hull_types": HullType.objects.whole(),
    }
    return _Kept(
        version=now,
        records={kind: {row.code: row.record() for row in rows} for kind, rows in kinds.items()},
        rates=[(rates.holds_from, rates.record()) for rates in rules],
        withdrawn=frozenset(kind.code for kind in types if kind.withdrawn),
        codes={kind: {row.pk: row.code for row in rows} for kind, rows in kinds.items()},
        waits={kind.code: kind.lead_days for kind in types if kind.lead_days},
        rules=rules,
        bundles=list(Bundle.objects.offered()),
    )
