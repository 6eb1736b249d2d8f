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
GUTTER = 14.0
ROW_GAP = 6.0
NEIGHBOURS = 8


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
    """Marks side by side, the places that they point at, and each one's lane at the gutter."""

    marks: list[Mark]
    anchors: list[Point]
    lanes: list[float] = field(default_factory=list)
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


@dataclass
class Rows:
    """The labels of one side: their tags, how far out the gutter starts, each row's near edge, and where all ends."""

    tags: list[Tag]
    inner: float
    edges: list[float]
    end: float


def arrange(tags: list[Tag], inner: float, low: float, high: float, join: Join, most_rows: int = MOST_ROWS) -> Rows:
    """Return labels of one anchor each in rows, with their leaders; neighbours that find no room share a label.

    `inner` is where the gutter starts; no anchor lies beyond it. A leader runs straight from its anchor to its lane
    at the gutter, and across the gutter to its label. Lanes and labels keep one order, so that nothing crosses there.
    """
    if not tags:
        return Rows([], inner, [], inner + GAP)
    tags = lay_out(_in_lanes(tags, inner), low, high, join, most_rows)
    edges, out = [], inner + GUTTER
    for row in range(max(tag.row for tag in tags) + 1):
        edges.append(out)
        out += max(tag.out for tag in tags if tag.row == row) + ROW_GAP
    for tag in tags:
        foot = [(tag.at, inner + GUTTER), (tag.at, edges[tag.row])]
        ways = zip(tag.anchors, tag.lanes, strict=True)
        tag.leaders = [_straightened([anchor, (lane, inner), *foot]) for anchor, lane in ways]
    return Rows(tags, inner, edges, out - ROW_GAP + 2.0)


def _in_lanes(tags: list[Tag], inner: float) -> list[Tag]:
    """Return the tags in the order of their lanes, none crossing another between anchor and gutter.

    Two that cross change lanes: that shortens both taken together, so it comes to an end.
    """
    order = sorted(tags, key=lambda tag: tag.anchors[0])
    lanes = place([tag.anchors[0][0] for tag in order], [LANE - GAP] * len(order), [0] * len(order), -1e9, 1e9)
    crossed = True
    while crossed:
        crossed = False
        for i in range(len(order)):
            for j in range(i + 1, min(i + NEIGHBOURS, len(order))):
                if _meet(order[i].anchors[0], (lanes[i], inner), order[j].anchors[0], (lanes[j], inner)):
                    order[i], order[j] = order[j], order[i]
                    crossed = True
    for tag, lane in zip(order, lanes, strict=True):
        tag.lanes = [lane]
    return order


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Return whether two strokes cross inside both."""
    return _turn(a, b, c) * _turn(a, b, d) < -1e-9 and _turn(c, d, a) * _turn(c, d, b) < -1e-9


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


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


def words_in_rows(
    wanted: Sequence[float], sizes: Sequence[float], low: float, high: float, most_rows: int = MOST_ROWS
) -> list[tuple[int, int, float]]:
    """Return words without leaders in rows, as (which, row, at); where not all find room, every second, third … one."""
    every = 1
    while True:
        kept = range(0, len(wanted), every)
        for count in range(1, most_rows + 1):
            rows = [kept[row::count] for row in range(min(count, len(kept)))]
            places = [
                place([wanted[i] for i in row], [sizes[i] for i in row], [0] * len(row), low, high) for row in rows
            ]
            if all(fits(at, [sizes[i] for i in row], low) for row, at in zip(rows, places, strict=True)):
                return [
                    (i, number, x)
                    for number, (row, at) in enumerate(zip(rows, places, strict=True))
                    for i, x in zip(row, at, strict=True)
                ]
        if every >= len(wanted):
            raise ValueError("one word is longer than its row")
        every += 1


def lay_out(
    tags: list[Tag], low: float, high: float, join: Join, most_rows: int = MOST_ROWS, stray: float = MOST_STRAY
) -> list[Tag]:
    """Return the tags, in the order given, with `row` and `at` set; those without room share a label, made by `join`.

    A further row is opened where labels would not fit, or would lie further than `stray` from their place.
    """
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
        Tag(
            join([mark for tag in pair for mark in tag.marks]),
            [point for tag in pair for point in tag.anchors],
            [lane for tag in pair for lane in tag.lanes],
        )
        for pair in pairs
    ]


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
