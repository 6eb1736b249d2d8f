"""Labels for the ends of the cables: one a piece and end, folded round the conductor, the same on both sides."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .facts import PaperFacts
from .figures import for_left_edge, for_right_edge, moment
from .parts import parts_of
from .wiring import End, pieces_of

Document = Mapping[str, Any]


@dataclass(frozen=True)
class EndLabel:
    """What stands on one end: the label of the piece, its gauge and colour, where this end goes and where the other."""

    label: str
    conductor: str
    here: End
    there: End


def end_labels_of(estimate: Document, parts: Mapping[str, Any]) -> list[EndLabel]:
    """Return two labels for each piece of the cut list, in its order."""
    return [
        EndLabel(piece.label, f"{piece.gauge} {piece.colour}", here, there)
        for piece in pieces_of(estimate, parts)
        for here, there in ((piece.start, piece.end), (piece.end, piece.start))
    ]


def end_labels_context(facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, Any]:
    """Return what the page of labels shows."""
    printed = f", printed {moment(facts.issued_at)}" if facts.issued_at else ""
    return {
        "facts": facts,
        "left": for_left_edge(f"{facts.ticket_number}  {facts.boat_in_short}"),
        "right": for_right_edge(facts.customer),
        "foot": f"End labels, ticket {facts.ticket_number}{printed}.",
        "labels": end_labels_of(estimate, parts_of(sheet)),
    }
