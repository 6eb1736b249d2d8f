"""What the parts of a build sheet say of one another: every id that is named exists, and nothing runs in a circle.

The checks read the document as it was written, not the sheet that comes of it: so a fault in one field never hides
a name that nothing bears in another. What cannot be read here is reported where its field is read.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from .accessory import MOUNTINGS
from .specs import shown

Fault = tuple[str, str]
NAMED_AT_MOST = 12
# Stands for a name that is no text: its field is reported elsewhere, and nothing is said of what it names.
UNREADABLE = object()


def part(record: Any, name: str) -> Any:
    """Return a part of a record, written (an object) or already read (an accessory type); None where it has none."""
    return record.get(name) if isinstance(record, Mapping) else getattr(record, name, None)


def named(record: Any, name: str, default: str | None = None) -> Any:
    value = part(record, name)
    if value is None:
        return default
    return value if isinstance(value, str) else UNREADABLE


def items(record: Any, name: str) -> list[tuple[int, Any]]:
    """Return the records of a list with their places; nothing where it is no list."""
    value = part(record, name)
    if not isinstance(value, list | tuple):
        return []
    return [(i, item) for i, item in enumerate(value) if isinstance(item, Mapping)]


def table(record: Any, name: str) -> Mapping[str, Any] | None:
    """Return an object of names; empty where it is absent, None where it is no object."""
    value = part(record, name)
    if value is None:
        return {}
    return value if isinstance(value, Mapping) else None


@dataclass(frozen=True)
class Said:
    """What one line says of other parts; `kind` is its accessory type's record, or None where that is not known."""

    path: str
    id: Any
    record: Mapping[str, Any]
    kind: Any

    def has(self, name: str) -> bool:
        return part(self.kind, name) is not None

    @property
    def battery(self) -> Any:
        return named(self.record, "battery")

    @property
    def switch(self) -> Any:
        return named(self.record, "switch")

    @property
    def role(self) -> Any:
        return named(self.record, "role", "house")

    @property
    def propels(self) -> bool:
        return part(part(self.kind, "load"), "propulsion") is True


def link_faults(document: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield each fault of what a document's parts say of one another: (path, what is wrong and what is accepted)."""
    accessories, operations = table(document, "accessories"), table(document, "shop_operations")
    yield from misnamed(accessories, "accessories")
    yield from misnamed(operations, "shop_operations")
    yield from station_faults(document)
    lines = []
    for i, record in items(document, "lines"):
        accessory = named(record, "accessory")
        kind = accessories.get(accessory) if accessories and isinstance(accessory, str) else None
        lines.append(Said(f"lines[{i}]", named(record, "id"), record, kind))
        if isinstance(accessory, str) and accessories is not None and accessory not in accessories:
            yield f"lines[{i}].accessory", dangling(accessory, accessories, "accessory type")
        yield from mounting_fault(lines[-1])
    for i, record in items(document, "operations"):
        operation = named(record, "operation")
        if isinstance(operation, str) and operations is not None and operation not in operations:
            yield f"operations[{i}].operation", dangling(operation, operations, "shop operation")
    yield from feed_faults(lines)
    yield from switch_faults(lines)
    yield from plan_faults(document, lines)


def dangling(name: object, known: Mapping[str, object], what: str) -> str:
    """Return the sentence for an id that nothing bears."""
    listed = ", ".join(islice(known, NAMED_AT_MOST))
    more = f" and {len(known) - NAMED_AT_MOST} more" if len(known) > NAMED_AT_MOST else ""
    return f"is {shown(name)}, which is no {what} here; accepted: {listed + more or 'none, there is no ' + what}"


def misnamed(records: Mapping[str, Any] | None, path: str) -> Iterator[Fault]:
    for key, record in (records or {}).items():
        name = named(record, "id")
        if isinstance(name, str) and name != key:
            yield f"{path}.{key}.id", f"is {shown(name)}; accepted: the name it stands under, {shown(key)}"


def station_faults(document: Mapping[str, Any]) -> Iterator[Fault]:
    hull = part(document, "hull")
    if not isinstance(hull, Mapping) or not isinstance(hull.get("stations", []), list | tuple):
        return
    stations = {record["id"]: record for _, record in items(hull, "stations") if isinstance(record.get("id"), str)}
    for of in ("people", "gear", "lines"):
        for i, record in items(document, of):
            station = named(record, "station")
            if isinstance(station, str) and station not in stations:
                yield f"{of}[{i}].station", dangling(station, stations, "station")


def mounting_fault(line: Said) -> Iterator[Fault]:
    mounting, accepted = named(line.record, "mounting"), part(line.kind, "mountings")
    if mounting in MOUNTINGS and isinstance(accepted, list | tuple) and mounting not in accepted:
        options = ", ".join(str(option) for option in accepted)
        yield f"{line.path}.mounting", f"is {shown(mounting)}; accepted for this type: {options}"


def by_id(lines: Sequence[Said], name: str) -> dict[str, Said]:
    """Return the lines whose type is, for instance, a battery, by their id."""
    return {line.id: line for line in lines if isinstance(line.id, str) and line.has(name)}


def of_unknown_kind(lines: Sequence[Said]) -> set[Any]:
    return {line.id for line in lines if line.kind is None}


def feed_faults(lines: Sequence[Said]) -> Iterator[Fault]:
    """Yield faults of what feeds what: the battery that a line names, or the default battery where it names none."""
    batteries, unknown = by_id(lines, "battery"), of_unknown_kind(lines)
    by_role = {role: [line for line in batteries.values() if line.role == role] for role in ("house", "drive")}
    seen: dict[tuple[str, object], str] = {}
    for line in lines:
        feeder: str | None = None
        if isinstance(line.battery, str):
            if line.battery in batteries:
                feeder = line.battery
            elif line.battery not in unknown:
                yield f"{line.path}.battery", dangling(line.battery, batteries, "battery line")
            if line.has("battery"):
                yield f"{line.path}.battery", f"is {shown(line.battery)}; accepted on a battery's own line: null"
        elif line.battery is None and any(line.has(name) for name in ("load", "distribution", "converter")):
            feeders = (line.propels and by_role["drive"]) or by_role["house"]
            if len(feeders) > 1:
                several = ", ".join(battery.id for battery in islice(feeders, NAMED_AT_MOST))
                yield f"{line.path}.battery", f"is not given and there are several; accepted: {several}"
            elif feeders:
                feeder = feeders[0].id
        if feeder is not None:
            yield from doubled(line, feeder, seen)


def doubled(line: Said, battery: str, seen: dict[tuple[str, object], str]) -> Iterator[Fault]:
    """Yield a fault for a second distribution on a battery, or a second converter to one voltage."""
    out_v = part(part(line.kind, "converter"), "out_v")
    units = part(line.record, "quantity") or 1
    found: list[tuple[object, str]] = [("distribution", "distribution")] if line.has("distribution") else []
    if isinstance(out_v, int | float):
        found.append((out_v, f"converter to {shown(out_v)} V"))
    for key, what in found:
        first = seen.setdefault((battery, key), line.id)
        if first is not line.id:
            yield f"{line.path}.battery", f"has a second {what} on {battery}; accepted: one a battery ({shown(first)})"
        elif isinstance(units, int | float) and units > 1:
            yield f"{line.path}.quantity", f"is {shown(units)}; accepted: 1, one {what} a battery"


def switch_faults(lines: Sequence[Said]) -> Iterator[Fault]:
    """Yield a fault for a switch that is none, and for each line of a circle of switches."""
    switches, unknown = by_id(lines, "switch"), of_unknown_kind(lines)
    above = {line.id: line.switch for line in lines if isinstance(line.id, str)}
    circles: dict[str, list[str]] = {}
    walked: set[str] = set()
    for start in above:
        way: dict[str, int] = {}
        at: Any = start
        while isinstance(at, str) and at in above and at not in walked and at not in way:
            way[at] = len(way)
            at = above[at]
        if at in way:
            circle = list(way)[way[at] :]
            circles.update(dict.fromkeys(circle, circle))
        walked.update(way)
    for line in lines:
        if isinstance(line.switch, str) and line.switch not in switches and line.switch not in unknown:
            yield f"{line.path}.switch", dangling(line.switch, switches, "switch or panel line")
        if line.id in circles:
            way_round = " -> ".join([*islice(circles[line.id], NAMED_AT_MOST), circles[line.id][0]])
            yield f"{line.path}.switch", f"runs in a circle: {way_round}; accepted: a panel further up"


def plan_faults(document: Mapping[str, Any], lines: Sequence[Said]) -> Iterator[Fault]:
    loads, unknown = by_id(lines, "load"), of_unknown_kind(lines)
    for i, spell in items(document, "day_plan"):
        for name in table(spell, "on") or {}:
            if name not in loads and name not in unknown:
                yield f"day_plan[{i}].on.{name}", dangling(name, loads, "line that draws current")
