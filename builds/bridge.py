"""Rows -> build sheet -> estimate: the only module that knows both sides."""

import datetime
import threading
from typing import Any

from builds.agreed import agreed_of
from builds.content import Content
from builds.estimator.document import Catalogue, read_sheet
from builds.estimator.estimate import Estimate, estimate
from builds.estimator.sheet import FORMAT, BuildSheet
from builds.models import HullRecord, HullStation, Interview, KeptCatalogue, Line, Ticket
from builds.states import AGREED
from builds.suiting import asked_of, records
from catalog import shelf
from catalog.models import AccessoryType
from shop import clock

KEPT_AT_MOST = 8
ASKED = (
    "hours_dark",
    "motor",
    "holes",
    "transport",
    "lifters",
    "storage",
    "freezes",
    "battery_now",
    "own_parts",
    "side",
)

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
    """Return the catalogue for one ticket: what is offered, and what the ticket uses.

    Once the customer agreed, what was agreed keeps its figures and prices; only types added since come from the shelf.
    """
    offered = catalogue(frozenset(line.accessory.code for line in ticket.lines.all()))
    agreed = agreed_of(ticket) if ticket.state in AGREED else None
    return with_agreed(offered, agreed.kept.catalogue) if agreed else offered


def with_agreed(offered: Catalogue, kept: KeptCatalogue) -> Catalogue:
    """Return a catalogue in which the records that a quote was made with stand before today's."""
    key = f"{shelf.version()} {kept.sha256}", frozenset(offered.accessory_records)
    with _lock:
        if key not in _kept:
            if len(_kept) >= KEPT_AT_MOST:
                _kept.clear()
            records = kept.records
            _kept[key] = Catalogue(
                {**offered.accessory_records, **records["accessories"]},
                {**offered.operation_records, **records["shop_operations"]},
                records["shop"],
            )
        return _kept[key]


def build_sheet(ticket: Ticket) -> dict[str, Any]:
    """Return the ticket as a build-sheet document that leaves the catalogue out."""
    people = [aboard for aboard in ticket.aboard.all() if aboard.is_person]
    gear = [aboard for aboard in ticket.aboard.all() if not aboard.is_person]
    asked = asked_document(asked_of(ticket))
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
        "day_plan": day_plan(ticket, list(ticket.lines.all())),
        "discount": {"fraction": f"{ticket.discount_basis_points / 10000:.4f}"},
        "fees": [{"name": fee.name, "amount": str(fee.amount)} for fee in ticket.fees.all()],
        **({"asked": asked} if asked else {}),
    }


def day_plan(ticket: Ticket, lines: list[Line]) -> list[dict[str, Any]]:
    """Return the spells that were written down, else those that follow from the hours that the customer named."""
    keys = {line.key for line in lines}
    if spells := list(ticket.spells.all()):
        return [
            {"name": spell.name, "hours": spell.hours, "on": {k: v for k, v in spell.on.items() if k in keys}}
            for spell in spells
        ]
    asked = asked_of(ticket)
    if asked is None or not (asked.hours_afloat or asked.hours_dark):
        return []
    trips, dark_h = asked.trips or 1, asked.hours_dark or 0.0
    light_h = max(0.0, (asked.hours_afloat or 0.0) - dark_h)
    lights = {line.key: 0.0 for line in lines if is_wired_light(line)}
    each = "" if trips == 1 else f", {trips} trips"
    spells = [("by day", light_h, lights), ("in the dark", dark_h, {})]
    return [{"name": f"{name}{each}", "hours": hours * trips, "on": on} for name, hours, on in spells if hours]


def is_wired_light(line: Line) -> bool:
    return line.accessory.category == "lights" and bool(records()[line.accessory.code].get("load"))


def asked_document(asked: Interview | None) -> dict[str, Any]:
    """Return what the customer was asked, as far as an estimate needs it; nothing where nothing was answered."""
    if asked is None:
        return {}
    return {name: value for name in ASKED if (value := getattr(asked, name)) not in (None, "")}


def sheet_of_alternative(ticket: Ticket, said: Content) -> BuildSheet:
    """Return the build sheet of the ticket as another of its alternatives has it. Raises `Unusable`."""
    lines = [Line(**row, accessory=type_at(row["accessory_id"])) for row in said["lines"]]
    document = build_sheet(ticket) | {
        "lines": [line_document(line) for line in lines],
        "operations": [
            {"operation": shelf.code_of("shop_operations", row["operation_id"]), "quantity": row["quantity"]}
            for row in said["operations"]
        ],
        "day_plan": day_plan(ticket, lines),
        "discount": {"fraction": f"{said['discount_basis_points'] / 10000:.4f}"},
        "fees": said["fees"],
    }
    return read_sheet(document, catalogue(frozenset(line.accessory.code for line in lines)))


def type_at(pk: int) -> AccessoryType:
    """Return what a sheet needs to know of an accessory type, from the shelf."""
    code = shelf.code_of("accessories", pk)
    return AccessoryType(pk=pk, code=code, category=records()[code]["category"])


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
