"""The drawings of a paper as SVG text: the QR code to the bench page, and the plans of the boat."""

from collections.abc import Mapping
from typing import Any

import segno
from django.utils.safestring import SafeString, mark_safe

from .facts import PaperFacts

Document = Mapping[str, Any]
QUIET_MODULES = 4
"""ISO/IEC 18004 asks for four modules of white round the code."""


def pictures_of(name: str, facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, SafeString]:
    """Return the drawings of a document by their name; one that cannot be drawn is empty."""
    return {"qr": qr_of(facts.bench_url)} if name == "work_order" else {}


def qr_of(url: str) -> SafeString:
    """Return a QR code of an address as one SVG path, at error correction M, or nothing without an address."""
    if not url:
        return SafeString("")
    code = segno.make(url, error="m", micro=False)
    # segno writes numbers and its own constants only; the address itself is not in the text.
    return mark_safe(code.svg_inline(border=QUIET_MODULES, omitsize=True, svgclass=None, lineclass=None))
