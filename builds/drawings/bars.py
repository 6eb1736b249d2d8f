"""Horizontal bars for black and white: hatched is estimate, open is quoted, solid is actual, crossed is lost."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from shop.units import THIN, number

from . import text as lettering
from .svg import SIZE, Box, Drawn, Pane, Table, hatch_d, line_d

ESTIMATE, QUOTED, ACTUAL, LOST, GAINED = "estimate", "quoted", "actual", "lost", "gained"
KIND_WORDS = {ESTIMATE: "estimated", QUOTED: "quoted", ACTUAL: "actual", LOST: "lost", GAINED: "gained"}
BAR, BAR_GAP, ROW_GAP = 12.0, 2.0, 10.0
TOP = 6.0
LABEL_GAP = 8.0
MOST_LABEL = 0.42
BREAK_AT = 14.0
HATCH_STEP = 6.0


@dataclass(frozen=True)
class Bar:
    """One bar: its value, what it is, and the words at its end (default: the value)."""

    value: float
    kind: str = ACTUAL
    words: str = ""


@dataclass(frozen=True)
class Row:
    """A label with one bar, or several under each other."""

    label: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Limit:
    """A dashed line across the bars, with its words below."""

    value: float
    words: str


@dataclass(frozen=True)
class Axis:
    """A scale from `start` to `end` between two places of the drawing."""

    start: float
    end: float
    left: float
    right: float

    def x(self, value: float) -> float:
        share = (value - self.start) / (self.end - self.start)
        return self.left + share * (self.right - self.left)


def bars(
    rows: Sequence[Row],
    ident: str,
    title: str,
    unit: str = "",
    limit: Limit | None = None,
    start: float = 0.0,
    width: float = 480.0,
    printed: bool = False,
    digits: int = 0,
) -> Drawn:
    """Return horizontal bars with their numbers at the end; where `start` is not 0 the bars are broken.

    A bar below `start` goes to the left. The table has a row for each bar.
    """
    pane = Pane()
    words = {id(bar): bar.words or figure(bar.value, unit, digits) for row in rows for bar in row.bars}
    label_wide = min(max((lettering.width(row.label, SIZE) for row in rows), default=0.0), width * MOST_LABEL)
    end_wide = max((lettering.width(text, SIZE, bold=True) for text in words.values()), default=0.0) + 12.0
    values = [bar.value for row in rows for bar in row.bars] + ([limit.value] if limit else [])
    low, high = min([start, *values]), max([start, *values])
    left = 2.0 + label_wide + LABEL_GAP + (end_wide if low < start else 0.0)
    axis = Axis(low, high if high > low else low + 1.0, left, max(width - end_wide - 2.0, left + 20.0))
    y = TOP
    for row in rows:
        high_row = len(row.bars) * BAR + (len(row.bars) - 1) * BAR_GAP
        label = lettering.shorten(row.label, SIZE, label_wide)
        pane.text(2.0 + label_wide, y + high_row / 2 + 4.3, label, "d-text", "end")
        for bar in row.bars:
            _draw_row_bar(pane, axis, bar, start, y, words[id(bar)], limit)
            y += BAR + BAR_GAP
        y += ROW_GAP - BAR_GAP
    base = y - ROW_GAP + 5.0
    pane.path("d-hair", line_d([(axis.x(start), TOP - 4), (axis.x(start), base)]))
    height = base + 4.0
    if limit:
        height = _draw_limit(pane, axis, limit, base, width)
    rows_ = tuple((row.label, KIND_WORDS[bar.kind], words[id(bar)]) for row in rows for bar in row.bars)
    desc = f"{_broken(start, unit)}{_limited(limit)}{len(rows)} rows; the table lists every bar."
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (Table(title, ("Row", "What", "Value"), rows_),))


def _broken(start: float, unit: str) -> str:
    return f"The axis starts at {figure(start, unit)}. " if start else ""


def _limited(limit: Limit | None) -> str:
    return f"Dashed line: {limit.words}. " if limit else ""


def _draw_row_bar(pane: Pane, axis: Axis, bar: Bar, start: float, y: float, words: str, limit: Limit | None) -> None:
    zero, end = axis.x(start), axis.x(bar.value)
    box = Box(min(zero, end), y, max(zero, end), y + BAR)
    draw_bar(pane, bar.kind, box, broken=start != 0.0)
    if bar.value >= start:
        x = box.right + 5
        wide = lettering.width(words, SIZE, bold=True)
        if limit and x - 3 < axis.x(limit.value) < x + wide + 3:
            x = axis.x(limit.value) + 5
        pane.text(x, y + BAR - 1.7, words, "d-strong", bold=True)
    else:
        pane.text(box.left - 5, y + BAR - 1.7, words, "d-strong", "end", bold=True)


def _draw_limit(pane: Pane, axis: Axis, limit: Limit, base: float, width: float) -> float:
    x = axis.x(limit.value)
    pane.path("d-limit", line_d([(x, TOP - 4), (x, base + 2)]))
    half = lettering.width(limit.words, SIZE) / 2
    pane.text(min(max(x, half + 2), width - half - 2), base + 15, limit.words, "d-quiet", "middle")
    return base + 20.0


def draw_bar(pane: Pane, kind: str, box: Box, broken: bool = False) -> None:
    """Draw one bar of a kind; a broken one has a gap near its start."""
    if box.right - box.left < 0.05:
        pane.path("d-part", line_d([(box.left, box.top), (box.left, box.bottom)]))
        return
    pane.rect("d-solid" if kind == ACTUAL else "d-open", box)
    corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
    if kind == ESTIMATE:
        pane.path("d-hatch", hatch_d(corners, HATCH_STEP))
    elif kind == LOST:
        pane.path("d-cross", hatch_d(corners, HATCH_STEP * 0.8) + hatch_d(corners, HATCH_STEP * 0.8, -1.0))
    if broken and box.right - box.left > 2 * BREAK_AT:
        draw_break(pane, box.left + BREAK_AT, box.top, box.bottom)


def draw_break(pane: Pane, x: float, top: float, bottom: float) -> None:
    """Draw the mark of a bar that does not start at nought: a white gap between two jagged strokes."""
    middle = (top + bottom) / 2
    left = [(x - 3, top - 2), (x + 2, middle - 1), (x - 4, middle + 1), (x, bottom + 2)]
    right = [(px + 5, py) for px, py in left]
    pane.path("d-gap", line_d([*left, *reversed(right)], closed=True))
    pane.strokes("d-thin", [left, right])


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return two or more round figures from at or below `low` to at or above `high`, 1, 2 or 5 in some power apart."""
    rough = max(high - low, 1e-9) / max(most - 1, 1)
    power = 10.0 ** floor(log10(rough))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= rough * (1 - 1e-9))
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    last = max(last, first + 1)
    return [round(k * step, 10) for k in range(first, last + 1)]


def figure(value: float, unit: str = "", digits: int = 0, signed: bool = False) -> str:
    """Return a figure with its unit; `signed` puts a plus before what is above 0."""
    text = number(value, digits)
    if signed and value > 0:
        text = f"+{text}"
    return f"{text}{THIN}{unit}" if unit else text
