"""True-size drilling templates: the openings of each part at each place, to be laid on the hull."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from builds.drawings.pattern import PORT, STARBOARD, Cut, Pattern
from builds.drawings.template import template

from .boats import item_of
from .facts import PaperFacts
from .figures import counted, inches, letters_in_short, with_unit
from .parts import parts_of
from .places import MIDDLE_MM, by_place

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Sheet:
    """One sheet of paper: the part, the letters on it, where its centre lies, and the drawing at true size."""

    number: int
    name: str
    where: str
    letters: str
    centre_x: str
    centre_y: str
    sheet: str
    drawing: SafeString


def hole_templates_context(facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, Any]:
    """Return the context of the templates: a sheet or more for each place, and the places that are too long for one."""
    parts = parts_of(sheet)
    lines = {line["id"]: line for line in sheet["lines"]}
    sheets: list[Sheet] = []
    by_tape: list[str] = []
    for at, group in enumerate(surfaces_of(estimate)):
        line, part = lines[group[0]["line"]], parts[group[0]["line"]]
        item = item_of(line, sheet, part)
        pattern = pattern_of(group, part.name, (item.x_m * 1000, item.y_m * 1000, item.z_m * 1000))
        drawn = template(pattern, f"template-{at}")
        letters = letters_in_short(opening["letter"] for opening in group)
        if not drawn:
            by_tape.append(f"{letters}: {part.number} {part.name}")
        for number, one in enumerate(drawn, start=1):
            sheets.append(
                Sheet(
                    number=part.number,
                    name=part.name,
                    where=part.where,
                    letters=letters,
                    centre_x=f"{with_unit(item.x_m * 1000, 0, 'mm')} ({inches(item.x_m * 1000)}) from the bow tip",
                    centre_y=across(item.y_m * 1000, item.z_m * 1000, pattern.surface),
                    sheet=f"sheet {number} of {len(drawn)}" if len(drawn) > 1 else "",
                    drawing=mark_safe(one.svg),
                )
            )
    return {
        "facts": facts,
        "sheets": sheets,
        "by_tape": by_tape,
        "left": f"{facts.ticket_number}, hole templates",
        "right": facts.boat,
        "foot": f"True size, 1 to 1. {counted(len(sheets), 'template')} for ticket {facts.ticket_number}.",
    }


def surfaces_of(estimate: Document) -> list[list[Document]]:
    """Return the openings of each place, those on each of its surfaces by themselves."""
    groups: list[list[Document]] = []
    for place in by_place(estimate.get("openings") or ()).values():
        by_surface: dict[str, list[Document]] = {}
        for opening in place:
            by_surface.setdefault(opening.get("surface") or "deck", []).append(opening)
        groups += by_surface.values()
    return groups


def pattern_of(group: list[Document], name: str, centre_mm: tuple[float, float, float]) -> Pattern:
    """Return openings as a pattern about the part's place; on a side it runs up, elsewhere to starboard."""
    surface = group[0].get("surface") or "deck"
    y_mm = sum(opening["y_mm"] for opening in group) / len(group)
    axis, origin = ("z_mm", centre_mm[2]) if surface == "side" else ("y_mm", centre_mm[1])
    return Pattern(
        name=name,
        surface=surface,
        side="" if abs(y_mm) <= MIDDLE_MM else STARBOARD if y_mm > 0 else PORT,
        cuts=tuple(
            Cut(
                shape=opening["shape"],
                dx_mm=opening["x_mm"] - centre_mm[0],
                dy_mm=opening[axis] - origin,
                diameter_mm=opening.get("diameter_mm"),
                width_mm=opening.get("width_mm"),
                height_mm=opening.get("height_mm"),
                corner_mm=opening.get("corner_mm") or 0.0,
                purpose=opening.get("purpose") or "",
                letter=opening["letter"],
                bit=opening.get("bit") or "",
            )
            for opening in group
        ),
    )


def across(y_mm: float, z_mm: float, surface: str) -> str:
    """Return where the centre lies across the boat, or how high on a side."""
    if surface == "side":
        return f"{with_unit(z_mm, 0, 'mm')} ({inches(z_mm)}) above the keel"
    if abs(y_mm) <= MIDDLE_MM:
        return "on the centreline"
    return f"{with_unit(abs(y_mm), 0, 'mm')} ({inches(abs(y_mm))}) to {'starboard' if y_mm > 0 else 'port'}"
