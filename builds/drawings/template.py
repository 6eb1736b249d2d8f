"""The drilling template of a part at true size, in millimetres, with a line to check the printer by."""

from dataclasses import dataclass
from math import ceil

from .pattern import Draughtsman, Pattern, describe, table
from .svg import Box, Drawn, Pane, line_d, rect_d

# One unit of a 700-unit drawing at 182 mm.
UNIT_MM = 0.26
RULER_MM = 100.0
RULER_HIGH = 24.0
ARROWS_HIGH = 16.0
ROUND_MM = 26.0
OVERLAP_MM = 15.0
MOST_SHEETS = 6
MEASURE = "measure this line: 100 mm"
PAPER_MM = (182.0, 200.0)


@dataclass(frozen=True)
class Tiling:
    """How many sheets a pattern takes across and down, and what one sheet shows of it [mm]."""

    across: int
    down: int
    wide_mm: float
    high_mm: float

    @property
    def count(self) -> int:
        return self.across * self.down


def tiling_of(pattern: Pattern, paper_mm: tuple[float, float] = PAPER_MM) -> Tiling:
    """Return how a pattern is laid over sheets that overlap by 15 mm. `paper_mm` is the room for the drawing."""
    extent = pattern.extent_mm
    wide, high = (extent.right - extent.left + 2 * ROUND_MM), (extent.bottom - extent.top + 2 * ROUND_MM)
    room_w, room_h = paper_mm[0], paper_mm[1] - RULER_HIGH - ARROWS_HIGH
    across = 1 if wide <= room_w else ceil((wide - OVERLAP_MM) / (room_w - OVERLAP_MM))
    down = 1 if high <= room_h else ceil((high - OVERLAP_MM) / (room_h - OVERLAP_MM))
    return Tiling(across, down, room_w, min(high, room_h))


def template(pattern: Pattern, ident: str, paper_mm: tuple[float, float] = PAPER_MM) -> tuple[Drawn, ...]:
    """Return the template as true-size drawings, one for each sheet of paper.

    Width and height of the SVG are in millimetres, as is its viewBox. Every sheet carries the 100 mm line. A pattern
    that would take more than six sheets, or has no openings, gives none: it is marked by the tape from the schedule.
    """
    tiling = tiling_of(pattern, paper_mm)
    if not pattern.cuts or tiling.count > MOST_SHEETS:
        return ()
    sheets = []
    for row in range(tiling.down):
        for column in range(tiling.across):
            number = row * tiling.across + column + 1
            sheets.append(_sheet(pattern, f"{ident}-{number}", tiling, column, row, paper_mm[0]))
    return tuple(sheets)


def _sheet(pattern: Pattern, ident: str, tiling: Tiling, column: int, row: int, width: float) -> Drawn:
    pane = Pane(1.0 / UNIT_MM)
    _draw_ruler(pane)
    window = Box(0.0, RULER_HIGH, width, RULER_HIGH + tiling.high_mm)
    extent = pattern.extent_mm
    left = extent.left - ROUND_MM + column * (tiling.wide_mm - OVERLAP_MM)
    top = extent.top - ROUND_MM + row * (tiling.high_mm - OVERLAP_MM)
    if tiling.across == 1:
        left = (extent.left + extent.right - width) / 2
    pane.clip(f"{ident}-window", window)
    draw = Draughtsman(pane, pattern, (window.left - left, window.top - top), 1.0)
    draw.centre_lines()
    draw.openings(hatched=False)
    draw.letters()
    draw.dimensions()
    pane.close()
    _draw_overlaps(pane, window, tiling, column, row)
    draw.arrows(Box(3.0, window.bottom + 3.0, width - 3.0, window.bottom + 13.0))
    number = row * tiling.across + column + 1
    name = f", sheet {number} of {tiling.count}" if tiling.count > 1 else ""
    note = "true size, print at 100 %, no fitting to the page"
    pane.text(width / 2, window.bottom + 9.5, f"{note}{name}", "d-text", "middle")
    height = window.bottom + ARROWS_HIGH
    title = f"Drilling template of {pattern.name}{name}"
    desc = describe(pattern, "True size, seen from outside, with a line of 100 mm to check the printer by.")
    svg = pane.svg(ident, title, desc, width, height, True, (width, height))
    return Drawn(svg, title, desc, width, height, (table(pattern),) if number == 1 else ())


def _draw_ruler(pane: Pane) -> None:
    """Draw the line of 100 mm between the middles of its end strokes, with blocks of 10 mm below it."""
    left, y = 6.0, 9.0
    pane.text(left + RULER_MM / 2, y - 2.0, MEASURE, "d-strong", "middle", bold=True)
    pane.path("d-tick", line_d([(left, y), (left + RULER_MM, y)]), "d-ruler")
    ends = [[(x, y - 4.0), (x, y + 6.0)] for x in (left, left + RULER_MM)]
    pane.strokes("d-tick", ends)
    ticks = [
        [(left + mm, y), (left + mm, y + (3.0 if mm % 10 == 0 else 2.2 if mm % 5 == 0 else 1.4))] for mm in range(100)
    ]
    pane.strokes("d-hair", ticks)
    pane.path("d-solid", "".join(rect_d(left + mm, y + 3.0, 10.0, 2.0) for mm in range(0, 100, 20)))
    pane.path("d-hair", rect_d(left, y + 3.0, RULER_MM, 2.0))
    for mm, words in ((0, "0"), (50, "50"), (100, "100 mm")):
        pane.text(left + mm, y + 10.0, words, "d-text", "middle")
    pane.text(left + RULER_MM + 14.0, y - 1.0, "Not 100 mm: do not cut.", "d-strong", bold=True)
    pane.text(left + RULER_MM + 14.0, y + 4.0, "Print again without scaling.", "d-text")


def _draw_overlaps(pane: Pane, window: Box, tiling: Tiling, column: int, row: int) -> None:
    """Draw a dashed line where the next sheet starts or the last one ends, with crosses to lay on one another."""
    if tiling.count == 1:
        return
    lines = []
    if column > 0:
        lines.append([(window.left + OVERLAP_MM, window.top), (window.left + OVERLAP_MM, window.bottom)])
    if column < tiling.across - 1:
        lines.append([(window.right - OVERLAP_MM, window.top), (window.right - OVERLAP_MM, window.bottom)])
    if row > 0:
        lines.append([(window.left, window.top + OVERLAP_MM), (window.right, window.top + OVERLAP_MM)])
    if row < tiling.down - 1:
        lines.append([(window.left, window.bottom - OVERLAP_MM), (window.right, window.bottom - OVERLAP_MM)])
    pane.strokes("d-hidden", lines)
    # The crosses stand in the middle of the overlap, a quarter from each end: the same spots on both sheets.
    half = OVERLAP_MM / 2
    columns = [
        x for x, here in ((window.left + half, column > 0), (window.right - half, column < tiling.across - 1)) if here
    ]
    rows = [y for y, here in ((window.top + half, row > 0), (window.bottom - half, row < tiling.down - 1)) if here]
    quarter_x, quarter_y = (window.right - window.left) / 4, (window.bottom - window.top) / 4
    spots = [(x, window.top + quarter_y * k) for x in columns for k in (1, 3)]
    spots += [(window.left + quarter_x * k, y) for y in rows for k in (1, 3)]
    crosses = [s for x, y in spots for s in ([(x - 3, y), (x + 3, y)], [(x, y - 3), (x, y + 3)])]
    pane.strokes("d-thin", crosses)
    left = window.left + (OVERLAP_MM + 3.0 if column > 0 else 3.0)
    top = window.top + (OVERLAP_MM + 4.0 if row > 0 else 4.0)
    pane.text(left, top, "Lay the crosses of two sheets on each other.", "d-text")
