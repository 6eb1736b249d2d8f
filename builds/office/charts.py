"""The office's charts: figures to pictures, each with the sentence that says what to see and its table."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.safestring import SafeString, mark_safe

from builds.drawings.bars import ACTUAL, ESTIMATE, QUOTED, Bar, Limit, bars, figure
from builds.drawings.bars import Row as BarRow
from builds.drawings.bridge import Bridge, Step, bridge
from builds.drawings.svg import Drawn
from builds.drawings.trend import Reading, trend
from builds.earnings.figures import (
    CHANGE,
    COME_BACK,
    DISCOUNT,
    MINUTES,
    PARTS_COST,
    PRICE,
    QUANTITY,
    RATE,
    WHY,
    Figures,
)
from builds.earnings.missed import Way
from builds.office.sums import Counted
from shop.units import MINUS
from shop.units import number as written

WHY_WORDS = {
    PRICE: "prices and fees agreed later",
    DISCOUNT: "discount given",
    CHANGE: "change orders",
    PARTS_COST: "parts dearer or cheaper",
    QUANTITY: "more or fewer parts used",
    MINUTES: "minutes over or under",
    RATE: "dearer or cheaper hours",
    COME_BACK: "came back",
}
WHY_FORMULAS = {
    PRICE: "quantity agreed × (price agreed − price quoted), fees, labour rate",
    DISCOUNT: "− the discount agreed",
    CHANGE: "what was added or taken × (price − cost), and its work",
    PARTS_COST: "− quantity × (cost, the weighted average on the shelf, − cost estimated)",
    QUANTITY: "− (quantity used − quantity agreed) × cost agreed",
    MINUTES: "− (minutes worked − minutes estimated) ÷ 60 × labour cost estimated",
    RATE: "− minutes worked ÷ 60 × (labour cost of the day − labour cost estimated)",
    COME_BACK: "− minutes ÷ 60 × labour cost of the day − parts",
}
MOST_PHASES = 4
WIDE, NARROW = 420.0, 420.0


@dataclass(frozen=True)
class Chart:
    """A picture, the sentence under it, and its figures as rows."""

    svg: SafeString
    say: str
    drawn: Drawn


def chart(drawn: Drawn, say: str) -> Chart:
    return Chart(mark_safe(drawn.svg), say, drawn)


def phase_words(phase: str) -> str:
    return phase.replace("_", " ") if phase else "no step"


def way_chart(steps: Sequence[tuple[str, Decimal]], planned: Decimal, actual: Decimal, unit: str, printed: bool):
    """Return the way from planned to actual profit; steps of nought are left out."""
    shown = [Step(words, float(amount)) for words, amount in steps if amount]
    way = Bridge("planned", float(planned), tuple(shown), "actual")
    drawn = bridge(way, "way", "From planned to actual gross profit", unit, WIDE, printed)
    return chart(drawn, way_words(steps, actual - planned, unit))


def way_words(steps: Sequence[tuple[str, Decimal]], difference: Decimal, unit: str) -> str:
    if not any(amount for _, amount in steps):
        return "It came as planned; nothing was gained or lost."
    lost = min(steps, key=lambda step: step[1])
    gained = max(steps, key=lambda step: step[1])
    key = "Hatched: planned. Crossed: lost. Open: gained. Solid: what came."
    moved = f"{unit} {abs(difference):,f} {'less' if difference < 0 else 'more'} than planned."
    what = lost if difference < 0 else gained
    return f"{key} {moved} The most came from {what[0]}: {signed(what[1])}."


def signed(amount: Decimal) -> str:
    return f"{MINUS if amount < 0 else '+'}{abs(amount):,f}"


def steps_of_sums(some: Figures, phases: dict[str, Counted]) -> list[tuple[str, Decimal]]:
    """Return the steps of many tickets: the four greatest of the steps of work by themselves, the others together."""
    by_phase = {key: figures.why_minutes for key, (_, figures) in phases.items()}
    return [
        step
        for kind in WHY
        for step in (minutes_apart(by_phase) if kind == MINUTES else [(WHY_WORDS[kind], getattr(some, f"why_{kind}"))])
    ]


def steps_of_way(way: Way) -> list[tuple[str, Decimal]]:
    """Return the steps of one ticket."""
    by_phase = {part.phase: part.amount for part in way.parts if part.kind == MINUTES}
    return [
        step
        for kind in WHY
        for step in (minutes_apart(by_phase) if kind == MINUTES else [(WHY_WORDS[kind], way.of(kind))])
    ]


def minutes_apart(by_phase: dict[str, Decimal]) -> list[tuple[str, Decimal]]:
    greatest = sorted(by_phase, key=lambda phase: (-abs(by_phase[phase]), phase))
    apart = [(f"minutes of {phase_words(phase)}", by_phase[phase]) for phase in greatest[:MOST_PHASES]]
    others = [by_phase[phase] for phase in greatest[MOST_PHASES:]]
    return [*apart, *([("minutes of other steps", sum(others, Decimal(0)))] if others else [])]


def phases_chart(phases: dict[str, Counted], order: Sequence[str], printed: bool) -> Chart:
    """Return the minutes of each step, estimated and worked, in the order of work."""
    known = [phase for phase in order if phase in phases] + sorted(set(phases) - set(order))
    rows, over = [], {}
    for phase in known:
        figures = phases[phase][1]
        over[phase] = figures.worked_min - figures.estimated_min
        words = f"{written(float(figures.worked_min), 0)}, {figure(float(over[phase]), 'min', signed=True)}"
        pair = Bar(float(figures.estimated_min), ESTIMATE), Bar(float(figures.worked_min), ACTUAL, words)
        rows.append(BarRow(phase_words(phase), pair))
    drawn = bars(rows, "phases", "Minutes of each step, estimated and worked", "min", width=NARROW, printed=printed)
    worst = sorted(over, key=lambda phase: -over[phase])[:2]
    ran = [f"{phase_words(p)} ran {written(float(over[p]), 0)} min over" for p in worst if over[p] >= 1]
    say = "Upper bar, hatched: estimated. Lower bar, solid: worked. "
    return chart(drawn, say + (f"{', '.join(ran).capitalize()}." if ran else "No step ran over."))


def minutes_chart(some: Figures, printed: bool) -> Chart:
    """Return minutes estimated, quoted and worked."""
    unpaid = some.paid_min - some.quoted_min
    rows = [
        BarRow("estimated", (Bar(float(some.estimated_min), ESTIMATE),)),
        BarRow("quoted", (Bar(float(some.quoted_min), QUOTED),)),
        BarRow("worked", (Bar(float(some.paid_min), ACTUAL),)),
    ]
    drawn = bars(rows, "minutes", "Minutes estimated, quoted and worked", "min", width=NARROW, printed=printed)
    beyond = f"{written(float(abs(some.over_min)), 0)} min {'more' if some.over_min > 0 else 'less'} than estimated."
    paid = f" {written(float(unpaid), 0)} min are unpaid." if unpaid > 0 else " All of them are paid."
    return chart(drawn, beyond + paid)


def tickets_chart(named: Sequence[tuple[str, float]], floor: float, printed: bool) -> Chart:
    """Return the margins of some tickets beside the floor: solid at or above it, hatched under it."""
    rows = [
        BarRow(name, (Bar(100 * margin, ACTUAL if margin >= floor else ESTIMATE, f"{100 * margin:.1f} %"),))
        for name, margin in named
    ]
    limit = Limit(100 * floor, f"floor {100 * floor:.0f} %")
    drawn = bars(rows, "tickets", "Margin of each ticket", "%", limit, width=NARROW, printed=printed)
    under = sum(1 for _, margin in named if margin < floor)
    return chart(
        drawn, f"Solid: at or above the floor of {100 * floor:.0f} %. Hatched: under it. {under} of {len(named)} under."
    )


def trend_chart(
    months: Sequence[datetime.date], found: dict[datetime.date, Counted], floor: float, printed: bool
) -> Chart:
    """Return the margin month by month beside the floor."""
    readings = []
    for month in months:
        margin = found[month][1].margin if month in found else None
        readings.append(Reading(f"{month:%b %y}", None if margin is None else 100 * float(margin)))
    limit = Limit(100 * floor, f"floor {100 * floor:.0f} %")
    drawn = trend(readings, "trend", "Margin month by month", "%", limit, printed=printed)
    values = [reading.value for reading in readings if reading.value is not None]
    if not values:
        return chart(drawn, "No boat was handed over in these months.")
    under = sum(1 for value in values if value < 100 * floor)
    ends = f"Between {min(values):.0f} and {max(values):.0f} %."
    return chart(drawn, f"{ends} {under} of {len(values)} months under the floor, drawn open.")


def days_chart(counts: dict[int, int], printed: bool) -> Chart:
    """Return how many quotes took how many days to the yes; a fortnight and more in one bar."""
    most = 14
    grouped = {str(day): counts.get(day, 0) for day in range(most)}
    grouped[f"{most} and more"] = sum(count for day, count in counts.items() if day >= most)
    rows = [BarRow(label, (Bar(float(count), ACTUAL),)) for label, count in grouped.items()]
    drawn = bars(rows, "days", "Days from quote to yes", width=NARROW, printed=printed)
    return chart(drawn, f"{sum(counts.values())} quotes had their yes.")
