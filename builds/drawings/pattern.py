"""The openings of one part as a pattern, seen from outside: centre lines, sizes, dimensions. Millimetres throughout."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shop.units import THIN

from .boat import DRILLED_MM
from .svg import Box, Drawn, Pane, Point, Table, circle_d, hatch_d, line_d, round_rect_d, text_box
from .words import number_text

STARBOARD, PORT = "starboard", "port"
MOST_HIGH = 360.0
MARGIN_RIGHT, MARGIN_TOP = 66.0, 34.0
ACROSS_STEP, UPRIGHT_STEP = 19.0, 34.0
CENTRE_OVER = 12.0
SMALLEST = 4.0
LARGEST_SCALE = 4.0


@dataclass(frozen=True, kw_only=True)
class Cut:
    """An opening of a pattern: its shape and size, and its centre aft and to starboard (on a side: up) [mm]."""

    shape: str = "round"
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    diameter_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    corner_mm: float = 0.0
    purpose: str = ""
    letter: str = ""
    bit: str = ""

    @property
    def size_mm(self) -> tuple[float, float]:
        """The extent along the hull and across (or up) [mm]."""
        if self.shape == "round":
            return self.diameter_mm or 0.0, self.diameter_mm or 0.0
        return self.width_mm or 0.0, self.height_mm or 0.0

    @property
    def drilled(self) -> bool:
        return self.shape == "round" and (self.diameter_mm or 0.0) <= DRILLED_MM

    @property
    def size_text(self) -> str:
        """Return "5.2" or "95 × 60"."""
        wide, high = self.size_mm
        return number_text(wide) if self.shape == "round" else f"{number_text(wide)} × {number_text(high)}"


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """The openings of a part on one surface; `side` is where it sits: starboard, port, or "" on the centreline."""

    name: str
    cuts: tuple[Cut, ...]
    surface: str = "deck"
    side: str = ""

    @property
    def aft(self) -> int:
        """1 where aft is right on the drawing: seen from outside, the starboard side has her bow to the right."""
        return -1 if self.surface == "side" and self.side == STARBOARD else 1

    @property
    def up(self) -> int:
        """1 where dy points up on the drawing: the bottom is seen from below."""
        return -1 if self.surface == "bottom" else 1

    @property
    def bow_left(self) -> bool:
        return self.aft == 1

    @property
    def mark(self) -> tuple[str, int]:
        """The word of the second arrow and 1 where it points up on the drawing."""
        if self.surface == "side":
            return "gunwale", 1
        if self.side == PORT:
            return "outboard", -self.up
        return ("outboard" if self.side == STARBOARD else "starboard"), self.up

    @property
    def extent_mm(self) -> Box:
        """The box round all openings, x to the right and y down as drawn, about the place of the part [mm]."""
        boxes = [self.box_of(cut) for cut in self.cuts] or [Box(0, 0, 0, 0)]
        return Box(
            min(0.0, *(b.left for b in boxes)),
            min(0.0, *(b.top for b in boxes)),
            max(0.0, *(b.right for b in boxes)),
            max(0.0, *(b.bottom for b in boxes)),
        )

    def centre_of(self, cut: Cut) -> Point:
        """Return the centre as drawn: x to the right, y down [mm]."""
        return self.aft * cut.dx_mm, -self.up * cut.dy_mm

    def box_of(self, cut: Cut) -> Box:
        x, y = self.centre_of(cut)
        wide, high = cut.size_mm
        return Box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)


def pattern_drawing(pattern: Pattern, ident: str, width: float = 430.0, printed: bool = False) -> Drawn:
    """Return the pattern as large as fits, with its dimensions in mm: for the page of an accessory type."""
    pane = Pane()
    extent = pattern.extent_mm
    wide, high = max(extent.right - extent.left, SMALLEST), max(extent.bottom - extent.top, SMALLEST)
    margin = 34.0 + UPRIGHT_STEP * len(spans_of(pattern, 1))
    free = width - margin - MARGIN_RIGHT
    scale = min(free / wide, MOST_HIGH / high, LARGEST_SCALE)
    origin = margin + (free - wide * scale) / 2 - extent.left * scale, MARGIN_TOP - extent.top * scale
    draw = Draughtsman(pane, pattern, origin, scale)
    pane.text(2.0, 12.0, "mm, seen from outside", "d-quiet")
    draw.centre_lines()
    draw.openings(hatched=True)
    bottom = draw.dimensions()
    draw.sizes_by_kind()
    arrow_row = bottom + 12.0
    draw.arrows(Box(2.0, arrow_row, width - 2.0, arrow_row + 18.0))
    height = arrow_row + 22.0
    title = f"Openings of {pattern.name}, seen from outside"
    desc = describe(pattern, "Not to scale.")
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (table(pattern),))


def describe(pattern: Pattern, note: str) -> str:
    """Return a sentence on what the drawing shows."""
    bow = "left" if pattern.bow_left else "right"
    word, up = pattern.mark
    return f"{note} Bow to the {bow}, {word} {'up' if up > 0 else 'down'}. {counted(pattern.cuts)}."


def counted(cuts: Iterable[Cut]) -> str:
    """Return "4 × 4.2 mm, 1 × 95 × 60 mm"."""
    counts: dict[str, int] = {}
    for cut in cuts:
        counts[cut.size_text] = counts.get(cut.size_text, 0) + 1
    return ", ".join(f"{count} × {size} mm" for size, count in counts.items()) or "No openings"


def table(pattern: Pattern) -> Table:
    """Return a row for each opening: letter, what it is for, size, place, bit."""
    rows = tuple(
        (cut.letter, cut.purpose, f"{cut.size_text} mm", number_text(cut.dx_mm), number_text(cut.dy_mm), cut.bit)
        for cut in pattern.cuts
    )
    across = "Up, mm" if pattern.surface == "side" else "To starboard, mm"
    return Table(f"Openings of {pattern.name}", ("Letter", "For", "Size", "Aft, mm", across, "Bit"), rows)


def spans_of(pattern: Pattern, axis: int) -> list[tuple[float, float]]:
    """Return what is dimensioned across (0) or upright (1), as drawn [mm], the shortest first."""
    spans = set()
    for cut in pattern.cuts:
        if cut.shape != "round":
            box = pattern.box_of(cut)
            spans.add((round(box[axis], 2), round(box[axis + 2], 2)))
    centres = [round(pattern.centre_of(cut)[axis], 2) for cut in pattern.cuts if cut.drilled]
    centres = centres or [round(pattern.centre_of(cut)[axis], 2) for cut in pattern.cuts]
    if centres and max(centres) - min(centres) > 0.05:
        spans.add((min(centres), max(centres)))
    return sorted(spans, key=lambda span: span[1] - span[0])[:3]


class Draughtsman:
    """Draws a pattern on a pane: `origin` is the place of the part, `scale` units a millimetre."""

    def __init__(self, pane: Pane, pattern: Pattern, origin: Point, scale: float) -> None:
        self.pane, self.pattern, self.origin, self.scale = pane, pattern, origin, scale
        self.unit = pane.size / 12.0
        self.taken: list[Box] = []

    def xy(self, x_mm: float, y_mm: float) -> Point:
        return self.origin[0] + x_mm * self.scale, self.origin[1] + y_mm * self.scale

    def box(self, cut: Cut) -> Box:
        """Return the box of an opening on the pane."""
        box = self.pattern.box_of(cut)
        return Box(*self.xy(box.left, box.top), *self.xy(box.right, box.bottom))

    def centre_lines(self) -> None:
        """Draw the centre lines through the place of the part."""
        extent, over = self.pattern.extent_mm, CENTRE_OVER * self.unit
        left, top = self.xy(extent.left, extent.top)
        right, bottom = self.xy(extent.right, extent.bottom)
        x, y = self.origin
        across = line_d([(left - over, y), (right + over, y)])
        self.pane.path("d-chain", across + line_d([(x, top - over), (x, bottom + over)]))

    def openings(self, hatched: bool) -> None:
        """Draw every opening with its cross."""
        crosses = []
        for cut in self.pattern.cuts:
            box = self.box(cut)
            x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
            self.pane.open("d-hole", opening=cut.letter)
            if cut.shape == "round":
                self.pane.path("d-part", circle_d(x, y, (box.right - box.left) / 2))
            else:
                high, wide = box.bottom - box.top, box.right - box.left
                corner = min(high, wide) / 2 if cut.shape == "slot" else cut.corner_mm * self.scale
                if hatched:
                    self._hatch(box, corner)
                self.pane.path("d-part", round_rect_d(box.left, box.top, wide, high, corner))
            self.pane.close()
            self.taken.append(box)
            over = 3.0 * self.unit
            if abs(cut.dx_mm) < 0.05 and abs(cut.dy_mm) < 0.05:
                continue
            crosses += [[(box.left - over, y), (box.right + over, y)], [(x, box.top - over), (x, box.bottom + over)]]
        self.pane.strokes("d-hair", crosses)

    def _hatch(self, box: Box, corner: float) -> None:
        inset = min(corner * 0.3 + 2.0 * self.unit, (box.right - box.left) / 4, (box.bottom - box.top) / 4)
        left, top, right, bottom = box.left + inset, box.top + inset, box.right - inset, box.bottom - inset
        corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
        self.pane.path("d-hatch", hatch_d(corners, 7.0 * self.unit))

    def label(self, cut: Cut, words: str) -> None:
        """Write beside an opening, where nothing else stands; a large one is labelled inside."""
        box = self.box(cut)
        x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
        gap, low = 4.0 * self.unit, 4.3 * self.unit
        spots = [
            (box.right + gap, y - gap, "start"),
            (box.left - gap, y - gap, "end"),
            (box.right + gap, y + gap + 2 * low, "start"),
            (box.left - gap, y + gap + 2 * low, "end"),
            (x, box.top - gap, "middle"),
            (x, box.bottom + gap + 2 * low, "middle"),
            (x + gap, y - gap, "start"),
        ]
        if box.right - box.left > 60.0 * self.unit and box.bottom - box.top > 40.0 * self.unit:
            spots.insert(0, (x + gap, y - gap, "start"))
        best = min(
            spots, key=lambda spot: self._hits(text_box(spot[0], spot[1], words, spot[2], True, self.pane.size), cut)
        )
        self.taken.append(self.pane.text(*best[:2], words, "d-strong", best[2], bold=True))

    def _hits(self, box: Box, cut: Cut) -> int:
        own = self.box(cut)
        return sum(box.meets(other, 1.0 * self.unit) for other in self.taken if other != own)

    def letters(self) -> None:
        """Write letter and size at every opening."""
        for cut in self.pattern.cuts:
            size = f"{cut.size_text}{THIN}mm"
            self.label(cut, f"{cut.letter}  {size}" if cut.letter else size)

    def sizes_by_kind(self) -> None:
        """Write each size once, with how many there are, at the opening furthest right and up."""
        kinds: dict[str, list[Cut]] = {}
        for cut in self.pattern.cuts:
            if cut.shape == "round":
                kinds.setdefault(cut.size_text, []).append(cut)
        for size, cuts in kinds.items():
            chosen = max(cuts, key=lambda cut: (self.box(cut).right, -self.box(cut).top))
            self.label(chosen, f"{len(cuts)} × {size}" if len(cuts) > 1 else size)

    def dimensions(self) -> float:
        """Draw widths below and heights at the left, of cut-outs and from first to last centre; return the bottom."""
        extent = self.pattern.extent_mm
        left, bottom = self.xy(extent.left, extent.bottom)
        clear = (CENTRE_OVER + 14.0) * self.unit
        down, out = bottom + clear, left - 20.0 * self.unit
        for low, high in spans_of(self.pattern, 0):
            self._across(self.xy(low, 0)[0], self.xy(high, 0)[0], bottom, down, number_text(high - low))
            down += ACROSS_STEP * self.unit
        for low, high in spans_of(self.pattern, 1):
            self._upright(self.xy(0, low)[1], self.xy(0, high)[1], left, out, number_text(high - low))
            out -= UPRIGHT_STEP * self.unit
        return down - ACROSS_STEP * self.unit

    def _across(self, x1: float, x2: float, from_y: float, y: float, words: str) -> None:
        reach = 3.0 * self.unit
        strokes = [[(x1, from_y + reach), (x1, y + reach)], [(x2, from_y + reach), (x2, y + reach)], [(x1, y), (x2, y)]]
        self.pane.strokes("d-hair", strokes)
        self._heads([(x1, y, 1, 0), (x2, y, -1, 0)])
        self.pane.text((x1 + x2) / 2, y - 3.0 * self.unit, words, "d-strong", "middle", bold=True)

    def _upright(self, y1: float, y2: float, from_x: float, x: float, words: str) -> None:
        reach = 3.0 * self.unit
        strokes = [[(from_x - reach, y1), (x - reach, y1)], [(from_x - reach, y2), (x - reach, y2)], [(x, y1), (x, y2)]]
        self.pane.strokes("d-hair", strokes)
        self._heads([(x, y1, 0, 1), (x, y2, 0, -1)])
        self.pane.text(x - 4.0 * self.unit, (y1 + y2) / 2 + 4.3 * self.unit, words, "d-strong", "end", bold=True)

    def _heads(self, heads: Sequence[tuple[float, float, int, int]]) -> None:
        long, half = 6.0 * self.unit, 1.8 * self.unit
        d = ""
        for x, y, dx, dy in heads:
            base_x, base_y = x + dx * long, y + dy * long
            d += line_d(
                [(x, y), (base_x - dy * half, base_y + dx * half), (base_x + dy * half, base_y - dx * half)], True
            )
        self.pane.path("d-solid", d)

    def arrows(self, room: Box) -> None:
        """Draw the arrow to the bow at one end of a row, and the one outboard at the other."""
        u = self.unit
        y = (room.top + room.bottom) / 2
        long = 34.0 * u
        left = self.pattern.bow_left
        tip, tail = (room.left, room.left + long) if left else (room.right, room.right - long)
        self.pane.path("d-part", line_d([(tail, y), (tip, y)]))
        self._heads([(tip, y, 1 if left else -1, 0)])
        word_x = tail + (6 * u if left else -6 * u)
        self.pane.text(word_x, y + 4.3 * u, "bow", "d-strong", "start" if left else "end", bold=True)
        word, up = self.pattern.mark
        x = room.right - 4 * u if left else room.left + 4 * u
        high = room.bottom - room.top
        tip_y, tail_y = (room.top, room.top + high) if up > 0 else (room.bottom, room.bottom - high)
        self.pane.path("d-part", line_d([(x, tail_y), (x, tip_y)]))
        self._heads([(x, tip_y, 0, 1 if up > 0 else -1)])
        beside = x + (-8 * u if left else 8 * u)
        self.pane.text(beside, y + 4.3 * u, word, "d-strong", "end" if left else "start", bold=True)
