"""Lines of a ticket: added, changed, moved, removed; and the undo of any change."""

from collections.abc import Iterator
from typing import Any

from builds import personal, suiting
from builds.actions.ground import Refused, acting
from builds.content import PARTS, TICKET_FIGURES, Content, put_back
from builds.models import HullStation, Interview, Line, Ticket
from builds.suiting import usual_mounting
from catalog.models import AccessoryType, Bundle, BundleLine
from shop.journal import history
from shop.models import JournalEntry

UNDO, GO_BACK = "undo", "go back"
AGREED = ("accept quote", "sign quote", "begin change", "agree change")
"""Entries that an undo does not go behind: what the customer agreed to."""
CHANGEABLE = (*TICKET_FIGURES, *PARTS, "boat", "customer")


def add_line(actor, ticket: Ticket, accessory: AccessoryType, *, revision: int | None = None, **figures: Any) -> Line:
    """Add a line at the end; figures are those of a Line. A battery is a drive battery only where that is said."""
    with acting(actor, ticket, "change", "add line", revision) as changed:
        return append(changed, accessory, **figures)


def append(ticket: Ticket, accessory: AccessoryType, **figures: Any) -> Line:
    """Put a line at the end of a ticket that is being changed; what is not said is as it usually is on this boat."""
    if suiting.records()[accessory.code].get("battery"):
        keep_feeding(ticket)
    ticket.last_line_key += 1
    figures.setdefault("station", usual_station(ticket, accessory))
    figures.setdefault("mounting", usual_mounting(suiting.records()[accessory.code], ticket))
    figures.setdefault("battery_key", usual_battery(ticket, accessory))
    last = ticket.lines.order_by("-place").values_list("place", flat=True).first()
    return Line.objects.create(
        ticket=ticket,
        key=f"L{ticket.last_line_key}",
        place=0 if last is None else last + 1,
        accessory=accessory,
        **figures,
    )


def add_bundle(actor, ticket: Ticket, bundle: Bundle, *, revision: int | None = None) -> list[Line]:
    """Add the lines of a bundle, which the lines remember."""
    with acting(actor, ticket, "change", "add bundle", revision, said={"bundle": bundle.name}) as changed:
        return [append_of_bundle(changed, bundle, one) for one in bundle.lines.all()]


def append_of_bundle(ticket: Ticket, bundle: Bundle, one: BundleLine) -> Line:
    figures: dict[str, Any] = {"quantity": one.quantity, "bundle": bundle.code}
    if one.drive:
        figures["role"] = Line.Role.DRIVE
    if one.mounting:
        figures["mounting"] = one.mounting
    stations = list(ticket.hull.stations.all())
    if one.place_word and (named := [place.key for place in stations if place.key.startswith(one.place_word)]):
        figures["station"] = named[0]
    elif one.place_word.endswith(SIDES):
        side = one.place_word.rsplit("_", 1)[-1]
        figures["station"] = usual_station(ticket, one.accessory, side)
    return append(ticket, one.accessory, **figures)


def usual_battery(ticket: Ticket, accessory: AccessoryType) -> str:
    """Return the battery that feeds a new part where the ticket has several to choose from: the first of its kind."""
    record = suiting.records()[accessory.code]
    feeders = feeders_of(ticket, record) if is_fed(record) else []
    return feeders[0] if len(feeders) > 1 else ""


def is_fed(record: suiting.Record) -> bool:
    return any(record.get(name) for name in ("load", "distribution", "converter"))


def feeders_of(ticket: Ticket, record: suiting.Record) -> list[str]:
    """Return the batteries that may feed a part: the drive batteries for a motor, else the house batteries."""
    batteries = list(ticket.lines.filter(accessory__battery__isnull=False).order_by("place").values_list("key", "role"))
    drive = [key for key, role in batteries if role == Line.Role.DRIVE]
    house = [key for key, role in batteries if role == Line.Role.HOUSE]
    return ((record.get("load") or {}).get("propulsion") and drive) or house


def keep_feeding(ticket: Ticket) -> None:
    """Name the battery of each part that had but one to be fed by, before another one comes beside it."""
    for line in ticket.lines.filter(battery_key="").select_related("accessory"):
        record = suiting.records()[line.accessory.code]
        feeders = feeders_of(ticket, record) if is_fed(record) else []
        if len(feeders) == 1:
            line.battery_key = feeders[0]
            line.save(update_fields=["battery_key"])


SIDES = ("_port", "_starboard")
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


def usual_station(ticket: Ticket, accessory: AccessoryType, side: str = "") -> str:
    """Return the station where such a part usually goes on this boat, or nothing; the side, if any, comes first.

    The side is the one that is named, else the one that the customer named.
    """
    asked = suiting.asked_of(ticket)
    side = side or (asked.side if asked else "")
    stations = sorted(ticket.hull.stations.all(), key=lambda station: not on_side(station, side))
    if "scupper" in accessory.mountings[:1] or accessory.code == "transducer_moulded_pocket":
        return next((station.key for station in stations if station.surface == "bottom"), "")
    if getattr(accessory, "battery", None):
        return next((station.key for station in stations if station.holds_battery), "")
    for word in USUAL_PLACES.get(accessory.category, ("console", "side_deck", "seat")):
        for station in stations:
            if station.key.startswith(word):
                return station.key
    return ""


def on_side(station: HullStation, side: str) -> bool:
    """Return whether a station is on a side; on none, where no side is named."""
    if side not in (Interview.Side.PORT, Interview.Side.STARBOARD):
        return False
    return station.y_m < 0 if side == Interview.Side.PORT else station.y_m > 0


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
        swap(line, accessory)
        return line


def swap(line: Line, accessory: AccessoryType) -> None:
    line.accessory = accessory
    line.unit_price = line.unit_cost = None
    if line.mounting not in accessory.mountings:
        line.mounting = ""
    line.save()


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
    """Put the ticket back to before its latest change that is not undone yet. An undo is undone from the history."""
    said: dict[str, Any] = {}
    with acting(actor, ticket, "change", UNDO, revision, said=said) as changed:
        entry = last_undoable(changed)
        if entry is None:
            raise Refused("There is nothing to undo.")
        said["undoes"] = [entry.number]
        put_back(changed, content_before([entry]))
    return changed


def go_back(actor, ticket: Ticket, number: int, *, revision: int | None = None) -> Ticket:
    """Put the ticket back to before the change with that number in the journal, and so before all that followed."""
    said: dict[str, Any] = {}
    with acting(actor, ticket, "change", GO_BACK, revision, said=said) as changed:
        undone = [entry for entry in changes_since_agreed(changed) if entry.number >= number]
        if not undone or undone[-1].number != number:
            raise Refused("That change cannot be undone any more.")
        said["undoes"] = [entry.number for entry in undone]
        put_back(changed, content_before(undone))
    return changed


def content_before(entries: list[JournalEntry]) -> Content:
    """Return what to put back so that the entries, the latest first, are undone.

    Where the boat or the customer was changed for another, the figures of the other one are nobody's to put back.
    """
    content: Content = {}
    for entry in entries:
        content |= {name: value for name, value in entry.before.items() if name in CHANGEABLE}
        for figures, which in (("boat", "hull_id"), ("customer", "customer_id")):
            if which in entry.before:
                content.pop(figures, None)
    return personal.shown(content)


def last_undoable(ticket: Ticket) -> JournalEntry | None:
    """Return the latest change of the ticket that is not undone and is no undo itself, or None."""
    undone: set[int] = set()
    for entry in changes_since_agreed(ticket):
        if entry.number in undone:
            continue
        if entry.action not in (UNDO, GO_BACK):
            return entry
        undone.update(entry.after["undoes"])
    return None


def changes_since_agreed(ticket: Ticket) -> Iterator[JournalEntry]:
    """Yield the journal's entries that changed what the ticket says, the latest first, back to what was agreed."""
    for entry in history(ticket).order_by("-number").iterator(chunk_size=50):
        if entry.action in AGREED:
            return
        if any(name in CHANGEABLE for name in entry.before):
            yield entry
