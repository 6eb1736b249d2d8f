"""A figure over time, with its floor."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from . import text as lettering
from .bars import Limit, figure, ticks
from .labels import place
from .svg import SIZE, Box, Drawn, Pane, Point, Table, circle_d, line_d, text_box

LEFT, TOP, HIGH = 40.0, 14.0, 84.0
INDENT = 14.0


@dataclass(frozen=True)
class Reading:
    """A moment and its figure; None where there is none."""

    label: str
    value: float | None


@dataclass(frozen=True)
class Plot:
    """The field of a line over time."""

    scale: tuple[float, ...]
    count: int
    right: float

    def x(self, place_: int) -> float:
        return LEFT + INDENT + place_ * (self.right - LEFT - INDENT) / max(self.count - 1, 1)

    def y(self, value: float) -> float:
        return TOP + HIGH * (self.scale[-1] - value) / (self.scale[-1] - self.scale[0])


@dataclass(frozen=True)
class Style:
    """How figures are written."""

    unit: str
    digits: int

    def __call__(self, value: float) -> str:
        return figure(value, self.unit, self.digits)


def trend(
    readings: Sequence[Reading],
    ident: str,
    title: str,
    unit: str = "",
    limit: Limit | None = None,
    width: float = 980.0,
    printed: bool = False,
    digits: int = 0,
) -> Drawn:
    """Return the line over time; a reading under the limit is an open dot with its figure. Table: every reading."""
    pane = Pane()
    write = Style(unit, digits)
    values = [reading.value for reading in readings if reading.value is not None]
    beside = [write(values[-1])] if values else []
    beside += [limit.words] if limit else []
    known = values + ([limit.value] if limit else [])
    scale = ticks(min(known), max(known), 3) if known else [0.0, 1.0]
    right = width - 14.0 - max((lettering.width(words, SIZE, True) for words in beside), default=0.0)
    plot = Plot(tuple(scale), len(readings), right)
    points = [
        (plot.x(i), plot.y(reading.value)) if reading.value is not None else None for i, reading in enumerate(readings)
    ]
    _draw_scale(pane, plot, limit)
    pane.strokes("d-out", [[a, b] for a, b in pairwise(points) if a and b])
    _draw_dots(pane, readings, points, limit)
    _draw_beside(pane, plot, readings, limit, write)
    _draw_low(pane, readings, points, limit, write)
    height = _draw_moments(pane, plot, readings, width)
    rows = tuple((r.label, write(r.value) if r.value is not None else "–") for r in readings)
    sentence = trend_sentence(readings, limit, write)
    svg = pane.svg(ident, title, sentence, width, height, printed)
    return Drawn(svg, title, sentence, width, height, (Table(title, ("When", "Value"), rows),), sentence)


def _draw_scale(pane: Pane, plot: Plot, limit: Limit | None) -> None:
    pane.strokes("d-hair", [[(LEFT, plot.y(value)), (plot.right, plot.y(value))] for value in plot.scale])
    wanted = [plot.y(value) for value in plot.scale]
    limit_y = plot.y(limit.value) if limit else -1e9
    for value, y in zip(plot.scale, wanted, strict=True):
        if abs(y - limit_y) > SIZE - 1 or y == limit_y:
            pane.text(LEFT - 7, y + 4.3, figure(value, "", 0 if float(value).is_integer() else 1), "d-quiet", "end")
    if limit:
        pane.path("d-limit", line_d([(LEFT, limit_y), (plot.right, limit_y)]))
        if all(abs(limit_y - y) > 0.5 for y in wanted):
            pane.text(LEFT - 7, limit_y + 4.3, figure(limit.value, "", 0), "d-quiet", "end")


def _is_low(reading: Reading, limit: Limit | None) -> bool:
    return limit is not None and reading.value is not None and reading.value < limit.value


def _draw_dots(pane: Pane, readings: Sequence[Reading], points: Sequence[Point | None], limit: Limit | None) -> None:
    marks = [(point, _is_low(reading, limit)) for reading, point in zip(readings, points, strict=True) if point]
    pane.path("d-solid", "".join(circle_d(*point, 2.2) for point, low in marks if not low))
    pane.path("d-open", "".join(circle_d(*point, 3.4) for point, low in marks if low))


def _draw_beside(pane: Pane, plot: Plot, readings: Sequence[Reading], limit: Limit | None, write: Style) -> None:
    """Write the last figure and the name of the limit beside the plot, apart."""
    known = [reading.value for reading in readings if reading.value is not None]
    words = [(plot.y(known[-1]), write(known[-1]), True)] if known else []
    words += [(plot.y(limit.value), limit.words, False)] if limit else []
    words.sort()
    spots = place([y for y, _, _ in words], [SIZE] * len(words), [0] * len(words), -1e3, 1e4)
    for (_, text, bold), y in zip(words, spots, strict=True):
        pane.text(plot.right + 8, y + 4.3, text, "d-strong" if bold else "d-quiet", bold=bold)


def _draw_low(
    pane: Pane, readings: Sequence[Reading], points: Sequence[Point | None], limit: Limit | None, write: Style
) -> None:
    """Write the figures of readings under the limit, the lowest first, where they find room below their dot."""
    low = [(reading.value, point) for reading, point in zip(readings, points, strict=True) if _is_low(reading, limit)]
    known = [point for point in points if point]
    taken: list[Box] = []
    for value, point in sorted((v, p) for v, p in low if v is not None and p is not None and p != known[-1]):
        words = figure(value, "", write.digits)
        box = text_box(point[0], point[1] + 16, words, "middle", True)
        if not any(box.meets(other, 2.0) for other in taken):
            pane.rect("d-gap", box)
            taken.append(pane.text(point[0], point[1] + 16, words, "d-strong", "middle", bold=True))


def _draw_moments(pane: Pane, plot: Plot, readings: Sequence[Reading], width: float) -> float:
    """Write the moments below, as many as find room, the last always."""
    base = TOP + HIGH + 32.0
    wide = max((lettering.width(reading.label, SIZE) for reading in readings), default=0.0) + 12.0
    step = (plot.right - LEFT - INDENT) / max(plot.count - 1, 1)
    every = max(int(-(-wide // step)), 1) if step > 0 else 1
    last = plot.count - 1
    shown = [i for i in range(0, plot.count, every) if i == last or (last - i) * step >= wide]
    for i in shown + ([last] if readings and last not in shown else []):
        half = lettering.width(readings[i].label, SIZE) / 2
        x = min(max(plot.x(i), half + 1), width - half - 1)
        pane.text(x, base, readings[i].label, "d-quiet", "middle")
    return base + 6.0


def trend_sentence(readings: Sequence[Reading], limit: Limit | None, write: Style) -> str:
    """Return what the line says: its range, and when it was under the limit."""
    known = [reading.value for reading in readings if reading.value is not None]
    if not known:
        return "No figures yet."
    words = f"{len(known)} figures between {figure(min(known), '', write.digits)} and {write(max(known))}."
    low = [reading.label for reading in readings if _is_low(reading, limit)]
    if low and limit:
        words += f" Under the {limit.words}: {', '.join(low)}, drawn open."
    return words
