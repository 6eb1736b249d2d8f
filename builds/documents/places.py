"""Openings by place: one part at one place is what the customer initials, each place listing its letters."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from shop.units import THIN

from .figures import counted, inches, letters_in_short, number, trimmed, with_unit
from .parts import Part

Opening = Mapping[str, Any]
MIDDLE_MM = 0.5


@dataclass(frozen=True)
class Place:
    """One place: the letters of its openings, the part's number and name, where on the boat, sizes, how many, and how
    high the lowest is above the water."""

    letters: str
    number: int | None
    name: str
    where: str
    sizes: str
    count: int
    above_water: str = ""


@dataclass(frozen=True)
class Hole:
    """One row of the hole schedule, metric above and inches below."""

    letter: str
    number: int | None
    purpose: str
    x: str
    x_in: str
    y: str
    y_in: str
    bit: str
    bit_in: str
    seal: str
    above_water: str


@dataclass(frozen=True)
class Openings:
    """All openings of a ticket. `known` is false where the estimate says nothing about openings."""

    known: bool
    places: tuple[Place, ...] = ()
    holes: tuple[Hole, ...] = ()

    @property
    def count(self) -> int:
        return len(self.holes)

    @property
    def count_words(self) -> str:
        return f"{counted(self.count, 'opening')}, at {counted(len(self.places), 'place')}"


def openings_of(estimate: Mapping[str, Any], parts: Mapping[str, Part]) -> Openings:
    """Return the openings of an estimate document, by place and one by one."""
    if "openings" not in estimate:
        return Openings(known=False)
    openings = estimate["openings"] or ()
    return Openings(True, places_of(openings, parts), tuple(hole_of(opening, parts) for opening in openings))


def by_place(openings: Iterable[Opening]) -> dict[str, list[Opening]]:
    """Return openings grouped by their place; where the estimate names none, a line is one place."""
    groups: dict[str, list[Opening]] = {}
    for opening in openings:
        groups.setdefault(str(opening.get("place") or opening["line"]), []).append(opening)
    return groups


def places_of(openings: Iterable[Opening], parts: Mapping[str, Part]) -> tuple[Place, ...]:
    groups = by_place(openings)
    at_line = Counter(group[0]["line"] for group in groups.values())
    return tuple(place_of(group, parts, at_line[group[0]["line"]] > 1) for group in groups.values())


def place_of(group: list[Opening], parts: Mapping[str, Part], has_others: bool) -> Place:
    """Return one place; the side of the boat is named where the line has other places too."""
    part = parts.get(group[0]["line"])
    where = part.where if part else ""
    side = side_of(sum(opening["y_mm"] for opening in group) / len(group)) if has_others else ""
    return Place(
        letters=letters_in_short(opening["letter"] for opening in group),
        number=part.number if part else None,
        name=part.name if part else group[0]["line"],
        where=where if side in where.lower() else ", ".join(filter(None, (where, side))),
        sizes=sizes_of(group),
        count=len(group),
        above_water=lowest_of(group),
    )


def lowest_of(group: list[Opening]) -> str:
    heights = [h for opening in group if (h := opening.get("height_above_water_mm")) is not None]
    return with_unit(min(heights), 0, "mm") if heights else "not known"


def side_of(y_mm: float) -> str:
    if abs(y_mm) <= MIDDLE_MM:
        return "centreline"
    return "starboard" if y_mm > 0 else "port"


def size_of(opening: Opening) -> str:
    """Return the size of an opening as a customer reads it: "5.2 mm", "60 × 95 mm"."""
    if opening.get("width_mm") and opening.get("height_mm"):
        return f"{number(opening['width_mm'], 0)}{THIN}×{THIN}{number(opening['height_mm'], 0)}{THIN}mm"
    if opening.get("diameter_mm"):
        return trimmed(opening["diameter_mm"], 1, "mm")
    return str(opening.get("shape") or "by the part in hand")


def sizes_of(group: Iterable[Opening]) -> str:
    """Return the sizes at a place, each with its count, the most numerous first."""
    sizes = Counter(size_of(opening) for opening in group)
    return ", ".join(f"{count}{THIN}×{THIN}{size}" for size, count in sizes.most_common())


def hole_of(opening: Opening, parts: Mapping[str, Part]) -> Hole:
    part = parts.get(opening["line"])
    bit, _, bit_in = str(opening.get("bit") or size_of(opening)).partition(", ")
    if opening.get("shape", "round") != "round":
        bit, bit_in = size_of(opening), str(opening.get("bit") or "")
    y_mm, height = opening["y_mm"], opening.get("height_above_water_mm")
    across = "" if abs(y_mm) <= MIDDLE_MM else f" {'S' if y_mm > 0 else 'P'}"
    return Hole(
        letter=opening["letter"],
        number=part.number if part else None,
        purpose=str(opening.get("purpose") or opening.get("fastener") or (part.name if part else "")),
        x=with_unit(opening["x_mm"], 0, "mm"),
        x_in=inches(opening["x_mm"]),
        y=f"{with_unit(abs(y_mm), 0, 'mm')}{across}" if across else "centre",
        y_in=inches(abs(y_mm)) if across else "",
        bit=bit,
        bit_in=bit_in,
        seal=str(opening.get("seal") or "none"),
        above_water=with_unit(height, 0, "mm") if height is not None else "not known",
    )
