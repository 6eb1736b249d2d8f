"""What is taken from the store before the work begins: parts by bin, then consumables."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from .figures import at_least, bound, trimmed
from .parts import Part

STEPS = {"ml": (1.0, 0), "m": (0.1, 1), "g": (1.0, 0), "each": (1.0, 0)}


@dataclass(frozen=True)
class Picked:
    """One row of the pick list; `note` says who brings the part, where it is not the shop's."""

    quantity: int
    number: int
    name: str
    note: str


@dataclass(frozen=True)
class Bin:
    name: str
    rows: tuple[Picked, ...]


@dataclass(frozen=True)
class Used:
    """One consumable: how much of it to lay out."""

    quantity: str
    name: str


def bins_of(parts: Mapping[str, Part], bins: Mapping[str, str]) -> list[Bin]:
    """Return the parts to pick, bin by bin in the order of the shelf; what is on the boat already is not picked."""
    by_bin: dict[str, list[Picked]] = {}
    for part in parts.values():
        if part.is_new:
            own = "the customer's own: look it over, note its condition" if part.supplied_by == "customer" else ""
            row = Picked(part.quantity, part.number, part.name, own)
            by_bin.setdefault("" if own else bins.get(part.accessory, ""), []).append(row)
    return [Bin(name, tuple(by_bin[name])) for name in sorted(by_bin, key=shelf_order)]


def shelf_order(name: str) -> tuple[bool, list[tuple[int, int | str]]]:
    """Sort bins as a person walks past them: A2 before A10, what has no bin last."""
    chunks = re.findall(r"\d+|\D+", name.lower())
    return not name, [(0, int(chunk)) if chunk.isdecimal() else (1, chunk) for chunk in chunks]


def consumables_of(estimate: Mapping[str, Any]) -> Iterator[Used]:
    """Yield the consumables of an estimate document, each quantity rounded up to what can be laid out."""
    for line in estimate.get("consumables") or ():
        unit = line.get("unit") or "each"
        step, digits = STEPS.get(unit, (0.1, 1))
        quantity = trimmed(at_least(line["quantity"], step), digits, "" if unit == "each" else unit)
        yield Used(quantity.strip(), bound(line.get("name") or line["item"].replace("_", " ")))
