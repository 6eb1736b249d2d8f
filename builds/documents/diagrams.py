"""The wiring of a battery and its day as the drawings take them, from the sheet and the estimate."""

from collections.abc import Mapping
from typing import Any

from builds.drawings.circuits import Circuit, Feed, Leg, Source, Wiring
from builds.drawings.circuits import Part as Drawn
from builds.drawings.day import Day, Spell
from shop.units import METRIC

from .parts import Part

Document = Mapping[str, Any]
ONE_SPELL_H = 8.0


def wirings_of(sheet: Document, estimate: Document, parts: Mapping[str, Part], units: str = METRIC) -> list[Wiring]:
    """Return the wiring of each battery that feeds something."""
    return [
        wiring_of(sheet, estimate, system, parts, units) for system in estimate.get("power") or () if system["circuits"]
    ]


def wiring_of(sheet: Document, estimate: Document, system: Document, parts: Mapping[str, Part], units: str) -> Wiring:
    pieces = [piece for piece in estimate.get("cut_list") or () if piece["battery"] == system["battery"]]
    feed = system["feed"]
    origins = dict.fromkeys(leg["origin"] for circuit in system["circuits"] for leg in circuit["legs"])
    kinds = {line["id"]: sheet["accessories"][line["accessory"]] for line in sheet["lines"]}
    converters = [one for one in kinds if kinds[one].get("converter") and one in origins]
    distribution = feed["distribution"] if feed else None
    return Wiring(
        battery=part_of(system["battery"], parts),
        role=system["role"],
        system_v=system["system_v"],
        rated_ah=system["rated_ah"],
        main_fuse_a=system["main_fuse_a"],
        feed=feed_of(sheet, feed, pieces, parts) if feed else None,
        distribution=Source(part=part_of(distribution, parts), ways=kinds[distribution]["distribution"]["ways"])
        if distribution
        else None,
        converters=tuple(
            Source(part=part_of(one, parts), out_v=kinds[one]["converter"]["out_v"]) for one in converters
        ),
        circuits=tuple(circuit_of(circuit, pieces, parts) for circuit in system["circuits"]),
        units=units,
    )


def part_of(line: str, parts: Mapping[str, Part]) -> Drawn:
    part = parts[line]
    return Drawn(line=line, label=str(part.number), name=part.name, place=part.where)


def labels_of(pieces: list[Document], line: str, colour: str, feed: bool, number: int) -> tuple[str, ...]:
    """Return the sleeve labels of the pieces that serve a line; what is not cut now bears the line's number alone."""
    cut = tuple(
        piece["label"]
        for piece in pieces
        if piece["serves"] == line and piece["colour"] == colour and (piece["circuit"] is None) == feed
    )
    return cut or (f"{'F' if feed else ''}{number}{'+' if colour == 'red' else '-'}",)


def feed_of(sheet: Document, feed: Document, pieces: list[Document], parts: Mapping[str, Part]) -> Feed:
    line, number = feed["distribution"], parts[feed["distribution"]].number
    return Feed(
        run_m=feed["run_m"],
        awg=feed["awg"],
        drop_fraction=feed["drop_fraction"],
        limit_fraction=sheet["shop"].get("feed_drop", 0.01),
        positive=labels_of(pieces, line, "red", True, number),
        negative=labels_of(pieces, line, "black", True, number)[0],
        switch=part_of(feed["switch"], parts) if feed.get("switch") else None,
    )


def circuit_of(circuit: Document, pieces: list[Document], parts: Mapping[str, Part]) -> Circuit:
    return Circuit(
        name=circuit_name(circuit, parts),
        origin=circuit["legs"][0]["origin"],
        current_a=circuit["design_current_a"],
        fuse_a=circuit["fuse_a"],
        fuse_colour=circuit["fuse_colour"],
        legs=tuple(leg_of(leg, pieces, parts) for leg in circuit["legs"]),
    )


def circuit_name(circuit: Document, parts: Mapping[str, Part]) -> str:
    """Return a circuit's name; one that is named after its only line bears that part's name."""
    part = parts.get(circuit["circuit"])
    return part.name if part else circuit["circuit"]


def leg_of(leg: Document, pieces: list[Document], parts: Mapping[str, Part]) -> Leg:
    number = parts[leg["line"]].number
    return Leg(
        part=part_of(leg["line"], parts),
        current_a=leg["current_a"],
        awg=leg["awg"],
        run_m=leg["run_m"],
        drop_fraction=leg["drop_fraction"],
        limit_fraction=leg["limit_fraction"],
        positive=labels_of(pieces, leg["line"], "red", False, number),
        negative=labels_of(pieces, leg["line"], "black", False, number)[0],
        switch=part_of(leg["switch"], parts) if leg.get("switch") else None,
    )


def days_of(sheet: Document, estimate: Document, parts: Mapping[str, Part]) -> list[Day]:
    """Return the day of each battery that feeds something."""
    plan = sheet.get("day_plan") or [{"name": "day", "hours": ONE_SPELL_H}]
    kinds = {line["id"]: sheet["accessories"][line["accessory"]] for line in sheet["lines"]}
    usable = sheet["shop"].get("usable_depth") or {}
    return [
        Day(
            name=parts[system["battery"]].name,
            spells=tuple(
                Spell(spell["name"], spell["hours"], charge)
                for spell, charge in zip(plan, system["charge_after"], strict=True)
            ),
            keep_back=1.0 - usable.get(kinds[system["battery"]]["battery"]["chemistry"], 0.8),
            mean_current_a=system["mean_current_a"],
            hours_to_empty=system["hours_to_empty"],
        )
        for system in estimate.get("power") or ()
        if system["circuits"]
    ]
