"""The work order: what to watch for, what to pick, where the holes go, the wiring, then one step after the other."""

from collections.abc import Iterator, Mapping
from typing import Any

from shop.units import format_minutes

from .bench_tests import tests_of
from .facts import PaperFacts
from .figures import bound, counted, for_left_edge, for_right_edge, in_rows, moment, trimmed, unbroken, weekday
from .parts import parts_of
from .picking import bins_of, consumables_of
from .places import Openings, by_place, openings_of
from .since import Since
from .steps import phases_of
from .warned import Warned, in_spite_of, warned, warned_of
from .wiring import pieces_of, systems_of

Document = Mapping[str, Any]


def work_order_context(facts: PaperFacts, sheet: Document, estimate: Document) -> dict[str, Any]:
    """Return what the work order's template shows. No price, cost or margin is among it."""
    parts, since = parts_of(sheet), Since(facts.before)
    openings = openings_of(estimate, parts)
    letters, steps, pieces = since.new_letters(estimate), since.new_steps(estimate), since.new_pieces(estimate)
    gate = initials_gate(facts, openings, len(by_place(estimate.get("openings") or ())))
    return {
        "facts": facts,
        "left": for_left_edge(f"{facts.ticket_number}  {facts.boat_in_short}"),
        "right": for_right_edge(facts.customer, f"version {facts.version}"),
        "foot": foot_of(facts),
        "changes": [bound(sentence) for sentence in facts.changes],
        "cells": in_rows(list(cells_of(facts, estimate))),
        "warned": [*gate, *in_spite_of(facts.override_reason, warned_of(estimate))],
        "bins": bins_of(parts, facts.bins),
        "consumables": list(consumables_of(estimate)),
        "openings": openings,
        "new_letters": letters,
        "marks_changes": bool(letters or steps or any(pieces)),
        "systems": systems_of(estimate, parts),
        "pieces": list(zip(pieces_of(estimate, parts), pieces, strict=True)),
        "phases": phases_of(estimate, parts, gate, steps),
        "tests": tests_of(estimate, parts),
    }


def foot_of(facts: PaperFacts) -> str:
    printed = f"Work order, printed {moment(facts.issued_at)}." if facts.issued_at else "Work order."
    return f"{printed} Version {facts.version} replaces {facts.replaces}." if facts.replaces else printed


def cells_of(facts: PaperFacts, estimate: Document) -> Iterator[tuple[str, str]]:
    """Yield the small cells under the title: name and value, those that are known."""
    labour = estimate.get("labour", {})
    half, eight = labour.get("p50_min"), labour.get("p80_min")
    cells = {
        "Boat": bound(facts.boat),
        "Hull": bound(facts.hull_material),
        "Customer": bound(facts.customer),
        "Promised": weekday(facts.ready_on),
        "Bench time": "" if half is None or eight is None else bench_words(half, eight),
        "Not afloat before": afloat_words(estimate),
        "Quote": facts.quote_number,
        "Accepted": moment(facts.accepted_at),
        "Change order": facts.change_number,
        "May approve more": ", ".join(filter(None, (bound(facts.approver), unbroken(facts.approver_number)))),
    }
    yield from ((name, value) for name, value in cells.items() if value)


def bench_words(half_min: float, eight_min: float) -> str:
    return f"half by {format_minutes(half_min)}, 8 in 10 by {format_minutes(eight_min)}"


def afloat_words(estimate: Document) -> str:
    cure_h = max((step.get("cure_h") or 0.0 for step in estimate.get("labour", {}).get("order", ())), default=0.0)
    return f"{trimmed(cure_h, 1, 'h')} after the last bed" if cure_h else ""


def initials_gate(facts: PaperFacts, openings: Openings, places: int) -> tuple[Warned, ...]:
    """Return the stop before the first hole: no drilling without the customer's yes to its place, and how it stands."""
    if openings.known and not openings.count:
        return ()
    if not openings.known:
        return (warned("stop", "Make no opening before the customer has seen its place and put initials to it."),)
    rule = "Do not drill until every place on the list carries the customer's initials."
    if facts.initialled is None:
        return (warned("stop", f"{rule} No initials are on record: look at the signed list."),)
    by = f" by {facts.accepted_by}" if facts.accepted_by else ""
    when = f" on {moment(facts.accepted_at)}" if facts.accepted_at else ""
    done = f"{len(facts.initialled)} of {counted(places, 'place')}"
    if facts.change_number:
        return (warned("stop", f"{lettered_anew(facts)} {rule} Initialled or agreed one by one: {done}."),)
    return (warned("stop", f"{rule} Initialled{by}{when}: {done}."),)


def lettered_anew(facts: PaperFacts) -> str:
    """Return what a change order means for the holes: older letters do not hold."""
    consent = f"{facts.consent.rstrip('.')}." if facts.consent else "No consent is on record: ask the counter."
    return (
        f"Drill by this list only: change order {facts.change_number} may have lettered the openings anew, so older "
        f"lists and templates no longer hold. {consent}"
    )
