"""The hand-over sheet: what the boat leaves with, what to look after, what was read, what was not done; and its tag."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from .disclaimer import worded
from .facts import PaperFacts
from .figures import bound, counted, for_left_edge, for_right_edge, in_rows, moment
from .parts import Part, parts_of
from .warned import Warned, warned, warned_of
from .wiring import systems_of

Document = Mapping[str, Any]
CARE = ("lithium_care", "battery_transport", "connector_care", "motor_duties", "lights_after_dark", "insert_torque")
"""The cautions of the estimate that the owner takes home."""


@dataclass(frozen=True)
class Tested:
    """What one test came to: its name, the part, the reading with its unit, the verdict, and the note."""

    name: str
    part: str
    reading: str
    verdict: str
    note: str = ""


@dataclass(frozen=True)
class HandOver:
    """One hand-over. Everything is cured at `afloat_from`, None where nothing cures; `why` is the owner's reason
    where a test is open, `unpaid` why money is still to pay."""

    at: datetime.datetime
    by: str
    afloat_from: datetime.datetime | None = None
    cure_is_open: str = ""
    tests: list[Tested] = field(default_factory=list)
    why: str = ""
    unpaid: str = ""


def hand_over_context(facts: PaperFacts, sheet: Document, estimate: Document, handing: HandOver) -> dict[str, Any]:
    """Return what the hand-over sheet and the tag show. No price, cost or margin is among it."""
    parts = parts_of(sheet)
    return {
        "facts": facts,
        "handing": handing,
        "left": for_left_edge(f"{facts.ticket_number}  {facts.boat_in_short}"),
        "right": for_right_edge(facts.customer),
        "foot": f"Hand-over sheet, ticket {facts.ticket_number}, {moment(handing.at)}.",
        "cells": in_rows([(name, value) for name, value in cells_of(facts, handing) if value]),
        "afloat": afloat_words(handing),
        "fuses": list(fuses_of(estimate, parts)),
        "care": care_of(estimate),
        "checks": [(part, [bound(text) for text in part.kind["owner_checks"]]) for part in checked(parts)],
        "tests": handing.tests,
        "open": [test for test in handing.tests if test.verdict != "passed"],
        "terms": terms_of(facts),
    }


def cells_of(facts: PaperFacts, handing: HandOver) -> Iterator[tuple[str, str]]:
    yield "Boat", bound(facts.boat)
    yield "Customer", bound(facts.customer)
    yield "Handed over", moment(handing.at)
    yield "For the shop", handing.by
    yield "Quote", facts.quote_number
    yield "Change order", facts.change_number


def afloat_words(handing: HandOver) -> str:
    """Return when the boat may go afloat, or nothing where it may at once."""
    if handing.cure_is_open:
        return f"Not before the cure, which begins after: {handing.cure_is_open}"
    if handing.afloat_from and handing.afloat_from > handing.at:
        return f"Not afloat before {handing.afloat_from:%A} {moment(handing.afloat_from)}"
    return ""


def fuses_of(estimate: Document, parts: Mapping[str, Part]) -> Iterator[tuple[str, str, str]]:
    """Yield each fuse: what it protects, its rating with its colour, and the spare that goes along."""
    for system in systems_of(estimate, parts):
        if system.main_fuse != "none":
            yield f"Main fuse, {system.name}", system.main_fuse, "none"
        for circuit in system.circuits:
            fed = ", ".join(leg.name for leg in circuit.legs)
            yield fed, ", ".join(filter(None, (circuit.fuse, circuit.colour))), "1 in the bag"


def care_of(estimate: Document) -> list[Warned]:
    """Return the cautions that the owner takes home, and what holds for every boat."""
    kept = {caution["sentence"] for caution in estimate.get("cautions", ()) if caution["code"] in CARE}
    every = warned("note", "Look at every fastening, seal and plug after the first outing, and before each one.")
    first = warned("note", "The makers' instructions and the law of the place go before this sheet.")
    return [*(one for one in warned_of(estimate) if one.sentence in {bound(text) for text in kept}), every, first]


def checked(parts: Mapping[str, Part]) -> list[Part]:
    """Return the parts that are fitted now and have something to look at, each type once."""
    seen: dict[str, Part] = {}
    for part in parts.values():
        if part.is_new and part.kind.get("owner_checks"):
            seen.setdefault(part.accessory, part)
    return list(seen.values())


def terms_of(facts: PaperFacts) -> str:
    if own := worded(facts, "hand_over"):
        return bound(own)
    if not facts.workmanship_days:
        return "Bring the boat back when something of our work is not right."
    days = counted(facts.workmanship_days, "day")
    return (
        f"We answer for our own work for {days}: openings, seals, wiring, fixings. Bring the boat with this sheet, "
        "dry, and do not go afloat with a leak. Parts have their makers' own terms."
    )
