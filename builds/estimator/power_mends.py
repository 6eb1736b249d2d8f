"""What would mend a caution of the power section, as data: each is an act that the counter can apply to the sheet."""

from collections.abc import Callable, Sequence
from itertools import islice
from typing import Any

from .accessory import AccessoryType
from .circuits import BatterySystem, Circuit
from .energy import batteries_like, carries_with_margin, taken_from, usable_depth
from .fitted import Fitted
from .fuses import ratings_a
from .sheet import BuildSheet

Mend = dict[str, Any]
SLACK = 1e-9
OFFERED = 3
Within = Callable[[float, float], bool]


def replace(one: Fitted, kind: AccessoryType) -> Mend:
    """Return the act of fitting another type in a line's place; a battery that had aged is then a new one."""
    act: Mend = {"do": "replace", "line": one.id, "accessory": kind.id}
    return {**act, "health": 1.0} if one.line.health < 1 else act


def direct(line: str) -> Mend:
    """Return the act of fusing a line at the battery instead of at the distribution."""
    return {"do": "direct", "line": line}


def split_circuit(line: str) -> Mend:
    """Return the act of giving a line a circuit of its own."""
    return {"do": "split_circuit", "line": line}


def feed_from(line: str, battery: str) -> Mend:
    """Return the act of feeding a line from another battery."""
    return {"do": "feed_from", "line": line, "battery": battery}


def splits(circuit: Circuit, first: str | None = None) -> tuple[Mend, ...]:
    """Return the ways to take one line out of a circuit of several, the line named first at the front."""
    if len(circuit.legs) < 2:
        return ()
    lines = sorted((leg.line for leg in circuit.legs), key=lambda line: line != first)
    return tuple(split_circuit(line) for line in lines)


def batteries_for_current(sheet: BuildSheet, one: Fitted, system: BatterySystem) -> tuple[Mend, ...]:
    """Return the smallest battery whose limit covers the currents, first one that also carries the plan."""
    enough = [kind for kind in alike(sheet, one) if covers_current(kind, one.quantity, system)]
    best = [kind for kind in enough if covers_plan(sheet, kind, one.quantity, system, carries_with_margin)]
    return tuple(replace(one, kind) for kind in (best or enough)[:1])


def batteries_for_plan(sheet: BuildSheet, one: Fitted, system: BatterySystem, *wanted: Within) -> tuple[Mend, ...]:
    """Return, for each test wanted (`carries`, `carries_with_margin`), the smallest battery that passes it.

    Only batteries whose limit covers the currents: a larger store that cannot give the current is no mend. Where none
    covers them, that has a caution of its own, and any battery is held against the plan alone.
    """
    every = alike(sheet, one)
    enough = [kind for kind in every if covers_current(kind, one.quantity, system)] or every
    found: list[AccessoryType] = []
    for within in wanted:
        first = next((kind for kind in enough if covers_plan(sheet, kind, one.quantity, system, within)), None)
        if first is not None and first not in found:
            found.append(first)
    return tuple(replace(one, kind) for kind in found)


def alike(sheet: BuildSheet, one: Fitted) -> list[AccessoryType]:
    assert one.kind.battery
    return batteries_like(sheet, one.kind.battery)


def covers_current(kind: AccessoryType, quantity: int, system: BatterySystem) -> bool:
    """Return whether a battery's continuous limit covers the sum of peaks and the main fuse."""
    assert kind.battery
    limit_a = quantity * kind.battery.max_continuous_a * (1 + SLACK)
    needed_a = system.main_fuse_needed_a or 0.0
    return system.peak_current_a <= limit_a and needed_a <= min(limit_a, ratings_a()[-1])


def covers_plan(sheet: BuildSheet, kind: AccessoryType, quantity: int, system: BatterySystem, within: Within) -> bool:
    assert kind.battery
    taken = taken_from(sheet, kind.battery, quantity, system.spell_current_a)
    return within(taken, usable_depth(kind.battery, sheet.shop))


def larger_part(
    sheet: BuildSheet, one: Fitted, size_of: Callable[[AccessoryType], float | None], at_least: float
) -> tuple[Mend, ...]:
    """Return the replacement of a line by the smallest type whose size is enough, if the sheet has one.

    `size_of` gives a type's size (ways, amperes), None where it is no such type.
    """
    sized = ((size_of(kind), kind) for kind in sheet.accessories.values())
    enough = [(size, kind.id, kind) for size, kind in sized if size is not None and size >= at_least * (1 - SLACK)]
    enough.sort(key=lambda item: item[:2])
    return tuple(replace(one, kind) for _, _, kind in enough[:1])


def other_batteries(batteries: Sequence[Fitted], one: Fitted, but: str, role: str | None = None) -> tuple[Mend, ...]:
    """Return the ways to feed a load from another battery of its voltage on the ticket, at most `OFFERED`."""
    assert one.kind.load
    found = (
        feed_from(one.id, other.id)
        for other in batteries
        if other.kind.battery
        and other.id != but
        and other.kind.battery.system_v == one.kind.load.voltage_v
        and (role is None or other.line.role == role)
    )
    return tuple(islice(found, OFFERED))
