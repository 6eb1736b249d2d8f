"""The test sheet: each test with what is expected, and what was measured or a field to write it in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .facts import PaperFacts
from .figures import bound, for_left_edge, for_right_edge, moment

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Measured:
    """One row: the test and how it is done, the part, what is expected, what was read, how it came out and when."""

    name: str
    done: str
    number: int | None
    part: str
    expected: str
    unit: str = ""
    reading: str = ""
    verdict: str = ""
    note: str = ""
    by: str = ""


@dataclass(frozen=True)
class Group:
    name: str
    done: str
    rows: tuple[Measured, ...]


def grouped(rows: Sequence[Measured]) -> list[Group]:
    """Return the rows by their test, in the order in which the tests are done."""
    names = dict.fromkeys(row.name for row in rows)
    by_name = {name: tuple(row for row in rows if row.name == name) for name in names}
    return [Group(name, found[0].done, found) for name, found in by_name.items()]


def test_sheet_context(facts: PaperFacts, rows: Sequence[Measured]) -> dict[str, Any]:
    """Return what the test sheet shows. No price is among it."""
    left_open = sum(row.verdict != "passed" for row in rows)
    return {
        "facts": facts,
        "left": for_left_edge(f"{facts.ticket_number}  {facts.boat_in_short}"),
        "right": for_right_edge(facts.customer),
        "foot": f"Test sheet, ticket {facts.ticket_number}{', ' + moment(facts.issued_at) if facts.issued_at else ''}.",
        "groups": grouped(rows),
        "boat": bound(facts.boat),
        "standing": f"{left_open} of {len(rows)} open" if left_open else f"{len(rows)} of {len(rows)} passed",
    }
