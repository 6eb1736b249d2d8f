"""A small writer of SVG: every stroke with black-and-white attributes and a class, every drawing titled."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from itertools import chain
from typing import NamedTuple

from . import text as lettering

SIZE = 12.0
LONG = 12
FONT = "B612, 'DejaVu Sans', sans-serif"
Point = tuple[float, float]

_LINE = 'fill="none" stroke="#000" stroke-width="{}"'
_ROUND = ' stroke-linejoin="round"'
STROKES = {
    "d-out": _LINE.format(1.8) + _ROUND,
    "d-part": _LINE.format(1.3) + _ROUND,
    "d-thin": _LINE.format(0.9),
    "d-hair": _LINE.format(0.7),
    "d-chain": _LINE.format(0.7) + ' stroke-dasharray="14 3 3 3"',
    "d-hidden": _LINE.format(0.9) + ' stroke-dasharray="5 3"',
    "d-limit": _LINE.format(1.3) + ' stroke-dasharray="6 4"',
    "d-dots": _LINE.format(1) + ' stroke-dasharray="1 4"',
    "d-wire": _LINE.format(1.3),
    "d-tick": _LINE.format(1.8),
    "d-water": _LINE.format(1.3),
    "d-contour": _LINE.format(0.7),
    "d-band": _LINE.format(0.7),
    "d-band-edge": _LINE.format(0.7) + ' stroke-dasharray="6 3"',
    "d-hatch": _LINE.format(0.7),
    "d-cross": _LINE.format(0.7),
    "d-tint": 'fill="none"',
    "d-under": 'fill="none"',
    "d-skin": 'fill="#fff"',
    "d-body": 'fill="#fff" stroke="#000" stroke-width="1.3"' + _ROUND,
    "d-ring-in": 'fill="#fff" stroke="#000" stroke-width="0.9" stroke-dasharray="3 2"',
    "d-solid": 'fill="#000"',
    "d-cut": 'fill="#fff" stroke="#000" stroke-width="0.9"',
    "d-spot": 'fill="#fff" stroke="#000" stroke-width="0.7"',
    "d-press": 'fill="none" pointer-events="all"',
    "d-ring": 'fill="#fff" stroke="#000" stroke-width="0.9"',
    "d-open": 'fill="#fff" stroke="#000" stroke-width="1.3"',
    "d-gap": 'fill="#fff"',
    "d-balloon": 'fill="#fff" stroke="#000" stroke-width="1.3"',
    "d-letter": 'fill="#fff" stroke="#000" stroke-width="1.3"',
    "d-sleeve": 'fill="#fff" stroke="#000" stroke-width="0.7"',
}


_WIDTHS = re.compile(r'(stroke-width|stroke-dasharray)="([^"]+)"')


@cache
def strokes_at(unit: float) -> dict[str, str]:
    """Return STROKES for a drawing whose unit is that many times larger than 0.26 mm."""

    def scaled(match: re.Match[str]) -> str:
        numbers = " ".join(f"{float(number) / unit:.3g}" for number in match[2].split())
        return f'{match[1]}="{numbers}"'

    return {kind: _WIDTHS.sub(scaled, written) for kind, written in STROKES.items()}


class Box(NamedTuple):
    """A rectangle of the drawing, corners ordered."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box", gap: float = 0.0) -> bool:
        """Return whether the two overlap, or come nearer than the gap."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )


@dataclass(frozen=True)
class Table:
    """The facts of a drawing as text: a caption, the column heads, the rows."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Drawn:
    """A finished drawing. `width` and `height` are those of its viewBox."""

    svg: str
    title: str
    desc: str
    width: float
    height: float
    tables: tuple[Table, ...] = ()
    sentence: str = ""

    def __str__(self) -> str:
        return self.svg

    def __html__(self) -> str:
        """Templates take the SVG as it is: every text in it is escaped where it is written."""
        return self.svg


def num(value: float) -> str:
    """Return a number rounded to 0.01, without trailing noughts."""
    written = f"{value:.2f}"
    if written.endswith(".00"):
        written = written[:-3]
    elif written.endswith("0"):
        written = written[:-1]
    return "0" if written in ("-0", "-0.0") else written


def line_d(points: Iterable[Point], closed: bool = False) -> str:
    """Return path data of straight strokes through the points."""
    points = list(points)
    if len(points) > LONG:
        # A long outline is written in one go: its trailing noughts cost less than taking them off.
        body = "L".join(["%.2f %.2f"] * len(points)) % tuple(chain.from_iterable(points))
    else:
        body = "L".join([f"{num(x)} {num(y)}" for x, y in points])
    return f"M{body}Z" if closed else f"M{body}"


def lines_d(strokes: Iterable[Sequence[Point]]) -> str:
    """Return path data of many separate strokes: one path is drawn faster than many."""
    return "".join([line_d(stroke) for stroke in strokes])


def rect_d(left: float, top: float, width: float, height: float) -> str:
    """Return path data of a rectangle."""
    return f"M{num(left)} {num(top)}h{num(width)}v{num(height)}h{num(-width)}Z"


def circle_d(x: float, y: float, radius: float) -> str:
    """Return path data of a circle."""
    r, across = num(radius), num(2 * radius)
    return f"M{num(x - radius)} {num(y)}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0 -{across} 0Z"


def round_rect_d(left: float, top: float, width: float, height: float, corner: float) -> str:
    """Return path data of a rectangle with rounded corners."""
    r = min(corner, width / 2, height / 2)
    if r <= 0.005:
        return rect_d(left, top, width, height)
    arc, across, down = f"a{num(r)} {num(r)} 0 0 1", num(width - 2 * r), num(height - 2 * r)
    q, m = num(r), num(-r)
    return (
        f"M{num(left + r)} {num(top)}h{across}{arc} {q} {q}v{down}{arc} {m} {q}"
        f"h{num(2 * r - width)}{arc} {m} {m}v{num(2 * r - height)}{arc} {q} {m}Z"
    )


def hatch_d(corners: Sequence[Point], step: float = 6.0, slope: float = 1.0) -> str:
    """Return path data of slanted strokes that fill a convex polygon; a stroke rises by `slope` for each unit right."""
    # A stroke is the line y = -slope * x + c; consecutive strokes lie `step` apart along x.
    offsets = [y + slope * x for x, y in corners]
    pitch = step * abs(slope)
    first = int(min(offsets) // pitch) + 1
    strokes = []
    for k in range(first, int(max(offsets) // pitch) + 1):
        ends = _cut(corners, slope, k * pitch)
        if len(ends) == 2 and ends[0] != ends[1]:
            strokes.append(ends)
    return lines_d(strokes)


def _cut(corners: Sequence[Point], slope: float, offset: float) -> list[Point]:
    """Return where the line y = offset - slope * x enters and leaves a convex polygon."""
    met: list[Point] = []
    for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        a, b = y1 + slope * x1 - offset, y2 + slope * x2 - offset
        if (a < 0) != (b < 0):
            share = a / (a - b)
            met.append((x1 + share * (x2 - x1), y1 + share * (y2 - y1)))
    return met


class Pane:
    """Collects the elements of one drawing, and the boxes of its lettering.

    `unit` is the drawing's unit in units of 0.26 mm, which is a 700th of 182 mm: pens and lettering follow it.
    """

    def __init__(self, unit: float = 1.0) -> None:
        self.pens = STROKES if unit == 1.0 else strokes_at(unit)
        self.size = SIZE / unit
        self.parts: list[str] = []
        self.boxes: list[Box] = []
        self.leaders: list[list[Point]] = []
        self.has_links = False

    def strokes(self, kind: str, strokes: Iterable[Sequence[Point]]) -> None:
        """Add separate strokes as one path."""
        self.path(kind, lines_d(strokes))

    def path(self, kind: str, d: str, also: str = "") -> None:
        """Add a path of a kind from STROKES; `also` holds further classes."""
        if d:
            self.parts.append(f'<path class="{kind}{" " + also if also else ""}" d="{d}" {self.pens[kind]}/>')

    def circle(self, kind: str, x: float, y: float, radius: float) -> None:
        self.parts.append(f'<circle class="{kind}" cx="{num(x)}" cy="{num(y)}" r="{num(radius)}" {self.pens[kind]}/>')

    def ellipse(self, kind: str, x: float, y: float, wide: float, high: float) -> None:
        """Add an ellipse of two radii."""
        if abs(wide - high) < 0.005:
            self.circle(kind, x, y, wide)
        else:
            at = f'cx="{num(x)}" cy="{num(y)}" rx="{num(wide)}" ry="{num(high)}"'
            self.parts.append(f'<ellipse class="{kind}" {at} {self.pens[kind]}/>')

    def rect(self, kind: str, box: Box, corner: float = 0.0) -> None:
        rounded = f' rx="{num(corner)}"' if corner else ""
        size = f'width="{num(box.right - box.left)}" height="{num(box.bottom - box.top)}"'
        self.parts.append(
            f'<rect class="{kind}" x="{num(box.left)}" y="{num(box.top)}" {size}{rounded} {self.pens[kind]}/>'
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        kind: str = "d-text",
        anchor: str = "start",
        bold: bool = False,
        size: float = 1.0,
    ) -> Box:
        """Add lettering with its baseline at y, `size` times the usual; return the box that it takes."""
        extra = "" if anchor == "start" else f' text-anchor="{anchor}"'
        if bold:
            extra += ' font-weight="700"'
        if size != 1.0:
            extra += f' font-size="{num(self.size * size)}"'
        self.parts.append(f'<text class="{kind}" x="{num(x)}" y="{num(y)}"{extra}>{escape(words)}</text>')
        box = text_box(x, y, words, anchor, bold, self.size * size)
        self.boxes.append(box)
        return box

    def open(self, kind: str, **data: str) -> None:
        """Open a group of a class with data attributes."""
        written = "".join(f' data-{name}="{escape(value)}"' for name, value in data.items() if value)
        self.parts.append(f'<g class="{kind}"{written}>')

    def link(self, address: str, kind: str, station: str, name: str) -> None:
        """Open a link that a pointer presses. The keyboard has the field of the same name, so it is passed over."""
        self.has_links = True
        self.parts.append(
            f'<a href="{escape(address)}" class="{kind}" tabindex="-1" data-station="{escape(station)}"'
            f' data-name="{escape(name)}" aria-label="{escape(name)}"><title>{escape(name)}</title>'
        )

    def end_link(self) -> None:
        self.parts.append("</a>")

    def clip(self, ident: str, box: Box) -> None:
        """Open a group that shows only what lies in the box; `ident` is its id on the page."""
        d = rect_d(box.left, box.top, box.right - box.left, box.bottom - box.top)
        self.parts.append(f'<clipPath id="{escape(ident)}"><path d="{d}"/></clipPath>')
        self.parts.append(f'<g clip-path="url(#{escape(ident)})">')

    def close(self) -> None:
        self.parts.append("</g>")

    def hint(self, words: str) -> None:
        """Name the group that was opened last: a browser shows the name under the pointer."""
        self.parts.append(f"<title>{escape(words)}</title>")

    def svg(
        self,
        ident: str,
        title: str,
        desc: str,
        width: float,
        height: float,
        printed: bool,
        size_mm: Point | None = None,
    ) -> str:
        """Return the whole SVG. `ident` makes the ids of title and description unique on a page."""
        font = f' font-family="{escape(FONT)}"' if printed else ""
        size = f' width="{num(size_mm[0])}mm" height="{num(size_mm[1])}mm"' if size_mm else ""
        name, role = escape(ident), "group" if self.has_links else "img"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="dwg" viewBox="0 0 {num(width)} {num(height)}"{size}'
            f' role="{role}" aria-labelledby="{name}-title" aria-describedby="{name}-desc"'
            f' font-size="{num(self.size)}"{font} fill="#000">'
            f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(desc)}</desc>'
            f"{''.join(self.parts)}</svg>"
        )


def text_box(x: float, y: float, words: str, anchor: str, bold: bool, size: float = SIZE) -> Box:
    """Return the box of lettering with its baseline at y."""
    wide = lettering.width(words, size, bold)
    left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return Box(left, y - lettering.CAPITAL * size, left + wide, y + lettering.DESCENT * size)
