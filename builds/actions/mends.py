"""A mend, pressed: the act that a caution computed, done to the ticket."""

from typing import Any

from builds.actions.ground import Refused, acting
from builds.actions.lines import append, line_of, swap
from builds.models import Ticket
from catalog.models import AccessoryType


def apply_mend(actor, ticket: Ticket, mend: dict[str, Any], *, revision: int | None = None) -> Ticket:
    """Do one mend. Raises Refused for one that the ticket no longer knows."""
    with acting(actor, ticket, "change", "mend", revision) as changed:
        do = ACTS.get(mend.get("do", ""))
        if do is None:
            raise Refused("This mend is not known. Look at the ticket again.")
        do(changed, mend)
    return changed


def add(ticket: Ticket, mend: dict[str, Any]) -> None:
    for code in (*mend.get("brings", []), mend["accessory"]):
        figures = {"station": mend["station"]} if mend.get("station") else {}
        append(ticket, type_of(code), **figures)


def replace(ticket: Ticket, mend: dict[str, Any]) -> None:
    line = line_of(ticket, mend["line"])
    line.health = mend.get("health", line.health)
    swap(line, type_of(mend["accessory"]))


def remount(ticket: Ticket, mend: dict[str, Any]) -> None:
    line = line_of(ticket, mend["line"])
    if mend["mounting"] not in line.accessory.mountings:
        raise Refused("That part does not take this fixing.")
    line.mounting = mend["mounting"]
    line.save()


def move(ticket: Ticket, mend: dict[str, Any]) -> None:
    line = line_of(ticket, mend["line"])
    if mend.get("station"):
        if not ticket.hull.stations.filter(key=mend["station"]).exists():
            raise Refused("That place is no longer on the boat.")
        line.station = mend["station"]
    for axis, offset_m in zip("xyz", mend.get("offset_m", []), strict=False):
        setattr(line, f"offset_{axis}_m", offset_m)
    line.save()


def remove(ticket: Ticket, mend: dict[str, Any]) -> None:
    line_of(ticket, mend["line"]).delete()


def direct(ticket: Ticket, mend: dict[str, Any]) -> None:
    ticket.lines.filter(key=line_of(ticket, mend["line"]).key).update(direct=True)


def feed_from(ticket: Ticket, mend: dict[str, Any]) -> None:
    ticket.lines.filter(key=line_of(ticket, mend["line"]).key).update(battery_key=mend["battery"])


def split_circuit(ticket: Ticket, mend: dict[str, Any]) -> None:
    ticket.lines.filter(key=line_of(ticket, mend["line"]).key).update(circuit="")


def type_of(code: str) -> AccessoryType:
    kind = AccessoryType.objects.offered().filter(code=code).first()
    if kind is None:
        raise Refused("That part is no longer in the catalogue.")
    return kind


ACTS = {
    "add": add,
    "replace": replace,
    "remount": remount,
    "move": move,
    "remove": remove,
    "direct": direct,
    "feed_from": feed_from,
    "split_circuit": split_circuit,
}
