"""What a new version of the work order has that the one before had not: steps, holes, pieces, by what they are."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

Document = Mapping[str, Any]


def names_of(order: Iterable[Document]) -> list[str]:
    """Return a name for each step that a later work order gives to the same step: line, phase, text, which of them."""
    seen: Counter[str] = Counter()
    names = []
    for step in order:
        text = hashlib.sha256(step["text"].encode()).hexdigest()[:10]
        base = f"{step['line']}/{step['phase']}/{text}"
        seen[base] += 1
        names.append(f"{base}/{seen[base]}")
    return names


class Since:
    """What is new against an earlier estimate document; against none nothing is."""

    def __init__(self, before: Document | None):
        self.known = before is not None
        earlier = before or {}
        self.steps = set(names_of(order_of(earlier)))
        self.holes = {hole_key(hole) for hole in earlier.get("openings") or ()}
        self.pieces = {piece_key(piece) for piece in earlier.get("cut_list") or ()}

    def new_steps(self, estimate: Document) -> set[int]:
        """Return the numbers of the steps that are new."""
        order = order_of(estimate)
        named = zip(order, names_of(order), strict=True)
        return {step["n"] for step, name in named if self.known and name not in self.steps}

    def new_letters(self, estimate: Document) -> set[str]:
        """Return the letters of the openings that are new or lie elsewhere; a letter that moved on marks nothing."""
        openings = estimate.get("openings") or ()
        return {hole["letter"] for hole in openings if self.known and hole_key(hole) not in self.holes}

    def new_pieces(self, estimate: Document) -> list[bool]:
        """Return for each piece of the cut list whether it is new or has another length or gauge."""
        return [self.known and piece_key(piece) not in self.pieces for piece in estimate.get("cut_list") or ()]


def order_of(estimate: Document) -> list[Document]:
    return list(estimate.get("labour", {}).get("order") or ())


def hole_key(hole: Document) -> tuple[Any, ...]:
    at = (round(hole["x_mm"]), round(hole["y_mm"]))
    return hole["line"], hole.get("surface"), *at, hole.get("bit"), hole.get("diameter_mm"), hole.get("width_mm")


def piece_key(piece: Document) -> tuple[Any, ...]:
    length_cm = round(piece["length_m"] * 100)
    return piece.get("from_line"), piece.get("to_line"), piece["awg"], piece["colour"], length_cm
