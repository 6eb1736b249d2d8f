"""Rows -> build sheet -> estimate: the only module that knows both sides."""

import datetime
import threading
from typing import Any

from builds.estimator.document import Catalogue, read_sheet
from builds.estimator.estimate import Estimate, estimate
from builds.estimator.sheet import FORMAT, BuildSheet
from builds.models import HullRecord, HullStation, Line, Ticket
from catalog import shelf
from shop import clock

KEPT_AT_MOST = 8

_lock = threading.Lock()
_kept: dict[tuple[str, frozenset[str]], Catalogue] = {}


def catalogue(used: frozenset[str] = frozenset(), on_date: datetime.date | None = None) -> Catalogue:
    """Return the shop's catalogue as the estimator takes it, with the rates of a date; read once a change.

    Types that the shop has withdrawn are left out, so that they are not offered, unless a ticket uses them.
    """
    shop = shelf.shop_record(on_date or clock.today())
    key = shelf.version(), used & shelf.withdrawn()
    with _lock:
        if key not in _kept:
            if len(_kept) >= KEPT_AT_MOST:
                _kept.clear()
            _kept[key] = read_shelf(shelf.withdrawn() - key[1], shop)
        kept = _kept[key]
    return kept if kept.shop_record == shop else kept.with_shop(shop)


def read_shelf(left_out: frozenset[str], shop: dict[str, Any]) -> Catalogue:
    records = shelf.records()
    accessories = {code: record for code, record in records["accessories"].items() if code not in left_out}
    return Catalogue(accessories, records["shop_operations"], shop)


def catalogue_for(ticket: Ticket) -> Catalogue:
    """Return the catalogue for one ticket: what is offered, and what the ticket uses."""
    return catalogue(frozenset(line.accessory.code for line in ticket.lines.all()))


def build_sheet(ticket: Ticket) -> dict[str, Any]:
    """Return the ticket as a build-sheet document that leaves the catalogue out."""
    people = [aboard for aboard in ticket.aboard.all() if aboard.is_person]
    gear = [aboard for aboard in ticket.aboard.all() if not aboard.is_person]
    keys = {line.key for line in ticket.lines.all()}
    return {
        "format": FORMAT,
        "ticket": {"number": ticket.number, "title": ticket.title},
        "hull": hull_document(ticket.hull),
        "water": ticket.water,
        "air_temp_c": ticket.air_temp_c,
        "people": [aboard_document(aboard) for aboard in people],
        "gear": [aboard_document(aboard) for aboard in gear],
        "lines": [line_document(line) for line in ticket.lines.all()],
        "operations": [{"operation": row.operation.code, "quantity": row.quantity} for row in ticket.operations.all()],
        "day_plan": [
            {"name": spell.name, "hours": spell.hours, "on": {k: v for k, v in spell.on.items() if k in keys}}
            for spell in ticket.spells.all()
        ],
        "discount": {"fraction": f"{ticket.discount_basis_points / 10000:.4f}"},
        "fees": [{"name": fee.name, "amount": str(fee.amount)} for fee in ticket.fees.all()],
    }


def hull_document(hull: HullRecord) -> dict[str, Any]:
    float_test = None
    if hull.float_test_draft_mid_m is not None:
        float_test = {"draft_mid_m": hull.float_test_draft_mid_m, "load_kg": hull.float_test_load_kg or 0.0}
    same = (
        "name craft material length_m beam_m depth_m mass_kg rated_load_kg rating_includes_hull waterplane_exponent "
        "section_exponent cog_x_m cog_z_m old salt_corroded"
    )
    return {
        **{name: getattr(hull, name) for name in same.split()},
        "float_test": float_test,
        "hull_number": hull.hull_number or None,
        "provides": list(hull.provides),
        "stations": [station_document(station) for station in hull.stations.all()],
    }


def station_document(station: HullStation) -> dict[str, Any]:
    same = "name x_m y_m z_m surface hand_reach blind holds_battery well_half_width_m"
    return {"id": station.key, **{name: getattr(station, name) for name in same.split()}}


def aboard_document(aboard) -> dict[str, Any]:
    return {"name": aboard.name, "mass_kg": aboard.mass_kg, "station": aboard.station or None}


def line_document(line: Line) -> dict[str, Any]:
    return {
        "id": line.key,
        "accessory": line.accessory.code,
        "quantity": line.quantity,
        "station": line.station or None,
        "offset_m": [line.offset_x_m, line.offset_y_m, line.offset_z_m],
        "mounting": line.mounting or None,
        "supplied_by": line.supplied_by,
        "unit_price": None if line.unit_price is None else str(line.unit_price),
        "unit_cost": None if line.unit_cost is None else str(line.unit_cost),
        "battery": line.battery_key or None,
        "circuit": line.circuit or None,
        "switch": line.switch_key or None,
        "direct": line.direct,
        "measured_run_m": line.measured_run_m,
        "role": line.role,
        "health": line.health,
    }


def sheet_of(ticket: Ticket) -> BuildSheet:
    """Return the ticket's build sheet. Raises `Unusable` with every problem, each with its path."""
    return read_sheet(build_sheet(ticket), catalogue_for(ticket))


def estimate_of(ticket: Ticket) -> Estimate:
    """Return the ticket's estimate. Raises `Unusable`."""
    return estimate(sheet_of(ticket))
