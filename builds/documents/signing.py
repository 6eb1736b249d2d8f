"""The page that is signed: what was accepted, which places carry initials, the signature, and the hash of the quote."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from .facts import PaperFacts
from .figures import bound, counted, for_left_edge, for_right_edge, in_rows, moment
from .parts import parts_of
from .places import openings_of

Document = Mapping[str, Any]
Stroke = tuple[tuple[int, int], ...]
ON_PAPER = "on paper"
PAD_WIDTH, PAD_HEIGHT, PEN = 1000, 300, 8
"""The pad that is drawn on, and the pen: on 84 mm of paper 8 of 1000 units are 1.9 pt."""
HASH_GROUP = 8


@dataclass(frozen=True)
class Signing:
    """The customer's yes to one quote. `drawing` holds strokes of points within 1000 by 300; none: the name was typed.

    `places` are (letters, what, where); `initialled` are the letters of those that carry the customer's `initials`.
    """

    quote_number: str
    name: str
    way: str
    at: datetime.datetime
    quote_sha256: str
    total: str
    sent_to: str = ""
    recorded_by: str = ""
    initials: str = ""
    initialled: tuple[str, ...] = ()
    agreed_electronically: bool = False
    drawing: tuple[Stroke, ...] = ()
    note: str = ""
    statement_version: str = ""
    override_reason: str = ""
    places: tuple[tuple[str, str, str], ...] = ()

    @property
    def how(self) -> str:
        """How the signature below was made."""
        if self.way == ON_PAPER:
            return "signed on paper, which the shop keeps"
        return "drawn by hand" if any(self.drawing) else "typed as the signature"


def signature_context(facts: PaperFacts, sheet: Document, estimate: Document, signing: Signing) -> dict[str, Any]:
    """Return what the signed page shows; its last place stays with the signature."""
    places = [(letters, bound(what), bound(where)) for letters, what, where in signing.places]
    rows = [(*place, initials_at(place[0], signing)) for place in places]
    return {
        "facts": facts,
        "signing": signing,
        "under": f"ticket {facts.ticket_number}",
        "left": for_left_edge(f"{signing.quote_number}  {facts.title}"),
        "right": for_right_edge(facts.boat_in_short),
        "foot": f"Signed page of quote {signing.quote_number}, ticket {facts.ticket_number}.",
        "when": moment(signing.at),
        "cells": in_rows([cell for cell in cells_of(signing) if cell[1]]),
        "rows": rows,
        "openings": opening_words(sheet, estimate, len(rows)),
        "hash": [signing.quote_sha256[at : at + HASH_GROUP] for at in range(0, len(signing.quote_sha256), HASH_GROUP)],
        "drawing": drawn(signing.drawing),
    }


def initials_at(letters: str, signing: Signing) -> str:
    """Return the initials at a place; where they were given without letters, that they were given."""
    if letters not in signing.initialled:
        return "none"
    return signing.initials or "given"


def cells_of(signing: Signing) -> Iterator[tuple[str, str]]:
    yield "In which way", signing.way.capitalize()
    yield "Agreed", "to sign electronically" if signing.agreed_electronically else ""
    yield "Link sent to", signing.sent_to
    yield "For the shop", signing.recorded_by
    yield "Statement signed", f"text version {signing.statement_version}" if signing.statement_version else ""


def opening_words(sheet: Document, estimate: Document, places: int) -> str:
    """Return how many openings were accepted, or what is known of them where no place is listed."""
    openings = openings_of(estimate, parts_of(sheet))
    if openings.count and len(openings.places) == places:
        return openings.count_words
    if places:
        return f"Openings, at {counted(places, 'place')}"
    return "No opening is made in the boat" if openings.known else "Each opening is shown before it is made"


def drawn(strokes: tuple[Stroke, ...]) -> SafeString:
    """Return a drawn signature as one path, or nothing where none was drawn."""
    path = " ".join("M" + " L".join(f"{x:.0f} {y:.0f}" for x, y in dotted(stroke)) for stroke in strokes if stroke)
    if not path:
        return SafeString("")
    # The points are numbers, or the format above raises; no text of a customer's is in it.
    return mark_safe(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {PAD_WIDTH} {PAD_HEIGHT}" role="img">'
        f'<title>Signature</title><path d="{path}" fill="none" stroke="#000" stroke-width="{PEN}" '
        'stroke-linecap="round" stroke-linejoin="round"/></svg>'
    )


def dotted(stroke: Stroke) -> Stroke:
    """Return a stroke that leaves a mark: a point alone becomes a short line."""
    x, y = stroke[0]
    return stroke if len(stroke) > 1 else (stroke[0], (x + 1, y))
