"""What a ticket says, as one plain value: kept before and after each change, and put back by an undo."""

from typing import Any

from builds.models import Aboard, Fee, Line, Spell, Ticket, TicketOperation

TICKET_FIGURES = ("title", "asked", "customer_id", "hull_id", "water", "air_temp_c", "discount_basis_points")
PARTS: dict[str, tuple[type, tuple[str, ...]]] = {
    "aboard": (Aboard, ("is_person", "name", "mass_kg", "station")),
    "lines": (
        Line,
        (
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
        ),
    ),
    "operations": (TicketOperation, ("operation_id", "quantity")),
    "spells": (Spell, ("name", "hours", "on")),
    "fees": (Fee, ("name", "amount")),
}
MONEY = ("unit_price", "unit_cost", "amount")


def content_of(ticket: Ticket) -> dict[str, Any]:
    """Return everything on the ticket that can be changed, read afresh from the database."""
    content: dict[str, Any] = {name: getattr(ticket, name) for name in TICKET_FIGURES}
    for name, (model, figures) in PARTS.items():
        content[name] = [
            {figure: as_plain(figure, value) for figure, value in row.items()}
            for row in model.objects.filter(ticket=ticket).order_by("place", "id").values(*figures)
        ]
    return content


def as_plain(figure: str, value: Any) -> Any:
    return str(value) if figure in MONEY and value is not None else value


def put_back(ticket: Ticket, content: dict[str, Any]) -> None:
    """Make the ticket say what the content says; call inside the transaction of the change."""
    for name in TICKET_FIGURES:
        setattr(ticket, name, content[name])
    for name, (model, _) in PARTS.items():
        model.objects.filter(ticket=ticket).delete()
        model.objects.bulk_create(model(ticket=ticket, place=place, **row) for place, row in enumerate(content[name]))
