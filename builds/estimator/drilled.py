"""What is drilled where a line's mounting is not the pattern's own: rivets and well nuts take other holes."""

import re

from .accessory import Opening
from .fitted import Fitted

RIVET_HOLE_MM = 4.9
"""The hole of a 4.8 mm blind rivet (from memory; US Army TM 10-5410-221-14, Table 4-3, has 4.85 mm for 3/16 in)."""
WELL_NUT_HOLE_MM = 10.0
"""The hole of an M5 well nut (common practice; the maker's sheet goes first)."""
BOLTS = ("M4", "M5", "M6")


def hole_mm(opening: Opening, mounting: str) -> float | None:
    """Return the diameter that is drilled for a round opening under a mounting [mm]; None where it is not round."""
    bolt = opening.fastener in BOLTS
    if mounting == "rivet" and bolt:
        return RIVET_HOLE_MM
    if mounting == "well_nut" and (bolt or (opening.fastener or "").startswith("rivet")):
        return WELL_NUT_HOLE_MM
    return opening.diameter_mm


def for_mounting(text: str | None, one: Fitted) -> str | None:
    """Return a step's text with the fastener holes of the line's mounting in place of the pattern's own."""
    if not text or one.mounting not in ("rivet", "well_nut"):
        return text
    kept = {opening.diameter_mm for opening in one.openings if not opening.is_fastener}
    for opening in one.openings:
        drilled = hole_mm(opening, one.mounting)
        if drilled != opening.diameter_mm and opening.diameter_mm not in kept and opening.diameter_mm and drilled:
            size = f"{opening.diameter_mm:g}"
            unit = "" if "." in size else r"(?=\s*mm)"
            text = re.sub(rf"(?<![\d.]){re.escape(size)}(?![\d.]){unit}", f"{drilled:g}", text)
    return text


def bit_for(bit: str | None, one: Fitted) -> str | None:
    """Return a step's bit as the mounting has it; none where the type's holes are not made with this mounting."""
    return None if one.kind.openings and not one.openings else for_mounting(bit, one)
