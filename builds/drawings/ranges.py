"""Ranges before and after: low to high as a bar, likely as a stroke across it; hatched before, solid after."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.units import number

from . import text as lettering
from .bars import ACTUAL, BAR, BAR_GAP, ESTIMATE, LABEL_GAP, MOST_LABEL, ROW_GAP, TOP, Axis, draw_bar, figure, ticks
from .svg import SIZE, Box, Drawn, Pane, Table, line_d

OVER = 3.0
ENDS = "–"


@dataclass(frozen=True)
class Range:
    """Low, likely and high of one thing."""

    low: float
    likely: float
    high: float

    @property
    def words(self) -> str:
        return f"{plain(self.likely)} ({plain(self.low)}{ENDS}{plain(self.high)})"


@dataclass(frozen=True)
class Pair:
    """A label with its range before and after."""

    label: str
    before: Range
    after: Range


def ranges(
    pairs: Sequence[Pair], ident: str, title: str, unit: str = "", width: float = 640.0, printed: bool = False
) -> Drawn:
    """Return two bars for each pair, likely and ends in figures behind them; the axis starts at 0."""
    pane = Pane()
    label_wide = min(max((lettering.width(pair.label, SIZE) for pair in pairs), default=0.0), width * MOST_LABEL)
    words = [one.words for pair in pairs for one in (pair.before, pair.after)]
    end_wide = max((lettering.width(text, SIZE, bold=True) for text in words), default=0.0) + 12.0
    scale = ticks(0.0, max((one.high for pair in pairs for one in (pair.before, pair.after)), default=1.0))
    left = 2.0 + label_wide + LABEL_GAP
    axis = Axis(0.0, scale[-1], left, max(width - end_wide - 2.0, left + 40.0))
    y = TOP
    for pair in pairs:
        label = lettering.shorten(pair.label, SIZE, label_wide)
        pane.text(2.0 + label_wide, y + BAR + BAR_GAP / 2 + 4.3, label, "d-text", "end")
        for one, kind in ((pair.before, ESTIMATE), (pair.after, ACTUAL)):
            _draw_range(pane, axis, one, kind, y, bold=kind == ACTUAL)
            y += BAR + BAR_GAP
        y += ROW_GAP - BAR_GAP
    base = y - ROW_GAP + 5.0
    pane.path("d-hair", line_d([(axis.left, TOP - 4), (axis.left, base), (axis.x(scale[-1]), base)]))
    for value in scale:
        pane.text(axis.x(value), base + 14.0, figure(value, unit if value == scale[-1] else ""), "d-quiet", "middle")
    rows = tuple((pair.label, pair.before.words, pair.after.words) for pair in pairs)
    desc = f"{len(pairs)} rows, hatched before, solid after; likely and, in brackets, low to high. The table lists all."
    height = base + 20.0
    svg = pane.svg(ident, title, desc, width, height, printed)
    heads = (f"Likely (low{ENDS}high) before, {unit}", f"after, {unit}")
    return Drawn(svg, title, desc, width, height, (Table(title, ("Row", *heads), rows),))


def _draw_range(pane: Pane, axis: Axis, one: Range, kind: str, y: float, bold: bool) -> None:
    draw_bar(pane, kind, Box(axis.x(one.low), y + 2.0, axis.x(one.high), y + BAR - 2.0))
    x = axis.x(one.likely)
    pane.path("d-gap", line_d([(x - 1.5, y), (x + 1.5, y), (x + 1.5, y + BAR), (x - 1.5, y + BAR)], closed=True))
    pane.path("d-part", line_d([(x, y - OVER / 3), (x, y + BAR + OVER / 3)]))
    style = "d-strong" if bold else "d-text"
    pane.text(axis.x(one.high) + 5.0, y + BAR - 1.7, one.words, style, bold=bold)


def plain(value: float) -> str:
    """Return a figure with a digit behind the point only where it has one."""
    return number(value, 1 if value != round(value) else 0)
