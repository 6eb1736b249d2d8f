"""What the labels of a plan point at: items of one place together, openings of one pattern together."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence

from .boat import Boat, Hole
from .labels import Point, Tag
from .marks import balloons, letters

NEAR = 4.0
PATTERN_GAP_M = 0.12
MIDDLE_M = 0.004
CROWD = 40.0

OnPlan = Callable[[float, float], Point]


def item_tags(boat: Boat, on_plan: OnPlan, upright: bool) -> tuple[list[Tag], list[Tag]]:
    """Return the balloons of starboard and of port; `on_plan` maps x and y to units along and out."""
    groups: dict[tuple[int, int], list[tuple[Point, str, str, float]]] = defaultdict(list)
    for item in boat.items:
        point = on_plan(item.x_m, item.y_m)
        cell = round(point[0] / NEAR), round(point[1] / NEAR)
        groups[cell].append((point, item.label, item.line, item.y_m))
    tags = []
    for members in groups.values():
        marks = balloons([(label, line) for _, label, line, _ in members], upright)
        tags.append((Tag(marks, [members[0][0]]), members[0][3]))
    return _sides(tags)


def hole_tags(boat: Boat, on_plan: OnPlan, upright: bool) -> tuple[list[Tag], list[Tag]]:
    """Return the letter boxes of starboard and of port, one for each pattern of openings."""
    tags = []
    for pattern in patterns(boat.holes):
        mean_x, mean_y = (sum(values) / len(pattern) for values in zip(*((h.x_m, h.y_m) for h in pattern), strict=True))
        nearest = min(pattern, key=lambda hole: (hole.x_m - mean_x) ** 2 + (hole.y_m - mean_y) ** 2)
        marks = letters([hole.letter for hole in pattern], pattern[0].line, upright)
        tags.append((Tag(marks, [on_plan(nearest.x_m, nearest.y_m)]), mean_y))
    return _sides(tags)


def patterns(holes: Iterable[Hole]) -> list[list[Hole]]:
    """Return the lettered openings in groups: those of one line that lie within a hand's breadth of each other."""
    by_line: dict[str, list[Hole]] = defaultdict(list)
    for hole in holes:
        if hole.letter:
            by_line[hole.line].append(hole)
    return [group for members in by_line.values() for group in _near(members)]


def _near(holes: Sequence[Hole]) -> list[list[Hole]]:
    groups: list[list[Hole]] = []
    for hole in sorted(holes, key=lambda hole: (hole.x_m, hole.y_m)):
        touching = [group for group in groups if any(_close(hole, other) for other in group[-12:])]
        merged = [other for group in touching for other in group] + [hole]
        groups = [group for group in groups if not any(group is other for other in touching)] + [merged]
    return groups


def _close(a: Hole, b: Hole) -> bool:
    return (a.x_m - b.x_m) ** 2 + (a.y_m - b.y_m) ** 2 <= PATTERN_GAP_M**2


def _sides(tags: Sequence[tuple[Tag, float]]) -> tuple[list[Tag], list[Tag]]:
    """Part tags by the side of their place; those on the centreline go where there is more room."""
    starboard = [tag for tag, y_m in tags if y_m > MIDDLE_M]
    port = [tag for tag, y_m in tags if y_m < -MIDDLE_M]
    middle = sorted((tag for tag, y_m in tags if abs(y_m) <= MIDDLE_M), key=lambda tag: tag.wanted)
    for tag in middle:
        (starboard if _crowd(starboard, tag) < _crowd(port, tag) else port).append(tag)
    return starboard, port


def _crowd(side: Sequence[Tag], tag: Tag) -> float:
    """Return how much of the row about a tag is taken, and a little of how full the row is."""
    near = sum(other.along for other in side if abs(other.wanted - tag.wanted) < CROWD)
    return near + 0.01 * sum(other.along for other in side)
