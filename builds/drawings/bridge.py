"""The bridge from one total to another: what was gained and what was lost on the way, one step under the other."""

from collections.abc import Sequence
from dataclasses import dataclass

from . import text as lettering
from .bars import ACTUAL, BAR, ESTIMATE, GAINED, LOST, Axis, draw_bar, figure, ticks
from .svg import SIZE, Box, Drawn, Pane, Table

PITCH = 21.0
TOP = 6.0
MOST_LABEL = 0.42


@dataclass(frozen=True)
class Step:
    """One step of the way: above 0 gained, below 0 lost."""

    label: str
    change: float


@dataclass(frozen=True)
class Bridge:
    """A total, the steps from it, and the words for both totals. The end is what the steps add up to."""

    first: str
    start: float
    steps: tuple[Step, ...]
    last: str

    @property
    def end(self) -> float:
        return self.start + sum(step.change for step in self.steps)

    @property
    def levels(self) -> list[float]:
        """The total before the first step and after each."""
        levels = [self.start]
        for step in self.steps:
            levels.append(levels[-1] + step.change)
        return levels


def bridge(
    way: Bridge, ident: str, title: str, unit: str = "", width: float = 480.0, printed: bool = False, digits: int = 0
) -> Drawn:
    """Return the bridge: hatched the estimate, solid what came, open what was gained, crossed what was lost.

    The axis starts at 0 unless all levels lie far from it; then the bars of both totals are broken.
    """
    pane = Pane()
    labels = [way.first, *(step.label for step in way.steps), way.last]
    label_wide = min(max(lettering.width(label, SIZE, bold=True) for label in labels), width * MOST_LABEL)
    scale = _scale(way.levels)
    spare = max(lettering.width(figure(level, "", digits), SIZE, bold=True) for level in way.levels) + 14.0
    axis = Axis(scale[0], scale[-1], 2.0 + label_wide + 8.0, width - spare)
    _draw_total(pane, axis, way.first, way.start, ESTIMATE, TOP, label_wide, digits)
    y = TOP + PITCH
    for step, before in zip(way.steps, way.levels, strict=False):
        _draw_step(pane, axis, step, before, y, label_wide, digits)
        y += PITCH
    _draw_total(pane, axis, way.last, way.end, ACTUAL, y, label_wide, digits)
    _draw_ties(pane, axis, way.levels)
    height = _draw_axis(pane, axis, scale, y + BAR + 8.0, unit, width)
    rows = [(way.first, figure(way.start, unit, digits), "")]
    for step, level in zip(way.steps, way.levels[1:], strict=True):
        rows.append((step.label, figure(step.change, unit, digits, signed=True), figure(level, unit, digits)))
    rows.append((way.last, figure(way.end, unit, digits), ""))
    desc = f"From {figure(way.start, unit, digits)} {way.first} to {figure(way.end, unit, digits)} {way.last}."
    if axis.start:
        desc += f" The axis starts at {figure(axis.start, unit)}."
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (Table(title, ("Step", "Amount", "Total after it"), tuple(rows)),))


def _scale(levels: Sequence[float]) -> list[float]:
    """Return the figures of the axis: from 0, or near the least level where all lie in the upper half."""
    low, high = min(levels), max(levels)
    if low > 0.5 * high > 0:
        marks = ticks(low - 0.15 * (high - low), high, 6)
        if marks[0] > 0:
            return marks
    return ticks(min(low, 0.0), max(high, 0.0), 6) if high > low or high else [0.0, 1.0]


def _draw_total(
    pane: Pane, axis: Axis, label: str, value: float, kind: str, y: float, label_wide: float, digits: int
) -> None:
    pane.text(
        2.0 + label_wide, y + BAR - 1.7, lettering.shorten(label, SIZE, label_wide, True), "d-text", "end", bold=True
    )
    zero, end = axis.x(max(axis.start, 0.0)), axis.x(value)
    draw_bar(pane, kind, Box(min(zero, end), y, max(zero, end), y + BAR), broken=axis.start > 0)
    pane.text(max(zero, end) + 6, y + BAR - 1.7, figure(value, "", digits), "d-strong", bold=True)


def _draw_step(pane: Pane, axis: Axis, step: Step, before: float, y: float, label_wide: float, digits: int) -> None:
    pane.text(2.0 + label_wide, y + BAR - 1.7, lettering.shorten(step.label, SIZE, label_wide), "d-text", "end")
    a, b = axis.x(before), axis.x(before + step.change)
    draw_bar(pane, GAINED if step.change > 0 else LOST, Box(min(a, b), y, max(a, b), y + BAR))
    words = figure(step.change, "", digits, signed=True)
    room = lettering.width(words, SIZE, bold=True) + 6
    if step.change > 0 or min(a, b) - room < axis.left:
        pane.text(max(a, b) + 6, y + BAR - 1.7, words, "d-strong", bold=True)
    else:
        pane.text(min(a, b) - 6, y + BAR - 1.7, words, "d-strong", "end", bold=True)


def _draw_ties(pane: Pane, axis: Axis, levels: Sequence[float]) -> None:
    """Draw the thin strokes that carry a level from one bar to the next."""
    ties = []
    for i, level in enumerate(levels):
        top = TOP + i * PITCH + BAR
        ties.append([(axis.x(level), top), (axis.x(level), top + PITCH - BAR)])
    pane.strokes("d-hair", ties)


def _draw_axis(pane: Pane, axis: Axis, scale: Sequence[float], y: float, unit: str, width: float) -> float:
    pane.strokes("d-hair", [[(axis.left, y), (axis.right, y)], *([(axis.x(v), y), (axis.x(v), y + 4)] for v in scale)])
    end = -1e9
    for value in scale:
        words = figure(value, unit if value == scale[-1] else "", 0 if abs(value) >= 10 or value == 0 else 1)
        half = lettering.width(words, SIZE) / 2
        x = min(axis.x(value), width - half - 2)
        if x - half > end + 6:
            end = pane.text(x, y + 16, words, "d-quiet", "middle").right
    return y + 22.0
