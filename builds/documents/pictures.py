"""The drawings of a paper as SVG: the QR code to the bench page, the plans of the boat, the wiring."""

from collections.abc import Mapping
from typing import Any

import segno
from django.utils.safestring import SafeString, mark_safe

from builds.drawings.plan import HOLES, QUOTE, plan
from builds.drawings.wiring import wiring_pages

from .boats import boat_of
from .diagrams import wirings_of
from .facts import PaperFacts
from .parts import parts_of

Document = Mapping[str, Any]
QUIET_MODULES = 4
"""ISO/IEC 18004 asks for four modules of white round the code."""
PLAN_UNITS = 580.0
"""The width of a plan: on 182 mm its lettering of 12 units is 10.7 pt, its thinnest line of 0.7 units 0.6 pt."""
TALLEST_UNITS = 690.0
"""The height of a sheet of wiring: 217 mm, which fits under a heading on US Letter."""


def pictures_of(name: str, facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, Any]:
    """Return the drawings of a document by their name; one that there is nothing for is left out."""
    pictures = {"qr": qr_of(facts.bench_url)} if name == "work_order" else {}
    parts = parts_of(sheet)
    boat = boat_of(sheet, estimate, parts)
    if boat.items and name == "quote":
        pictures["plan"] = plan_of(boat, QUOTE)
    if boat.holes:
        pictures["openings"] = plan_of(boat, HOLES)
    if name == "work_order":
        pictures["wirings"] = [
            mark_safe(drawn.svg)
            for place, system in enumerate(wirings_of(sheet, estimate, parts))
            for drawn in wiring_pages(system, f"wiring-{place}", PLAN_UNITS, TALLEST_UNITS)
        ]
    return pictures


def plan_of(boat, kind: str) -> SafeString:
    # Every text in a drawing is escaped where it is written.
    return mark_safe(plan(boat, f"plan-{kind}", kind, PLAN_UNITS).svg)


def qr_of(url: str) -> SafeString:
    """Return a QR code of an address as one SVG path, at error correction M, or nothing without an address."""
    if not url:
        return SafeString("")
    code = segno.make(url, error="m", micro=False)
    # segno writes numbers and its own constants only; the address itself is not in the text.
    return mark_safe(code.svg_inline(border=QUIET_MODULES, omitsize=True, svgclass=None, lineclass=None))
