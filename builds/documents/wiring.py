"""Circuits, fuses and the cable cut list as a tech reads them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from .figures import at_least, bound, trimmed, with_unit
from .parts import Part

Document = Mapping[str, Any]
CUT_STEP_M = 0.01
NONE = "none"


@dataclass(frozen=True)
class Leg:
    """One conductor pair: what it feeds, its gauge, current, drop against its limit."""

    number: int | None
    name: str
    gauge: str
    current: str
    drop: str
    limit: str


@dataclass(frozen=True)
class Circuit:
    """One fuse and what it protects."""

    name: str
    fuse: str
    colour: str
    legs: tuple[Leg, ...]


@dataclass(frozen=True)
class System:
    """One battery with its main fuse and circuits."""

    number: int | None
    name: str
    role: str
    main_fuse: str
    circuits: tuple[Circuit, ...]


@dataclass(frozen=True)
class Piece:
    """One piece of conductor to cut, with the part at each end."""

    label: str
    gauge: str
    colour: str
    length: str
    start: "End"
    end: "End"


@dataclass(frozen=True)
class End:
    """The part at one end of a piece of conductor."""

    number: int | None
    name: str


def systems_of(estimate: Document, parts: Mapping[str, Part]) -> list[System]:
    """Return the batteries of an estimate document that feed something."""
    return [
        System(
            number=number_of(system["battery"], parts),
            name=name_of(system["battery"], parts),
            role=f"{system['role']} battery",
            main_fuse=main_fuse_of(system),
            circuits=tuple(circuits_of(system, parts)),
        )
        for system in estimate.get("power") or ()
        if system.get("circuits")
    ]


def main_fuse_of(system: Document) -> str:
    return trimmed(system["main_fuse_a"], 1, "A") if system.get("main_fuse_a") else NONE


def circuits_of(system: Document, parts: Mapping[str, Part]) -> Iterator[Circuit]:
    """Yield the feed, where there is one, then the circuits."""
    volts = system["system_v"]
    feed = system.get("feed")
    if feed:
        leg = leg_of(feed | {"line": feed.get("distribution", "")}, volts, parts)
        yield Circuit("feed", main_fuse_of(system), "main fuse", (leg,))
    for circuit in system["circuits"]:
        fuse = circuit.get("fuse_a")
        yield Circuit(
            name=circuit_name(circuit["circuit"], parts),
            fuse=trimmed(fuse, 1, "A") if fuse else NONE,
            colour=circuit.get("fuse_colour") or "",
            legs=tuple(leg_of(leg, circuit.get("volts_v") or volts, parts) for leg in circuit["legs"]),
        )


def circuit_name(circuit: str, parts: Mapping[str, Part]) -> str:
    """Return a circuit's name; one that is named after its line is its part's."""
    return parts[circuit].name if circuit in parts else bound(circuit.replace("_", " "))


def leg_of(leg: Document, volts: float, parts: Mapping[str, Part]) -> Leg:
    limit, drop, current = leg.get("limit_fraction"), leg.get("drop_v"), leg.get("current_a")
    return Leg(
        number=number_of(leg["line"], parts),
        name=name_of(leg["line"], parts) or "distribution",
        gauge=with_gauge(leg.get("awg")),
        current=trimmed(current, 1, "A") if current is not None else "",
        drop=with_unit(drop, 2, "V") if drop is not None else "not known",
        limit=with_unit(limit * volts, 2, "V") if limit else "",
    )


def with_gauge(awg: str | None) -> str:
    return f"{awg}\u202fAWG" if awg else "none fits"


def number_of(line: str, parts: Mapping[str, Part]) -> int | None:
    return parts[line].number if line in parts else None


def name_of(line: str, parts: Mapping[str, Part]) -> str:
    return parts[line].name if line in parts else bound(line.replace("_", " "))


def pieces_of(estimate: Document, parts: Mapping[str, Part]) -> list[Piece]:
    """Return the cable cut list of an estimate document; a length is rounded up to the centimetre."""
    return [
        Piece(
            label=piece["label"].replace("-", "\u2212"),
            gauge=with_gauge(piece["awg"]),
            colour=piece["colour"],
            length=with_unit(at_least(piece["length_m"], CUT_STEP_M), 2, "m"),
            start=end_of(piece.get("from_line"), piece["from"], parts),
            end=end_of(piece.get("to_line"), piece["to"], parts),
        )
        for piece in estimate.get("cut_list") or ()
    ]


def end_of(line: str | None, name: str, parts: Mapping[str, Part]) -> End:
    """Return an end by its line; where the estimate names none, by what it is called."""
    part = parts.get(line or "")
    return End(part.number, part.name) if part else End(None, bound(name))
