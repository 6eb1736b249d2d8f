"""Bits and saws as a tech picks them: millimetres first, the other name of the same drill under it."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from shop.units import THIN

from .figures import in_fraction, letters_in_short, trimmed
from .places import Opening

INCH_MM = 25.4
SAW_FROM_MM = 13.0
SAME_DRILL_MM = 0.05
SAME_HOLE_MM = 0.051
_PARTS = re.compile(r"\s*(?:[,;]|\band\b)\s*(?:then\s+)?")
_SIZE = re.compile(r"(\d+(?:\.\d+)?)(?:\s*mm)?")


@dataclass(frozen=True)
class Value:
    """A value to act on: a word before it, the figure, and a smaller row under it."""

    word: str
    figure: str
    under: str = ""


def bits_of(text: str | None, openings: Iterable[Opening]) -> Iterator[Value]:
    """Yield the bits and saws of a step, a row each, with the letters of the line's openings that it makes.

    A drill that makes none of the line's openings is not printed: the mounting changed it, and the schedule has it.
    A starter or a saw has its words with it and stays.
    """
    openings = list(openings)
    off_schedule = False
    for words, size_mm in tools_in(text or ""):
        made = [opening for opening in openings if size_mm is not None and is_made_by(size_mm, opening)]
        if size_mm is None:
            yield Value("", words)
        elif made or words or not openings:
            other = (named_in(made) or in_inches(size_mm)).removesuffix(words).strip()
            letters = letters_in_short(opening["letter"] for opening in made)
            yield Value(words or "bit", trimmed(size_mm, 1, "mm"), "; ".join(filter(None, (other, letters))))
        else:
            off_schedule = True
    if off_schedule:
        held = [opening for opening in openings if opening.get("fastener")] or openings
        yield Value("bit", "by schedule", letters_in_short(opening["letter"] for opening in held))


def tools_in(text: str) -> Iterator[tuple[str, float | None]]:
    """Yield words and size [mm] of each tool: "25 mm hole saw, then 5.2 mm" is a hole saw of 25 and a drill of 5.2."""
    for part in _PARTS.split(text):
        size = _SIZE.search(part)
        words = " ".join(_SIZE.sub(" ", part).split())
        if size or words:
            yield words, float(size[1]) if size else None


def is_made_by(size_mm: float, opening: Opening) -> bool:
    return abs((opening.get("diameter_mm") or 0.0) - size_mm) < SAME_HOLE_MM


def named_in(made: list[Opening]) -> str:
    """Return the other name that the schedule gives the drill, after its millimetres."""
    return str(made[0].get("bit") or "").partition(", ")[2] if made else ""


def in_inches(size_mm: float) -> str:
    """Return the name in inches: a saw by the nearest sixteenth, a drill by a 64th only where it is that drill."""
    if size_mm >= SAW_FROM_MM:
        return f"{in_fraction(size_mm / INCH_MM, 16)}{THIN}in"
    sixty_fourths = round(size_mm / INCH_MM * 64)
    if abs(sixty_fourths * INCH_MM / 64 - size_mm) > SAME_DRILL_MM:
        return ""
    return f"{in_fraction(size_mm / INCH_MM, 64)}{THIN}in"
