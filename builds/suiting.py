"""What suits this boat and what the customer said: why a type comes last, and which mounting and place come first."""

from collections.abc import Mapping
from typing import Any

from builds.models import HullRecord, Interview, Ticket
from catalog import shelf
from catalog.vocabulary import Craft

Record = Mapping[str, Any]
DRILLING = ("through_bolt", "rivet", "well_nut", "flush_cutout")


def records() -> dict[str, Record]:
    """Return the accessory records by their id, kept in the process."""
    return shelf.records()["accessories"]


def makes_openings(record: Record, mounting: str) -> bool:
    """Return whether a type makes an opening in the boat with a mounting."""
    if mounting in DRILLING:
        return True
    return any(mounting in (opening.get("mountings") or [mounting]) for opening in record.get("openings") or ())


def without_openings(record: Record, hull: HullRecord) -> list[str]:
    """Return the mountings of a type that make no opening and that this boat takes."""
    return [
        mounting
        for mounting in record["mountings"]
        if not makes_openings(record, mounting) and boat_takes(hull, mounting)
    ]


def boat_takes(hull: HullRecord, mounting: str) -> bool:
    if mounting == "brass_insert":
        return any(tag.startswith("brass_inserts") for tag in hull.provides)
    return mounting != "scupper" or "scupper_recess" in hull.provides


def reasons_against(record: Record, hull: HullRecord, asked: Interview | None) -> list[str]:
    """Return why a type does not suit this boat or this customer, in words; empty where it does."""
    found = []
    if hull.craft not in record["craft"]:
        found.append(f"not made for a {Craft(hull.craft).label.lower()}")
    if lacking := lacking_on_boat(record, hull):
        found.append(f"needs {lacking}")
    if not any(boat_takes(hull, mounting) for mounting in record["mountings"]):
        found.append("this boat has nothing that it is fixed to")
    if asked and asked.holes == Interview.Holes.NONE and not without_openings(record, hull):
        found.append("needs a hole, and none is wanted")
    if asked and asked.motor == Interview.Motor.NO and (record.get("load") or {}).get("propulsion"):
        found.append("no motor is wanted")
    return found


def lacking_on_boat(record: Record, hull: HullRecord) -> str:
    """Return what the type needs and only the boat itself could have, or nothing."""
    provided = {tag for other in records().values() for tag in other.get("provides") or ()} | set(hull.provides)
    for group in record.get("requires") or ():
        tags = [name.removeprefix("tag:") for name in group["any_of"] if name.startswith("tag:")]
        if group["strength"] == "must" and len(tags) == len(group["any_of"]) and not provided & set(tags):
            return group["why"]
    return ""


def asked_of(ticket: Ticket) -> Interview | None:
    return getattr(ticket, "asked_of", None)


def usual_mounting(record: Record, ticket: Ticket) -> str:
    """Return the mounting that a new line starts with where it is not the type's first: one without a hole."""
    asked = asked_of(ticket)
    if asked is None or asked.holes != Interview.Holes.NONE or not makes_openings(record, record["mountings"][0]):
        return ""
    return next(iter(without_openings(record, ticket.hull)), "")
