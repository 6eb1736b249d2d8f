"""The two gauges beside a ticket's figures: the load against what the maker allows, the bench time with its spread."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from shop.units import METRIC, THIN, figures_of_mass, format_mass, format_minutes, number

from . import text as lettering
from .bars import Axis
from .labels import place, words_in_rows
from .svg import SIZE, Box, Drawn, Pane, Point, Table, hatch_d, line_d

HIGH = 12.0
SIDE = 6.0
FILLS = ("solid", "lines", "hatch", "open")
HOUR_STEPS = (1, 2, 4, 8, 12, 24, 48, 96, 192, 480, 960, 4800, 24_000, 240_000)
MOST_BLOCKS = 8


@dataclass(frozen=True)
class Share:
    """A part of the load: a word and its mass [kg]."""

    name: str
    mass_kg: float


def load_gauge(
    shares: Sequence[Share],
    rated_kg: float | None,
    ident: str,
    marks: Sequence[float] = (0.70, 0.85),
    units: str = METRIC,
    width: float = 390.0,
    printed: bool = False,
) -> Drawn:
    """Return the load as one bar (paddler solid, kit lined, parts hatched) against the rated load.

    `marks` are the shares of the rated load with a tick above the bar. What lies above the rated load is crossed.
    Without a rated load there are no marks, and the bar is as long as the load. Table: every share.
    """
    pane = Pane()
    total = sum(share.mass_kg for share in shares)
    axis = Axis(0.0, max(total, rated_kg or 0.0, 1e-9), SIDE, width - SIDE)
    top = 18.0
    start = 0.0
    middles = []
    for share, fill in zip(shares, (*FILLS, *FILLS[-1:] * len(shares)), strict=False):
        _fill(pane, fill, Box(axis.x(start), top, axis.x(start + share.mass_kg), top + HIGH))
        middles.append(axis.x(start + share.mass_kg / 2))
        start += share.mass_kg
    if rated_kg is not None and total > rated_kg:
        over = Box(axis.x(rated_kg), top - 6, axis.x(total), top)
        pane.path("d-cross", hatch_d(_corners(over), 5.0) + hatch_d(_corners(over), 5.0, -1.0))
    ends = [[(axis.left, top), (axis.right, top)], [(axis.left, top + HIGH), (axis.right, top + HIGH)]]
    pane.strokes("d-hair", ends)
    if rated_kg is not None:
        _draw_marks(pane, axis, rated_kg, marks, top)
    words = [f"{share.name} {_mass(share.mass_kg, units)}" for share in shares]
    end = f"{_mass(rated_kg, units)} {figures_of_mass(1.0, units)[0][1]} rated" if rated_kg is not None else "no rating"
    rated_x = axis.x(rated_kg) if rated_kg is not None else axis.right
    height = _draw_words(pane, [*words, end], [*middles, rated_x], top + HIGH + 14.0, width)
    share_words = (
        f"{number(total / rated_kg * 100, 0)}{THIN}% of the rated {format_mass(rated_kg, units)}" if rated_kg else ""
    )
    desc = f"Load {format_mass(total, units)}: {', '.join(words)}. {share_words or 'No rated load is recorded'}."
    title = "Load against the rated load"
    rows = [(share.name, format_mass(share.mass_kg, units)) for share in shares]
    rows += [("load", format_mass(total, units)), ("rated", format_mass(rated_kg, units) if rated_kg else "not known")]
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (Table(title, ("What", "Mass"), tuple(rows)),))


def _mass(mass_kg: float, units: str) -> str:
    return figures_of_mass(mass_kg, units)[0][0].removesuffix(".0")


def _corners(box: Box) -> list[Point]:
    return [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]


def _fill(pane: Pane, fill: str, box: Box) -> None:
    """Draw one share of the bar: solid, lined along, hatched or open."""
    if box.right - box.left < 0.05:
        return
    if fill == "solid":
        pane.rect("d-solid", box)
        return
    pane.rect("d-open", box)
    if fill == "lines":
        pane.strokes("d-hatch", [[(box.left, box.top + k), (box.right, box.top + k)] for k in (3.0, 6.0, 9.0)])
    elif fill == "hatch":
        pane.path("d-hatch", hatch_d(_corners(box), 5.0))


def _draw_marks(pane: Pane, axis: Axis, rated_kg: float, marks: Sequence[float], top: float) -> None:
    ticks = [[(axis.x(rated_kg * mark), top - 4), (axis.x(rated_kg * mark), top + HIGH)] for mark in (*marks, 1.0)]
    pane.strokes("d-tick", ticks)
    words = [f"{number(mark * 100, 0)}{THIN}%" for mark in marks]
    sizes = [lettering.width(text, SIZE) for text in words]
    wanted = [axis.x(rated_kg * mark) for mark in marks]
    for text, x in zip(words, place(wanted, sizes, [0] * len(words), axis.left, axis.right), strict=True):
        pane.text(x, top - 7, text, "d-quiet", "middle")


def _draw_words(pane: Pane, words: Sequence[str], wanted: Sequence[float], base: float, width: float) -> float:
    """Write the words of the shares below the bar, in as many rows as they need."""
    sizes = [lettering.width(text, SIZE) for text in words]
    shown = words_in_rows(wanted, sizes, 2.0, width - 2.0)
    for i, row, x in shown:
        pane.text(x, base + 14.0 * row, words[i], "d-quiet", "middle")
    return base + 14.0 * max(row for _, row, _ in shown) + 5.0


def time_gauge(
    half_min: float, eight_in_ten_min: float, ident: str, width: float = 390.0, printed: bool = False
) -> Drawn:
    """Return the bench time as two points on a scale of hours: half of such jobs by the first, 8 in 10 by the second.

    The scale is a tape, not a bar: it need not start at nought.
    """
    pane = Pane()
    half, most = half_min / 60, max(eight_in_ten_min, half_min) / 60
    spread = max(most - half, 0.25)
    first, last = max(floor(half - 1.5 * spread), 0), ceil(most + 1.5 * spread)
    step = next(hours for hours in HOUR_STEPS if (last - first) / hours <= MOST_BLOCKS)
    first, last = step * floor(first / step), step * ceil(last / step)
    axis = Axis(first, last, 8.0, width - 22.0)
    top = 26.0
    blocks = [(h, h + step / 2) for h in range(first, last, step)]
    pane.path("d-solid", "".join(line_d(_corners(Box(axis.x(a), top, axis.x(b), top + 6)), True) for a, b in blocks))
    pane.path("d-hair", line_d(_corners(Box(axis.left, top, axis.right, top + 6)), True))
    for hour in range(first, last + 1, step):
        figure = f"{hour}{THIN}h" if hour + step > last else f"{hour}"
        pane.text(axis.x(hour), top + 20, figure, "d-quiet", "middle")
    points = [axis.x(half), axis.x(most)]
    pane.path("d-solid", "".join(line_d([(x, top - 1), (x - 5, top - 9), (x + 5, top - 9)], True) for x in points))
    words = [f"half by {format_minutes(half_min)}", f"8 in 10 by {format_minutes(max(eight_in_ten_min, half_min))}"]
    sizes = [lettering.width(text, SIZE, bold=True) + 6.0 for text in words]
    for text, x in zip(words, place(points, sizes, [0, 0], 1.0, width - 1.0), strict=True):
        pane.text(x, top - 13, text, "d-strong", "middle", bold=True)
    title = "Bench time"
    desc = f"Half of such jobs are done in {format_minutes(half_min)}, 8 in 10 in {format_minutes(eight_in_ten_min)}."
    rows = (("half by", format_minutes(half_min)), ("8 in 10 by", format_minutes(eight_in_ten_min)))
    height = top + 25.0
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (Table(title, ("Share of such jobs", "Minutes"), rows),), desc)
