"""What a ticket says, as one plain value: kept before and after each change, and put back by an undo."""

from typing import Any

from builds.models import (
    Aboard,
    Alternative,
    Customer,
    Fee,
    HullRecord,
    HullStation,
    Interview,
    Line,
    Spell,
    Ticket,
    TicketOperation,
)
from builds.models.hull import HULL_FIGURES, STATION_FIGURES

Content = dict[str, Any]

TICKET_FIGURES = ("title", "asked", "customer_id", "hull_id", "water", "air_temp_c", "discount_basis_points")
CUSTOMER_FIGURES = ("name", "phone", "email")
LINE_FIGURES = (
    "key",
    "accessory_id",
    "quantity",
    "station",
    "offset_x_m",
    "offset_y_m",
    "offset_z_m",
    "mounting",
    "supplied_by",
    "unit_price",
    "unit_cost",
    "battery_key",
    "circuit",
    "switch_key",
    "direct",
    "measured_run_m",
    "role",
    "health",
    "note",
    "bundle",
)
PARTS: dict[str, tuple[type, tuple[str, ...]]] = {
    "aboard": (Aboard, ("is_person", "name", "mass_kg", "station")),
    "lines": (Line, LINE_FIGURES),
    "operations": (TicketOperation, ("operation_id", "quantity")),
    "spells": (Spell, ("name", "hours", "on")),
    "fees": (Fee, ("name", "amount")),
    "interview": (Interview, Interview.ANSWERS),
    "alternatives": (Alternative, ("name", "is_current", "said")),
}
MONEY = ("unit_price", "unit_cost", "amount")
OF_AN_ALTERNATIVE = ("lines", "operations", "fees", "discount_basis_points")
"""What one alternative says of its own; boat, people, water and day are the same in all of them."""


def content_of(ticket: Ticket, names: tuple[str, ...] | None = None) -> Content:
    """Return everything on the ticket that can be changed, or the parts that are named, read from the database."""
    content: Content = {name: getattr(ticket, name) for name in TICKET_FIGURES}
    for name, (model, figures) in PARTS.items():
        if names is None or name in names:
            content[name] = [
                {figure: as_plain(figure, value) for figure, value in row.items()}
                for row in model.objects.filter(ticket=ticket).order_by("place", "id").values(*figures)
            ]
    if names is None:
        content["boat"] = boat_of(ticket.hull_id)
        content["customer"] = Customer.objects.filter(pk=ticket.customer_id).values(*CUSTOMER_FIGURES).first()
        return content
    return {name: content[name] for name in names}


def boat_of(hull_id: int) -> Content:
    """Return the figures and stations of a hull record, as they stand on the ticket."""
    figures: Content = HullRecord.objects.values(*HULL_FIGURES, "assumed").get(pk=hull_id)
    stations = HullStation.objects.filter(hull_id=hull_id).order_by("place")
    return figures | {"stations": list(stations.values(*STATION_FIGURES))}


def as_plain(figure: str, value: Any) -> Any:
    if figure == "float_by" and value is not None:
        return value.isoformat()
    return str(value) if figure in MONEY and value is not None else value


def differences(before: Content, after: Content) -> tuple[Content, Content]:
    """Return what of the content changed, as it was and as it is."""
    names = [name for name in after if before.get(name) != after[name]]
    return {name: before[name] for name in names}, {name: after[name] for name in names}


def put_back(ticket: Ticket, content: Content) -> None:
    """Make the ticket say what the content says, as far as it goes; call inside the transaction of the change."""
    for name in TICKET_FIGURES:
        if name in content:
            setattr(ticket, name, content[name])
    for name, (model, _) in PARTS.items():
        if name in content:
            model.objects.filter(ticket=ticket).delete()
            model.objects.bulk_create(
                model(ticket=ticket, place=place, **row) for place, row in enumerate(content[name])
            )
    if content.get("boat"):
        put_boat_back(ticket.hull_id, content["boat"])
    if content.get("customer") and ticket.customer_id:
        Customer.objects.get(pk=ticket.customer_id).correct(**content["customer"])


def put_boat_back(hull_id: int, boat: Content) -> None:
    hull = HullRecord.objects.get(pk=hull_id)
    for name in (*HULL_FIGURES, "assumed"):
        setattr(hull, name, boat[name])
    hull.save()
    if boat["stations"] != boat_of(hull_id)["stations"]:
        hull.stations.all().delete()
        HullStation.objects.bulk_create(
            HullStation(hull=hull, place=place, **row) for place, row in enumerate(boat["stations"])
        )
