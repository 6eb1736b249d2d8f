"""Mends: acts that would clear a caution, done to the sheet and tried by estimating the section again.

A mend is data: `do` names the act, the other keys what it is done to. A mend that would not clear its caution is not
offered.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from . import asked_cautions, duties, flotation_cautions, opening_cautions, power_cautions, requirements, weights
from .cautions import STOP, Caution
from .fitted import fit_lines
from .flotation import float_hull
from .power import size_systems
from .runs import route_loads
from .sheet import Aboard, BuildSheet, Line

Mend = Mapping[str, Any]
Mark = tuple[Any, ...]
Section = Callable[[BuildSheet], Iterable[Caution]]
MOST_TRIED = 8
TOLD_BY_SENTENCE = ("missing_part", "conflict", "holes_unwanted")
LINES_TRIED = 3_000
"""The most work spent on trying mends: tries times lines. Beyond it none is offered; no real ticket gets there."""


class Undoable(Exception):
    """A mend that cannot be done to this sheet."""


def offered(sheet: BuildSheet, cautions: Iterable[Caution]) -> list[Caution]:
    """Return the cautions, each with those of its mends that clear it, in their order; at most eight are tried."""
    left = LINES_TRIED // max(1, len(sheet.lines))
    cautions, found = list(cautions), []
    stops = {mark_of(caution) for caution in cautions if caution.severity == STOP}
    for caution in cautions:
        tried = caution.mends[: min(MOST_TRIED, left)]
        left -= len(tried)
        mends = tuple(mend for mend in tried if clears(sheet, caution, mend, stops))
        found.append(replace(caution, mends=mends) if caution.mends else caution)
    return found


def clears(sheet: BuildSheet, caution: Caution, mend: Mend, stops: Collection[Mark] = ()) -> bool:
    """Return whether a mend, done to the sheet, takes its caution away and brings its section no stop but `stops`."""
    section = SECTION_OF.get(caution.code)
    if section is None:
        return False
    try:
        mended = apply(sheet, mend)
    except Undoable:
        return False
    found = {mark_of(other): other.severity for other in section(mended)}
    return mark_of(caution) not in found and all(mark in stops for mark, how in found.items() if how == STOP)


def mark_of(caution: Caution) -> Mark:
    """Return what makes two cautions the same: code and line, and for some the whole sentence.

    For missing parts and conflicts it says what is missing or at odds. For unwanted holes it says how many there are:
    a mend of one line that makes fewer is worth its offer though others stay.
    """
    return caution.code, caution.line, caution.sentence if caution.code in TOLD_BY_SENTENCE else None


def weight_section(sheet: BuildSheet) -> Iterable[Caution]:
    return weights.cautions_of(sheet, weights.weigh(sheet, fit_lines(sheet)))


def flotation_section(sheet: BuildSheet) -> Iterable[Caution]:
    fitted = fit_lines(sheet)
    weighed = weights.weigh(sheet, fitted)
    return flotation_cautions.cautions_of(sheet, fitted, weighed, float_hull(sheet, weighed, trial=True))


def opening_section(sheet: BuildSheet) -> Iterable[Caution]:
    fitted = fit_lines(sheet)
    floating = float_hull(sheet, weights.weigh(sheet, fitted), trial=True)
    return opening_cautions.cautions_of(sheet, fitted, floating, mended=0)


def power_section(sheet: BuildSheet) -> Iterable[Caution]:
    fitted = fit_lines(sheet)
    routes = route_loads(sheet, fitted)
    return power_cautions.cautions_of(sheet, fitted, routes, size_systems(sheet, fitted, routes))


def requirement_section(sheet: BuildSheet) -> Iterable[Caution]:
    fitted = fit_lines(sheet)
    return requirements.cautions_of(sheet, fitted, requirements.missing_parts(sheet, fitted, offers=False))


def duty_section(sheet: BuildSheet) -> Iterable[Caution]:
    return duties.cautions_of(sheet, fit_lines(sheet))


def asked_section(sheet: BuildSheet) -> Iterable[Caution]:
    fitted = fit_lines(sheet)
    return asked_cautions.cautions_of(sheet, fitted, weights.weigh(sheet, fitted))


SECTION_OF: dict[str, Section] = {
    **dict.fromkeys(("capacity_exceeded", "capacity_high"), weight_section),
    **dict.fromkeys(("opening_below_water", "opening_low", "openings_overlap", "opening_near_edge"), opening_section),
    **dict.fromkeys(("does_not_fit", "deck_awash", "deck_low", "heel_large", "gunwale_awash"), flotation_section),
    **dict.fromkeys(
        (
            "voltage_mismatch",
            "drive_battery_shared",
            "battery_overloaded",
            "energy_short",
            "energy_marginal",
            "fuse_over_device",
            "main_fuse_impossible",
            "ways_exceeded",
            "converter_overloaded",
            "no_conductor",
            "no_fuse",
            "circuit_split",
        ),
        power_section,
    ),
    **dict.fromkeys(("missing_part", "conflict"), requirement_section),
    **dict.fromkeys(("no_hand_reach", "craft_mismatch", "mounting_unavailable", "pattern_unknown"), duty_section),
    **dict.fromkeys(("dark_without_light", "holes_unwanted"), asked_section),
}


def apply(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    """Return the sheet after one mend, as the counter would apply it. Raises Undoable where it cannot be done."""
    act = ACTS.get(mend["do"])
    if act is None:
        raise Undoable(mend["do"])
    return act(sheet, mend)


def change_line(sheet: BuildSheet, key: str, **changes: Any) -> BuildSheet:
    if key not in sheet.line_by_id:
        raise Undoable(key)
    return replace(sheet, lines=tuple(replace(line, **changes) if line.id == key else line for line in sheet.lines))


def known_type(sheet: BuildSheet, code: str) -> str:
    if code not in sheet.accessories:
        raise Undoable(code)
    return code


def add(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    codes = [*mend.get("brings", ()), mend["accessory"]]
    lines = list(sheet.lines)
    for code in codes:
        station = mend.get("station") if mend.get("station") in sheet.hull.station_by_id else None
        figures: dict[str, Any] = {"battery": mend.get("battery")} if code == mend["accessory"] else {}
        lines.append(Line(id=new_id(lines), accessory=known_type(sheet, code), station=station, **figures))
    return replace(sheet, lines=tuple(lines))


def new_id(lines: list[Line]) -> str:
    taken = {line.id for line in lines}
    return next(key for n in range(len(lines) + 1) if (key := f"mend{n}") not in taken)


def replace_type(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    line = sheet.line_by_id.get(mend["line"])
    if line is None:
        raise Undoable(mend["line"])
    kind = sheet.accessories[known_type(sheet, mend["accessory"])]
    return change_line(
        sheet,
        line.id,
        accessory=kind.id,
        mounting=line.mounting if line.mounting in kind.mountings else None,
        health=mend.get("health", line.health),
        unit_price=None,
        unit_cost=None,
    )


def remount(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    return change_line(sheet, mend["line"], mounting=mend["mounting"])


def move(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    changes: dict[str, Any] = {}
    if mend.get("station") is not None:
        changes["station"] = mend["station"]
    if mend.get("offset_m") is not None:
        changes["offset_m"] = tuple(mend["offset_m"])
    return change_line(sheet, mend["line"], **changes)


def remove(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    """Take a line off; what it fed or switched is fed and switched by no named line any more."""
    gone = mend["line"]
    if gone not in sheet.line_by_id:
        raise Undoable(gone)
    lines = tuple(
        replace(
            line,
            battery=None if line.battery == gone else line.battery,
            switch=None if line.switch == gone else line.switch,
        )
        for line in sheet.lines
        if line.id != gone
    )
    plan = tuple(replace(spell, on={k: v for k, v in spell.on.items() if k != gone}) for spell in sheet.day_plan)
    return replace(sheet, lines=lines, day_plan=plan)


def remove_mass(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    """Take kilograms out of the gear, the first item first, and what is left over off the people."""
    left = mend["mass_kg"]

    def lighter(aboard: tuple[Aboard, ...]) -> tuple[Aboard, ...]:
        nonlocal left
        found = []
        for item in aboard:
            taken = min(left, item.mass_kg)
            left -= taken
            found.append(replace(item, mass_kg=item.mass_kg - taken))
        return tuple(found)

    return replace(sheet, gear=lighter(sheet.gear), people=lighter(sheet.people))


def fuse_at_battery(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    return change_line(sheet, mend["line"], direct=True)


def split_circuit(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    return change_line(sheet, mend["line"], circuit=None)


def feed_from(sheet: BuildSheet, mend: Mend) -> BuildSheet:
    return change_line(sheet, mend["line"], battery=mend["battery"])


ACTS: dict[str, Callable[[BuildSheet, Mend], BuildSheet]] = {
    "add": add,
    "replace": replace_type,
    "remount": remount,
    "move": move,
    "remove": remove,
    "remove_mass": remove_mass,
    "direct": fuse_at_battery,
    "split_circuit": split_circuit,
    "feed_from": feed_from,
}
