"""What is drilled where a line's mounting is not the pattern's own: rivets and well nuts take other holes."""

import re

from .bits import hole_mm
from .fitted import Fitted


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
