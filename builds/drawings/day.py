"""The charge of a battery over the plan of its day."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor

from shop.units import THIN, number

from . import text as lettering
from .labels import place, words_in_rows
from .svg import SIZE, Drawn, Pane, Point, Table, circle_d, hatch_d, line_d

LEFT, RIGHT, TOP, PLOT_HIGH = 46.0, 108.0, 16.0, 110.0
LOWEST_SHOWN = -1.0
NAME_ROW = 14.0


@dataclass(frozen=True)
class Spell:
    """A part of the day [h], and the charge at its end as a fraction; below 0 that much is lacking."""

    name: str
    hours: float
    charge_after: float


@dataclass(frozen=True, kw_only=True)
class Day:
    """A battery over its day: the spells in order, what is kept back (1 less the usable depth), its steady figures."""

    name: str
    spells: tuple[Spell, ...]
    keep_back: float
    mean_current_a: float | None = None
    hours_to_empty: float | None = None

    @property
    def hours(self) -> float:
        return sum(spell.hours for spell in self.spells)

    @property
    def points(self) -> list[tuple[float, float]]:
        """Hours since the start, and charge there; straight between."""
        points = [(0.0, 1.0)]
        for spell in self.spells:
            points.append((points[-1][0] + spell.hours, spell.charge_after))
        return points


@dataclass(frozen=True)
class Plot:
    """The field of the curve: units an hour, the lowest charge shown, its hours."""

    across: float
    floor: float
    hours: float

    @property
    def bottom(self) -> float:
        return TOP + PLOT_HIGH * (1.0 - self.floor)

    def at(self, hour: float, charge: float) -> Point:
        return LEFT + hour * self.across, TOP + (1.0 - max(charge, self.floor)) * PLOT_HIGH


def day(battery: Day, ident: str, width: float = 420.0, printed: bool = False) -> Drawn:
    """Return the charge over the day as a drawing, the sentence that stands under it, and a row for each spell."""
    pane = Pane()
    points = battery.points
    lowest = max(min(charge for _, charge in points), LOWEST_SHOWN)
    hours = max(battery.hours, 1e-9)
    plot = Plot((width - LEFT - RIGHT) / hours, min(floor(lowest * 2) / 2, 0.0), hours)
    curve = [plot.at(*point) for point in points]
    _draw_ground(pane, battery, plot)
    pane.path("d-under", line_d([*curve, plot.at(hours, plot.floor), plot.at(0.0, plot.floor)], closed=True))
    _draw_keep_back(pane, battery, plot)
    pane.path("d-out", line_d(curve))
    pane.path("d-solid", "".join(circle_d(x, y, 2.6) for x, y in curve[1:]))
    _draw_percents(pane, battery, plot, curve)
    _draw_hours(pane, battery, plot)
    height = _draw_names(pane, battery, plot, width)
    sentence = day_sentence(battery)
    title = f"{battery.name} over the day"
    svg = pane.svg(ident, title, sentence, width, height, printed)
    return Drawn(svg, title, sentence, width, height, (table(battery),), sentence)


def percent(share: float) -> str:
    return number(share * 100, 0)


def _draw_ground(pane: Pane, battery: Day, plot: Plot) -> None:
    """Draw the axes: charge at the left, hours below."""
    shares = sorted({1.0, 0.5, 0.0, plot.floor, battery.keep_back}, reverse=True)
    lines = [[plot.at(0.0, share), plot.at(plot.hours, share)] for share in shares]
    pane.strokes("d-hair", [*lines, [plot.at(0.0, 1.0), plot.at(0.0, plot.floor)]])
    wanted = [plot.at(0.0, share)[1] for share in shares]
    spots = place(wanted, [SIZE - 2.0] * len(wanted), [0] * len(wanted), -50.0, 1e4)
    for share, y in zip(shares, spots, strict=True):
        words = f"{percent(share)}{THIN}%" if share == 1.0 else percent(share)
        pane.text(LEFT - 6, y + 4.3, words, "d-quiet", "end")


def _draw_keep_back(pane: Pane, battery: Day, plot: Plot) -> None:
    """Hatch what is to be kept back."""
    if battery.keep_back <= 0:
        return
    (left, top), (right, bottom) = plot.at(0.0, battery.keep_back), plot.at(plot.hours, 0.0)
    pane.path("d-hatch", hatch_d([(left, top), (right, top), (right, bottom), (left, bottom)], 7.0))
    pane.path("d-limit", line_d([(left, top), (right, top)]))


def _draw_percents(pane: Pane, battery: Day, plot: Plot, curve: Sequence[Point]) -> None:
    """Write the charge at the end of each spell; the last with its words beside the plot, clear of "keep back"."""
    last_x, last_y = curve[-1]
    left = battery.points[-1][1]
    words = f"{percent(left)}{THIN}% left" if left >= 0 else f"{percent(-left)}{THIN}% lacking"
    beside = [(last_y, words, True)]
    if battery.keep_back > 0:
        beside.append((TOP + (1.0 - battery.keep_back / 2) * PLOT_HIGH, "keep back", False))
    beside.sort()
    spots = place([y for y, _, _ in beside], [SIZE] * len(beside), [0] * len(beside), 0.0, plot.bottom + 5.0)
    for (_, text, bold), y in zip(beside, spots, strict=True):
        pane.text(last_x + 8, y + 4.3, text, "d-strong" if bold else "d-quiet", bold=bold)
    end = -1e9
    for (x, y), (_, charge) in zip(curve[1:-1], battery.points[1:-1], strict=True):
        text = percent(charge)
        wide = lettering.width(text, SIZE, bold=True)
        # Above 0 to the right of the point, below 0 to its left: clear of the curve and of the line at 0.
        below = charge < 0 and y + 18 < plot.bottom
        left = x - 4 - wide if below else x + 4
        if left > end + 4 and left + wide < last_x - 4:
            end = pane.text(left, y + 14 if below else y - 5, text, "d-strong", bold=True).right


def _draw_hours(pane: Pane, battery: Day, plot: Plot) -> None:
    """Write the hours at the ends of the spells, where there is room; the last one always."""
    hours = [hour for hour, _ in battery.points]
    pane.strokes("d-hair", [[(plot.at(h, 0.0)[0], plot.bottom), (plot.at(h, 0.0)[0], plot.bottom + 4)] for h in hours])
    pane.strokes("d-dots", [[plot.at(h, charge), plot.at(h, plot.floor)] for h, charge in battery.points[1:-1]])
    last = f"{number(hours[-1], 1).removesuffix('.0')}{THIN}h"
    end = pane.text(plot.at(hours[-1], 0.0)[0], plot.bottom + 17, last, "d-quiet", "middle").left
    start = -1e9
    for hour in hours[:-1]:
        words, x = number(hour, 1).removesuffix(".0"), plot.at(hour, 0.0)[0]
        half = lettering.width(words, SIZE) / 2
        if start + 4 < x - half and x + half < end - 4:
            start = pane.text(x, plot.bottom + 17, words, "d-quiet", "middle").right


def _draw_names(pane: Pane, battery: Day, plot: Plot, width: float) -> float:
    """Write the names of the spells below, in as many rows as they need; return the height of the drawing."""
    hours = [hour for hour, _ in battery.points]
    middles = [plot.at((a + b) / 2, 0.0)[0] for a, b in pairwise(hours)]
    names = [lettering.shorten(spell.name, SIZE, 120.0) for spell in battery.spells]
    sizes = [lettering.width(name, SIZE) for name in names]
    shown = words_in_rows(middles, sizes, 2.0, width - 2.0)
    for i, row, x in shown:
        pane.text(x, plot.bottom + 32 + NAME_ROW * row, names[i], "d-quiet", "middle")
    return plot.bottom + 40 + NAME_ROW * max((row for _, row, _ in shown), default=0)


def day_sentence(battery: Day) -> str:
    """Return what the drawing says: what is left, against what is kept back."""
    left = battery.points[-1][1]
    hours = f"{number(battery.hours, 1).removesuffix('.0')}{THIN}h"
    keep = f"{percent(battery.keep_back)}{THIN}%"
    if left < 0:
        words = f"The day of {hours} takes all of the charge and {percent(-left)}{THIN}% more."
    elif left < battery.keep_back:
        words = f"After {hours} {percent(left)}{THIN}% is left: less than the {keep} to keep back."
    else:
        words = f"After {hours} {percent(left)}{THIN}% is left; {keep} is to be kept back."
    if battery.mean_current_a is not None and battery.hours_to_empty is not None:
        words += f" Mean current {number(battery.mean_current_a, 2)}{THIN}A;"
        words += f" empty after {number(battery.hours_to_empty, 1)}{THIN}h."
    return words


def table(battery: Day) -> Table:
    """Return a row for each spell: hours, charge at its end."""
    rows = tuple(
        (spell.name, f"{number(spell.hours, 1)}{THIN}h", f"{percent(spell.charge_after)}{THIN}%")
        for spell in battery.spells
    )
    return Table(f"{battery.name} over the day", ("Spell", "Hours", "Charge at its end"), rows)
