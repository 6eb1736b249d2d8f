"""Labels in rows along a drawing, their leaders neither crossing nor touching another label.

A row runs along the boat. `along` is measured that way, `out` from the centreline towards the row, both in units of
the drawing; who calls maps them to x and y. A label keeps the order of what it points at. Rows fill from the inside;
the leader of a label in an outer row goes straight between the labels of the inner rows.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

Point = tuple[float, float]

GAP = 4.0
STEM = 5.0
LANE = 6.0
MOST_ROWS = 3
MOST_STRAY = 70.0


class Mark(NamedTuple):
    """One balloon or box: what it names, its text in lines, the ids of the ticket's lines, its size."""

    names: tuple[str, ...]
    texts: tuple[str, ...]
    lines: str
    boxed: bool
    along: float
    out: float


Join = Callable[[list[Mark]], list[Mark]]


@dataclass
class Tag:
    """Marks side by side, and the places that they point at."""

    marks: list[Mark]
    anchors: list[Point]
    row: int = 0
    at: float = 0.0
    leaders: list[list[Point]] = field(default_factory=list)

    @property
    def along(self) -> float:
        return sum(mark.along for mark in self.marks) + len(self.marks) - 1

    @property
    def out(self) -> float:
        return max(mark.out for mark in self.marks)

    @property
    def lines(self) -> str:
        return " ".join(dict.fromkeys(" ".join(mark.lines for mark in self.marks).split()))

    @property
    def wanted(self) -> float:
        return sum(along for along, _ in self.anchors) / len(self.anchors)


def place(wanted: Sequence[float], sizes: Sequence[float], rows: Sequence[int], low: float, high: float) -> list[float]:
    """Return a place for each label, in order, apart in every row, near to where it is wanted.

    Labels pushed right as far as needed are one answer, pushed left another; so is any mean of the two. The places
    may pass `low` and `high` when there is no room: see `fits`.
    """
    right = _push(wanted, sizes, rows, low)
    left = [-at for at in reversed(_push([-at for at in reversed(wanted)], sizes[::-1], rows[::-1], -high))]
    mean = [(a + b) / 2 for a, b in zip(left, right, strict=True)]
    settled = _push(mean, sizes, rows, low)
    return [-at for at in reversed(_push([-at for at in reversed(settled)], sizes[::-1], rows[::-1], -high))]


def _push(wanted: Sequence[float], sizes: Sequence[float], rows: Sequence[int], low: float) -> list[float]:
    """Move each label right until it clears its neighbours to the left in every row that it or its leader takes."""
    ends = [low - GAP] * (max(rows, default=0) + 1)
    places = []
    for want, size, row in zip(wanted, sizes, rows, strict=True):
        at = max(want, ends[row] + GAP + size / 2, *(ends[r] + GAP + STEM / 2 for r in range(row)), low + size / 2)
        ends[row] = at + size / 2
        for r in range(row):
            ends[r] = at + STEM / 2
        places.append(at)
    return places


def fits(places: Sequence[float], sizes: Sequence[float], low: float) -> bool:
    """Return whether the first labels were not pushed out of the row."""
    return all(at - size / 2 >= low - 1e-6 for at, size in zip(places, sizes, strict=True))


def lay_out(
    tags: list[Tag], low: float, high: float, join: Join, most_rows: int = MOST_ROWS, stray: float = MOST_STRAY
) -> list[Tag]:
    """Return the tags in order with `row` and `at` set; neighbours that find no room share a label, made by `join`.

    A further row is opened where labels would not fit, or would lie further than `stray` from their place.
    """
    tags = sorted(tags, key=lambda tag: (tag.wanted, tag.anchors[0][1]))
    wanted, sizes = [tag.wanted for tag in tags], [tag.along for tag in tags]
    best: tuple[float, list[int], list[float]] | None = None
    for count in range(1, most_rows + 1):
        rows = [i % count for i in range(len(tags))]
        places = place(wanted, sizes, rows, low, high)
        if not fits(places, sizes, low):
            continue
        strayed = max(abs(at - want) for at, want in zip(places, wanted, strict=True))
        if best is None or strayed < 0.8 * best[0]:
            best = strayed, rows, places
        if strayed <= stray:
            break
    if best is None:
        return lay_out(_share(tags, join), low, high, join, most_rows, stray)
    for tag, row, at in zip(tags, best[1], best[2], strict=True):
        tag.row, tag.at = row, at
    return tags


def _share(tags: list[Tag], join: Join) -> list[Tag]:
    """Join neighbours two by two."""
    if len(tags) == 1:
        raise ValueError("one label is longer than its row")
    pairs = [tags[i : i + 2] for i in range(0, len(tags), 2)]
    return [
        Tag(join([mark for tag in pair for mark in tag.marks]), [point for tag in pair for point in tag.anchors])
        for pair in pairs
    ]


def lead(tags: list[Tag], gutter: tuple[float, float], edges: Sequence[float]) -> None:
    """Set the leaders of tags that are laid out: from the anchor to its lane, up the lane, across the gutter, to the tag.

    `gutter` holds its inner and outer side, `edges` the near edge of each row.
    """
    anchors = [(point, tag) for tag in tags for point in sorted(tag.anchors)]
    lanes = _lanes([point for point, _ in anchors])
    for tag in tags:
        tag.leaders = []
    for (point, tag), lane in zip(anchors, lanes, strict=True):
        tag.leaders.append(_leader(point, lane, tag, gutter, edges[tag.row]))


def _lanes(anchors: Sequence[Point]) -> list[float]:
    """Return a lane for each anchor, in their order and at least LANE apart."""
    count = len(anchors)
    return place([along for along, _ in anchors], [LANE - GAP] * count, [0] * count, -1e9, 1e9)


def _leader(anchor: Point, lane: float, tag: Tag, gutter: tuple[float, float], edge: float) -> list[Point]:
    along, out = anchor
    inner, outer = gutter
    points = [anchor]
    turn = out + abs(lane - along)
    if turn < inner - 1.0:
        points.append((lane, turn))
    if out < inner:
        points.append((lane, inner))
    points += [(tag.at, outer), (tag.at, edge)]
    return _straightened(points)


def _straightened(points: list[Point]) -> list[Point]:
    """Drop points that lie on the stroke between their neighbours."""
    kept = points[:1]
    for here, after in zip(points[1:], [*points[2:], None], strict=True):
        if after is not None:
            (x0, y0), (x1, y1), (x2, y2) = kept[-1], here, after
            if abs((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) < 0.05:
                continue
        kept.append(here)
    return kept
