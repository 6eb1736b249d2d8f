"""What the parts of a build sheet say of one another: every id that is named exists, and nothing runs in a circle."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from .specs import shown

if TYPE_CHECKING:
    from .sheet import BuildSheet, Line

Fault = tuple[str, str]
NAMED_AT_MOST = 12


def link_faults(sheet: "BuildSheet") -> Iterator[Fault]:
    """Yield each fault of a sheet whose fields are all well formed: (path, what is wrong and what is accepted)."""
    yield from misnamed(sheet.accessories, "accessories")
    yield from misnamed(sheet.shop_operations, "shop_operations")
    yield from aboard_faults(sheet)
    known = True
    for i, line in enumerate(sheet.lines):
        for at, message in line_faults(sheet, line):
            known = known and at != "accessory"
            yield f"lines[{i}].{at}", message
    for i, op in enumerate(sheet.operations):
        if op.operation not in sheet.shop_operations:
            yield f"operations[{i}].operation", dangling(op.operation, sheet.shop_operations, "shop operation")
    if known:
        yield from feed_faults(sheet)
        yield from switch_loops(sheet)
        yield from plan_faults(sheet)


def dangling(name: object, known: Mapping[str, object], what: str) -> str:
    """Return the sentence for an id that nothing bears."""
    names = list(known)
    listed = ", ".join(names[:NAMED_AT_MOST]) + (
        f" and {len(names) - NAMED_AT_MOST} more" if len(names) > NAMED_AT_MOST else ""
    )
    return f"is {shown(name)}, which is no {what} here; accepted: {listed or 'none, there is no ' + what}"


def misnamed(records: Mapping[str, object], path: str) -> Iterator[Fault]:
    for key, record in records.items():
        if getattr(record, "id", key) != key:
            yield f"{path}.{key}.id", f"is {shown(record.id)}; accepted: the name it stands under, {shown(key)}"


def aboard_faults(sheet: "BuildSheet") -> Iterator[Fault]:
    stations = sheet.hull.station_by_id
    for path, aboard in (("people", sheet.people), ("gear", sheet.gear)):
        for i, item in enumerate(aboard):
            if item.station is not None and item.station not in stations:
                yield f"{path}[{i}].station", dangling(item.station, stations, "station")


def line_faults(sheet: "BuildSheet", line: "Line") -> Iterator[Fault]:
    stations = sheet.hull.station_by_id
    if line.station is not None and line.station not in stations:
        yield "station", dangling(line.station, stations, "station")
    kind = sheet.accessories.get(line.accessory)
    if kind is None:
        yield "accessory", dangling(line.accessory, sheet.accessories, "accessory type")
    elif line.mounting is not None and line.mounting not in kind.mountings:
        yield "mounting", f"is {shown(line.mounting)}; accepted for {kind.id}: {', '.join(kind.mountings)}"


def feed_faults(sheet: "BuildSheet") -> Iterator[Fault]:
    """Yield faults of what feeds what: batteries and switches named, and the default battery where none is named."""
    batteries = {line.id: line for line in sheet.lines if sheet.type_of(line).battery}
    switches = {line.id: line for line in sheet.lines if sheet.type_of(line).switch}
    for i, line in enumerate(sheet.lines):
        at = f"lines[{i}]"
        kind = sheet.type_of(line)
        if line.battery is not None and line.battery not in batteries:
            yield f"{at}.battery", dangling(line.battery, batteries, "battery line")
        elif line.battery is not None and kind.battery:
            yield f"{at}.battery", f"is {shown(line.battery)}; accepted on a battery's own line: null"
        elif line.battery is None and (kind.load or kind.distribution or kind.converter):
            several = candidates(sheet, line)
            if len(several) > 1:
                yield (
                    f"{at}.battery",
                    f"is not given and there are several; accepted: {', '.join(b.id for b in several)}",
                )
        if line.switch is not None and line.switch not in switches:
            yield f"{at}.switch", dangling(line.switch, switches, "switch or panel line")
    yield from doubled(sheet)


def candidates(sheet: "BuildSheet", line: "Line") -> list["Line"]:
    """Return the battery lines that feed a line which names none: one, or none, or several (a fault).

    A propulsion load takes the only drive battery, else the only house battery; all else the only house battery.
    """
    load = sheet.type_of(line).load
    if load and load.propulsion and sheet.batteries_by_role["drive"]:
        return sheet.batteries_by_role["drive"]
    return sheet.batteries_by_role["house"]


def battery_of(sheet: "BuildSheet", line: "Line") -> "Line | None":
    """Return the battery line that feeds a line, or None where the ticket has none for it."""
    if line.battery is not None:
        return sheet.line_by_id[line.battery]
    found = candidates(sheet, line)
    return found[0] if len(found) == 1 else None


def doubled(sheet: "BuildSheet") -> Iterator[Fault]:
    """Yield a fault for a second distribution on a battery, or a second converter to one voltage."""
    seen: dict[tuple[str, object], str] = {}
    for i, line in enumerate(sheet.lines):
        kind = sheet.type_of(line)
        battery = battery_of(sheet, line) if kind.distribution or kind.converter else None
        if battery is None:
            continue
        if kind.distribution:
            first = seen.setdefault((battery.id, "distribution"), line.id)
            if first != line.id or line.quantity > 1:
                yield (
                    f"lines[{i}].battery",
                    f"has a second distribution on {battery.id}; accepted: one a battery ({first})",
                )
        if kind.converter:
            first = seen.setdefault((battery.id, kind.converter.out_v), line.id)
            if first != line.id or line.quantity > 1:
                yield (
                    f"lines[{i}].battery",
                    f"has a second converter to {kind.converter.out_v:g} V on {battery.id}; accepted: one ({first})",
                )


def switch_loops(sheet: "BuildSheet") -> Iterator[Fault]:
    lines = sheet.line_by_id
    for i, line in enumerate(sheet.lines):
        seen, at = [line.id], line.switch
        while at is not None and at in lines and at not in seen:
            seen.append(at)
            at = lines[at].switch
        if at == line.id:
            yield (
                f"lines[{i}].switch",
                f"runs in a circle: {' -> '.join([*seen, line.id])}; accepted: a panel further up",
            )


def plan_faults(sheet: "BuildSheet") -> Iterator[Fault]:
    loads = {line.id: line for line in sheet.lines if sheet.type_of(line).load}
    for i, spell in enumerate(sheet.day_plan):
        for name in spell.on:
            if name not in loads:
                yield f"day_plan[{i}].on.{name}", dangling(name, loads, "line that draws current")
