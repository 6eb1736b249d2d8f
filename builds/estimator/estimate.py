"""estimate(sheet) -> Estimate: runs the chain, one module after the other, and keeps all of it together."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from . import (
    asked_cautions,
    consumables,
    duties,
    flotation_cautions,
    labour,
    mends,
    opening_cautions,
    order,
    placement,
    power_workings,
    price_workings,
    pricing,
    requirements,
    weights,
)
from .cautions import Caution, by_weight
from .circuits import BatterySystem
from .consumables import ConsumableLine
from .cut_list import Piece, cut_list
from .fitted import Fitted, fit_lines
from .flotation import Flotation, float_hull
from .openings import PlacedOpening, schedule_of
from .power import size_power
from .runs import Route, route_loads
from .sheet import BuildSheet
from .working import Working

FORMAT = "hullbench-estimate/1"


@dataclass(frozen=True)
class Estimate:
    """Everything that follows from one build sheet."""

    sheet: BuildSheet
    fitted: tuple[Fitted, ...]
    routes: Mapping[str, Route]
    weights: weights.Weights
    flotation: Flotation
    openings: tuple[PlacedOpening, ...]
    power: tuple[BatterySystem, ...]
    labour: labour.Minutes
    order: order.Order
    consumables: tuple[ConsumableLine, ...]
    cut_list: tuple[Piece, ...]
    price: pricing.Price
    missing: tuple[requirements.Missing, ...]
    placement: tuple[placement.Placement, ...]
    cautions: tuple[Caution, ...]

    @property
    def stops(self) -> tuple[Caution, ...]:
        return tuple(caution for caution in self.cautions if caution.severity == "stop")


def estimate(sheet: BuildSheet) -> Estimate:
    """Return the estimate of a build sheet; the same sheet gives the same estimate.

    Raises `Unusable` where the parts of the sheet contradict one another in a way that only the chain can see.
    """
    fitted = fit_lines(sheet)
    routes = route_loads(sheet, fitted)
    weighed = weights.weigh(sheet, fitted)
    floating = float_hull(sheet, weighed)
    openings = schedule_of(sheet, fitted, floating)
    power = size_power(sheet, fitted, routes)
    worked = labour.labour_of(sheet, fitted, routes)
    ordered = order.order_of_work(sheet, fitted, worked.lines)
    pieces = cut_list(fitted, power.systems)
    used = consumables.consumables_of(sheet, fitted, power.systems, pieces)
    priced = pricing.price(sheet, fitted, worked, used)
    missing = requirements.missing_parts(sheet, fitted)
    cautions = [
        *weights.cautions_of(sheet, weighed),
        *flotation_cautions.cautions_of(sheet, fitted, weighed, floating),
        *opening_cautions.cautions_of(sheet, fitted, floating),
        *power.cautions,
        *requirements.cautions_of(sheet, fitted, missing),
        *duties.cautions_of(sheet, fitted),
        *asked_cautions.cautions_of(sheet, fitted, weighed),
        *consumables.cautions_of(used),
        *pricing.cautions_of(sheet, fitted, priced),
    ]
    return Estimate(
        sheet=sheet,
        fitted=fitted,
        routes=routes,
        weights=weighed,
        flotation=floating,
        openings=openings,
        power=power.systems,
        labour=worked,
        order=ordered,
        consumables=used,
        cut_list=pieces,
        price=priced,
        missing=missing,
        placement=placement.place_batteries(sheet, fitted, routes, weighed, floating),
        cautions=by_weight(mends.offered(sheet, cautions)),
    )


def workings_of(found: Estimate) -> Iterator[Working]:
    """Yield the working of every figure of an estimate."""
    sheet = found.sheet
    yield from weights.workings_of(sheet, found.weights)
    yield from flotation_cautions.workings_of(sheet, found.weights, found.flotation)
    yield from opening_cautions.workings_of(found.flotation, found.openings)
    yield from power_workings.workings_of(sheet, found.fitted, found.power)
    yield from labour.workings_of(sheet, found.labour)
    yield from consumables.workings_of(found.consumables)
    yield from price_workings.workings_of(sheet, found.labour, found.price)
    yield from placement.workings_of(found.placement)


def document(found: Estimate, *, workings: bool = True) -> dict[str, Any]:
    """Return an estimate as the JSON document of the contract; figures unrounded, money with its minor digits."""
    minutes, work = found.labour, found.order
    return {
        "format": FORMAT,
        "sheet_sha256": found.sheet.sha256,
        "weights": plain(found.weights),
        "flotation": plain(found.flotation),
        "openings": plain(found.openings),
        "opening_count": len(found.openings),
        "power": plain(found.power),
        "labour": {
            **{f.name: plain(getattr(minutes, f.name)) for f in fields(minutes)},
            "order": plain(work.steps),
            "bench_min": work.bench_min,
            "ready_h": work.ready_h,
        },
        "consumables": plain(found.consumables),
        "cut_list": plain(found.cut_list),
        "price": plain(found.price),
        "missing": plain(found.missing),
        "placement": plain(found.placement),
        "cautions": [caution_document(caution) for caution in found.cautions],
        "workings": [plain(working) for working in workings_of(found)] if workings else [],
    }


def caution_document(caution: Caution) -> dict[str, Any]:
    """Return a caution with its best mend, or null, and all of its mends."""
    record: dict[str, Any] = plain(caution)
    record["mend"] = record["mends"][0] if record["mends"] else None
    return record


SCALARS = frozenset((str, float, int, bool, type(None)))


@cache
def keys_of(cls: type) -> tuple[tuple[str, str], ...]:
    """Return the fields of a dataclass: name in the document and attribute."""
    return tuple((f.metadata.get("key") or f.name, f.name) for f in fields(cls)) if is_dataclass(cls) else ()


def plain(value: Any) -> Any:
    """Return a value of the estimate as JSON knows it."""
    kind: Any = type(value)
    if kind in SCALARS:
        return value
    if keys := keys_of(kind):
        return {key: v if type(v := getattr(value, name)) in SCALARS else plain(v) for key, name in keys}
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, Mapping):
        return {str(key): item if type(item) in SCALARS else plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value
