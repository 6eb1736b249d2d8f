"""Lines of a ticket: added, changed, moved, removed; and the undo of any change."""

from typing import Any

from builds.actions.ground import Refused, acting
from builds.content import put_back
from builds.models import Line, Ticket
from catalog.models import AccessoryType
from shop.journal import history

UNDO = "undo"


def add_line(actor, ticket: Ticket, accessory: AccessoryType, *, revision: int | None = None, **figures: Any) -> Line:
    """Add a line at the end; figures are those of a Line. A battery is a drive battery only where that is said."""
    with acting(actor, ticket, "change", "add line", revision) as changed:
        return append(changed, accessory, **figures)


def append(ticket: Ticket, accessory: AccessoryType, **figures: Any) -> Line:
    """Put a line at the end of a ticket that is being changed."""
    ticket.last_line_key += 1
    figures.setdefault("station", usual_station(ticket, accessory))
    last = ticket.lines.order_by("-place").values_list("place", flat=True).first()
    return Line.objects.create(
        ticket=ticket,
        key=f"L{ticket.last_line_key}",
        place=0 if last is None else last + 1,
        accessory=accessory,
        **figures,
    )


# Where a category usually goes, the first station of the boat that bears one of these words (common practice).
USUAL_PLACES = {
    "display_and_sonar": ("console", "foredeck"),
    "power": ("centre_hatch", "tank_hatch", "bow_hatch", "day_hatch", "stern_hatch", "tank_well"),
    "rod_and_fishing": ("rear_deck", "side_deck"),
    "tracks_and_bases": ("side_deck", "console"),
    "lights": ("stern_plate", "stern", "bow"),
    "anchoring": ("gunwale", "side_deck", "stern"),
    "pumps_and_drains": ("tank_hatch", "centre_hatch", "bow_hatch"),
    "propulsion_and_steering": ("stern_plate", "bow_plate", "stern"),
}


def usual_station(ticket: Ticket, accessory: AccessoryType) -> str:
    """Return the station where such a part usually goes on this boat, or nothing."""
    stations = list(ticket.hull.stations.all())
    if "scupper" in accessory.mountings[:1] or accessory.code == "transducer_moulded_pocket":
        return next((station.key for station in stations if station.surface == "bottom"), "")
    if getattr(accessory, "battery", None):
        return next((station.key for station in stations if station.holds_battery), "")
    for word in USUAL_PLACES.get(accessory.category, ("console", "side_deck", "seat")):
        for station in stations:
            if station.key.startswith(word):
                return station.key
    return ""


def change_line(actor, ticket: Ticket, key: str, *, revision: int | None = None, **figures: Any) -> Line:
    """Change figures of one line."""
    with acting(actor, ticket, "change", "change line", revision) as changed:
        line = line_of(changed, key)
        for name, value in figures.items():
            setattr(line, name, value)
        line.save()
        return line


def replace_accessory(
    actor, ticket: Ticket, key: str, accessory: AccessoryType, *, revision: int | None = None
) -> Line:
    """Put another accessory type on a line, at the same place; a mounting that it lacks falls back to its first."""
    with acting(actor, ticket, "change", "replace part", revision) as changed:
        line = line_of(changed, key)
        line.accessory = accessory
        line.unit_price = line.unit_cost = None
        if line.mounting not in accessory.mountings:
            line.mounting = ""
        line.save()
        return line


def remove_line(actor, ticket: Ticket, key: str, *, revision: int | None = None) -> Ticket:
    """Take a line off; what it fed or switched is fed and switched by no named line any more."""
    with acting(actor, ticket, "change", "remove line", revision) as changed:
        line_of(changed, key).delete()
        changed.lines.filter(battery_key=key).update(battery_key="")
        changed.lines.filter(switch_key=key).update(switch_key="")
        for spell in changed.spells.all():
            if spell.on.pop(key, None) is not None:
                spell.save()
    return changed


def line_of(ticket: Ticket, key: str) -> Line:
    line = ticket.lines.select_related("accessory").filter(key=key).first()
    if line is None:
        raise Refused("That line is no longer on the ticket.")
    return line


def undo(actor, ticket: Ticket, *, revision: int | None = None) -> Ticket:
    """Put the ticket back to before its latest change that is not undone yet. An undo can be undone by doing again."""
    with acting(actor, ticket, "change", UNDO, revision) as changed:
        entry = last_undoable(changed)
        if entry is None:
            raise Refused("There is nothing to undo.")
        content = dict(entry.before)
        content.pop("state", None)
        put_back(changed, content)
    return changed


def last_undoable(ticket: Ticket):
    """Return the latest journal entry of the ticket that changed it and is not undone, or None."""
    skip = 0
    for entry in history(ticket).order_by("-number").iterator(chunk_size=50):
        if entry.action == UNDO:
            skip += 1
        elif "lines" not in entry.before:
            return None
        elif {**entry.before, "state": ""} == {**entry.after, "state": ""}:
            continue
        elif skip:
            skip -= 1
        else:
            return entry
    return None
