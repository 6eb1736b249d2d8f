"""Spacing: which outlines of different lines on one surface cross or stand too close, in near-linear time."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .hullform import Array

WHOLE = NDArray[np.int64]

COUNTED_MM = 25.0
"""A diameter counts as at most this much when the room beside it is judged (common practice, no source)."""
CELL_MM = 100.0
SMALL_MM = (CELL_MM - COUNTED_MM) / 2
"""Outlines reaching no further than this from their centres meet only within neighbouring cells of the grid."""
HALF_ROUND = ((0, 0), (0, 1), (1, -1), (1, 0), (1, 1))
AT_ONCE = 1_000_000
SLACK = 1e-9


@dataclass(frozen=True)
class Outlines:
    """Outlines of openings [mm], each field of shape (openings,).

    An outline is the inner box of half-widths `a` along the hull and `b` across (or up), grown all round by `r`: a
    circle is a point grown by its radius. `counted` is its diameter, at most 25 mm. `surface` numbers the surfaces,
    `line` the lines; `is_new` is whether this ticket makes it.
    """

    surface: WHOLE
    line: WHOLE
    is_new: NDArray[np.bool_]
    x: Array
    y: Array
    a: Array
    b: Array
    r: Array
    counted: Array

    @property
    def reach(self) -> Array:
        """How far an outline reaches from its centre along or across, whichever is more."""
        far: Array = np.maximum(self.a, self.b) + self.r
        return far


@dataclass(frozen=True)
class Close:
    """Two lines, by number, whose outlines stand too close: the least gap between them [mm], below 0 where they cross,
    the gap that was wanted, and the two outlines by their places in `Outlines`."""

    first: int
    second: int
    gap_mm: float
    wanted_mm: float
    outlines: tuple[int, int]


def gaps_between(of: Outlines, i: WHOLE, j: WHOLE) -> Array:
    """Return the gap between outlines i and j [mm], negative where they cross.

    Distance of two boxes, less both outlines' growth: with q the distance along each axis less the half-widths,
    |max(q, 0)| + min(max(q_x, q_y), 0).
    """
    q_x = np.abs(of.x[i] - of.x[j]) - of.a[i] - of.a[j]
    q_y = np.abs(of.y[i] - of.y[j]) - of.b[i] - of.b[j]
    apart = np.hypot(np.maximum(q_x, 0), np.maximum(q_y, 0)) + np.minimum(np.maximum(q_x, q_y), 0)
    gap: Array = apart - of.r[i] - of.r[j]
    return gap


def close_lines(of: Outlines) -> list[Close]:
    """Return the pairs of lines of which any two outlines on one surface are closer than the larger diameter.

    Two lines that are both on the boat already are not judged. Each pair of lines once, with its least gap, in the
    order of the lines.
    """
    found: list[tuple[WHOLE, WHOLE, Array, Array]] = []
    for i, j in candidates(of):
        judged = (of.line[i] != of.line[j]) & (of.is_new[i] | of.is_new[j])
        i, j = i[judged], j[judged]
        gap, wanted = gaps_between(of, i, j), np.maximum(of.counted[i], of.counted[j])
        near = gap < wanted * (1 - SLACK)
        found.append((i[near], j[near], gap[near], wanted[near]))
    if not found:
        return []
    i, j, gap, wanted = (np.concatenate(parts) for parts in zip(*found, strict=True))
    first, second = np.minimum(of.line[i], of.line[j]), np.maximum(of.line[i], of.line[j])
    order = np.lexsort((gap, second, first))
    lead = [
        k for n, k in enumerate(order) if n == 0 or (first[k], second[k]) != (first[order[n - 1]], second[order[n - 1]])
    ]
    return [Close(int(first[k]), int(second[k]), float(gap[k]), float(wanted[k]), (int(i[k]), int(j[k]))) for k in lead]


def candidates(of: Outlines) -> Iterator[tuple[WHOLE, WHOLE]]:
    """Yield pairs of outlines that may be close: small ones by a grid, each large one with all within its reach."""
    large = of.reach > SMALL_MM
    yield from in_grid(of, np.flatnonzero(~large))
    yield from with_large(of, np.flatnonzero(large), large)


def in_grid(of: Outlines, which: WHOLE) -> Iterator[tuple[WHOLE, WHOLE]]:
    """Yield pairs of small outlines in the same cell or in neighbouring ones, each pair once."""
    if len(which) < 2:
        return
    column, row = (np.floor(at[which] / CELL_MM).astype(np.int64) for at in (of.x, of.y))
    column, row = column - column.min() + 1, row - row.min() + 1
    wide, high = int(column.max()) + 2, int(row.max()) + 2
    key = (of.surface[which] * wide + column) * high + row
    order = np.argsort(key, kind="stable")
    which, key = which[order], key[order]
    place = np.arange(len(which))
    for across, up in HALF_ROUND:
        target = key + across * high + up
        start = place + 1 if (across, up) == (0, 0) else np.searchsorted(key, target, "left")
        counts = np.maximum(np.searchsorted(key, target, "right") - start, 0)
        for part in parts_of(counts):
            firsts = np.repeat(place[part], counts[part])
            step = np.arange(len(firsts)) - np.repeat(np.cumsum(counts[part]) - counts[part], counts[part])
            yield which[firsts], which[np.repeat(start[part], counts[part]) + step]


def parts_of(counts: WHOLE) -> Iterator[slice]:
    """Yield slices of a list of counts that add to about a million at most, so that memory stays bounded."""
    ends, first = np.cumsum(counts), 0
    while first < len(counts):
        done = int(ends[first - 1]) if first else 0
        last = max(first + 1, int(np.searchsorted(ends, done + AT_ONCE, "right")))
        yield slice(first, last)
        first = last


def with_large(of: Outlines, which: WHOLE, large: NDArray[np.bool_]) -> Iterator[tuple[WHOLE, WHOLE]]:
    """Yield each large outline with all that its reach along the hull meets; two large ones once."""
    if not len(which):
        return
    order = np.argsort(of.x, kind="stable")
    along, furthest = of.x[order], float(of.reach.max())
    for k in which.tolist():
        reach = of.reach[k] + furthest + COUNTED_MM
        low, high = np.searchsorted(along, [of.x[k] - reach, of.x[k] + reach])
        near = order[low:high]
        near = near[(of.surface[near] == of.surface[k]) & (~large[near] | (near > k))]
        yield np.full(len(near), k), near


def outlines_of(rows: Sequence[tuple[int, int, bool, float, float, float, float, float, float]]) -> Outlines:
    """Return the outlines of rows (surface, line, is new, x, y, a, b, r, counted)."""
    table = np.array(rows, dtype=float).reshape(-1, 9).T
    surface, line = table[0].astype(np.int64), table[1].astype(np.int64)
    return Outlines(surface, line, table[2] > 0, *table[3:])
