"""Reads a drawing back from its SVG: lettering, marks, leaders, paths as points."""

import re
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree

from builds.drawings.svg import Box, text_box

SVG = "{http://www.w3.org/2000/svg}"
TOKEN = re.compile(r"[A-Za-z]|-?[\d.]+")
MARKS = ("d-balloon", "d-letter")


@dataclass
class Read:
    root: ElementTree.Element
    width: float
    height: float

    def all(self, tag: str, kind: str = "") -> list[ElementTree.Element]:
        found = self.root.iter(f"{SVG}{tag}")
        return [element for element in found if not kind or kind in element.get("class", "").split()]

    @property
    def texts(self) -> list[tuple[str, Box]]:
        """Lettering outside marks, with an estimate of its box that is rather too wide."""
        return [(e.text, self.box_of(e)) for e in self.all("text") if not e.get("class", "").startswith(MARKS)]

    @property
    def text_boxes(self) -> list[Box]:
        """The boxes of all lettering, in marks and outside."""
        return [self.box_of(element) for element in self.all("text")]

    def box_of(self, element) -> Box:
        size = float(element.get("font-size", self.root.get("font-size")))
        at, bold = (float(element.get("x")), float(element.get("y"))), element.get("font-weight") == "700"
        return text_box(*at, element.text, element.get("text-anchor", "start"), bold, size)

    @property
    def marks(self) -> list[Box]:
        return [box_of_rect(e) for kind in MARKS for e in self.all("rect", kind)]

    @property
    def mark_texts(self) -> list[str]:
        return [e.text for kind in MARKS for e in self.all("text", f"{kind}-n")]

    @property
    def leaders(self) -> list[list[tuple[float, float]]]:
        """The strokes of groups that hold a leader: a hairline that starts in a dot."""
        groups = [g for g in self.all("g", "d-line") if [c.tag for c in g][:2] == [f"{SVG}path", f"{SVG}circle"]]
        return [stroke for group in groups for stroke in points_of(group[0].get("d"))]


def read(svg: str) -> Read:
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(number) for number in root.get("viewBox").split())
    return Read(root, width, height)


def box_of_rect(element) -> Box:
    left, top, width, height = (float(element.get(name)) for name in ("x", "y", "width", "height"))
    return Box(left, top, left + width, top + height)


def points_of(d: str) -> list[list[tuple[float, float]]]:
    """The strokes of path data made of M, L and Z."""
    strokes = []
    tokens = TOKEN.findall(d)
    while tokens:
        token = tokens.pop(0)
        if token == "Z":
            continue
        if token in "ML":
            if token == "M":
                strokes.append([])
            token = tokens.pop(0)
        strokes[-1].append((float(token), float(tokens.pop(0))))
    return strokes


def segments(strokes):
    return [pair for stroke in strokes for pair in pairwise(stroke)]


def cross(a, b) -> bool:
    """Whether two segments cross within both; touching ends do not count."""
    (p, q), (r, s) = a, b

    def turn(u, v, w):
        return (v[0] - u[0]) * (w[1] - u[1]) - (v[1] - u[1]) * (w[0] - u[0])

    return turn(p, q, r) * turn(p, q, s) < -1e-6 and turn(r, s, p) * turn(r, s, q) < -1e-6


def passes(segment, box: Box) -> bool:
    """Whether a segment runs through the inside of a box."""
    (x1, y1), (x2, y2) = segment
    low, high = 0.0, 1.0
    for start, step, near, far in ((x1, x2 - x1, box.left, box.right), (y1, y2 - y1, box.top, box.bottom)):
        if abs(step) < 1e-9:
            if not near < start < far:
                return False
            continue
        ends = sorted(((near - start) / step, (far - start) / step))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low < high - 1e-6


def shrunk(box: Box, by: float) -> Box:
    return Box(box.left + by, box.top + by, box.right - by, box.bottom - by)


def area_of(points) -> float:
    """The area inside a closed outline, by the shoelace formula."""
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2
