"""The steps of a ticket as the bench sees them: what is ticked, what is next, what may not be done yet and why."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from builds.agreed import Agreed
from builds.documents import bench_tests
from builds.documents.bench_tests import Kind, Row
from builds.documents.figures import letters_in_short
from builds.documents.parts import parts_of
from builds.documents.places import by_place
from builds.documents.since import names_of
from builds.documents.steps import StepValues
from builds.models import BenchReading, StepMark, Ticket, WorkOrder
from builds.parts import stops_of
from shop import clock

SLACK = 1e-9
WET = ("op_leak_test", "op_float_trim_test")


@dataclass(frozen=True)
class BenchStep:
    """One step: its stable name, what is printed of it, its latest mark, and why it cannot be ticked now."""

    name: str
    said: Mapping[str, Any]
    values: tuple[Any, ...]
    mark: StepMark | None
    locked: str = ""

    @property
    def n(self) -> int:
        return int(self.said["n"])

    @property
    def done(self) -> bool:
        return self.mark is not None and self.mark.done

    @property
    def of(self) -> str:
        """The part or operation that the step belongs to; empty where its text says the same."""
        name = str(self.said["name"])
        return "" if self.said["text"].rstrip(".") == name.rstrip(".") else name


def latest_order(ticket: Ticket) -> WorkOrder | None:
    """Return the work order that the bench goes by, with what it was printed from; nothing of its bytes."""
    return (
        WorkOrder.objects.filter(ticket=ticket)
        .select_related("quote__catalogue", "quote__acceptance", "change_order__catalogue")
        .defer("pdf", "quote__pdf", "quote__acceptance__scan", "quote__acceptance__signed_pdf", "change_order__pdf")
        .order_by("-version")
        .first()
    )


def steps_of(ticket: Ticket) -> list[BenchStep]:
    """Return the steps of the latest work order; none before it is printed. Five queries at most."""
    order = latest_order(ticket)
    if order is None:
        return []
    estimate = order.agreed.estimate
    steps = estimate["labour"]["order"]
    names = names_of(steps)
    marks = {mark.step: mark for mark in StepMark.objects.filter(ticket=ticket).select_related("by")}
    values = StepValues(estimate, parts_of(order.agreed.sheet))
    cured = cured_at(steps, names, marks)
    initials, stops = missing_initials(order, estimate), stops_of(ticket)
    return [
        BenchStep(name, step, tuple(values.of(step)), marks.get(name), why_stopped(step, stops, initials, cured))
        for name, step in zip(names, steps, strict=True)
    ]


@dataclass(frozen=True)
class ReadingRow:
    """One test of one part, or of the whole boat: what is expected, the latest reading, and why it must wait."""

    kind: Kind
    row: Row
    reading: BenchReading | None
    locked: str

    @property
    def open(self) -> bool:
        """Whether it keeps the boat from being handed over."""
        return self.reading is None or self.reading.verdict != BenchReading.Verdict.PASSED


def tests_of(ticket: Ticket) -> list[ReadingRow]:
    """Return the tests that the latest work order asks for, each with its latest reading. Three queries."""
    order = latest_order(ticket)
    if order is None:
        return []
    estimate = order.agreed.estimate
    cured = cured_of(ticket, order)
    found = BenchReading.objects.filter(ticket=ticket).select_related("by")
    readings = {(reading.test, reading.line): reading for reading in found}
    return [
        ReadingRow(
            test.kind,
            row,
            readings.get((test.kind.word, row.line)),
            why_wet_waits(cured) if test.kind.after_cure else "",
        )
        for test in bench_tests.tests_of(estimate, parts_of(order.agreed.sheet))
        for row in test.rows
    ]


def agreed_sheet(ticket: Ticket) -> Mapping[str, Any] | None:
    """Return the build sheet of the latest work order."""
    order = latest_order(ticket)
    return order.agreed.sheet if order else None


def load_aboard_kg(ticket: Ticket) -> float | None:
    """Return the load that the agreed estimate floats the boat with, its own mass left out [kg]."""
    order = latest_order(ticket)
    weights = order.agreed.estimate.get("weights") if order else None
    return weights["displacement_kg"] - order.agreed.sheet["hull"]["mass_kg"] if order and weights else None


def cured_of(ticket: Ticket, order: WorkOrder) -> datetime.datetime | str | None:
    """Return when everything is cured, the text of a bed that is not ticked, or None where nothing cures."""
    steps = order.agreed.estimate["labour"]["order"]
    marks = {mark.step: mark for mark in StepMark.objects.filter(ticket=ticket)}
    return cured_at(steps, names_of(steps), marks)


def verdict_of(row: Row, figure: float | None) -> str:
    """Return the verdict that a figure gives by its limits, or nothing where a person has to say."""
    if figure is None or row.low is None or row.high is None:
        return ""
    passed = row.low * (1 - SLACK) <= figure <= row.high * (1 + SLACK)
    return BenchReading.Verdict.PASSED if passed else BenchReading.Verdict.FAILED


def missing_initials(order: WorkOrder, estimate: Mapping[str, Any]) -> list[str]:
    """Return the letters of the places that the customer did not agree to one by one."""
    agreed = Agreed(order.quote, order.change_order).initialled
    groups = by_place(estimate.get("openings") or ())
    places = [letters_in_short(opening["letter"] for opening in group) for group in groups.values()]
    return [place for place in places if place not in agreed]


def cured_at(
    order: list[Mapping[str, Any]], names: list[str], marks: Mapping[str, StepMark]
) -> datetime.datetime | str | None:
    """Return the moment from which everything that was bedded is cured, the text of a bed that is not done, or None.

    A cure runs from the tick of the step after which it begins.
    """
    latest = None
    for name, step in zip(names, order, strict=True):
        if not step.get("cure_h"):
            continue
        mark = marks.get(name)
        if mark is None or not mark.done:
            return str(step["text"])
        end = mark.at + datetime.timedelta(hours=step["cure_h"])
        latest = max(latest, end) if latest else end
    return latest


def why_stopped(step: Mapping[str, Any], stops: Mapping[str, str], *more: Any) -> str:
    """Return why a step cannot be ticked now: a part that its line waits for comes before everything else."""
    return stops.get(step["line"]) or why_locked(step, *more)


def why_locked(step: Mapping[str, Any], initials: list[str], cured: datetime.datetime | str | None) -> str:
    """Return why a step cannot be ticked now, or nothing where it can."""
    if step["phase"] == "drill" and initials:
        return f"No initials at {', '.join(initials)} yet. Nothing is drilled before the customer's initials."
    return why_wet_waits(cured) if step.get("waits_cure") or step["line"] in WET else ""


def why_wet_waits(cured: datetime.datetime | str | None) -> str:
    """Return why what needs the cure has to wait, or nothing where everything is cured."""
    if isinstance(cured, str):
        return f"Not before the cure, which begins after: {cured}"
    if cured is not None and clock.now() < cured:
        return f"Not before the cure ends, {clock.local(cured):%a %d %b, %H:%M}."
    return ""


def next_step(steps: list[BenchStep], after: int = 0) -> BenchStep | None:
    """Return the first step that is not done, from the one after `after` on; else the first one left at all."""
    left = [step for step in steps if not step.done]
    return next((step for step in left if step.n > after), left[0] if left else None)
