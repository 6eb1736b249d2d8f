"""Names of stations in rows above the side view; a dotted line leads from each name down to its place."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from . import text as lettering
from .boat import Station
from .labels import Mark, Tag, lay_out
from .svg import SIZE, Pane, line_d

ROW = 15.0
GUTTER = 9.0
PAD = 3.0
MOST_STRAY = 26.0
SIDES = (" port", " starboard")


@dataclass
class Names:
    """The names laid out, with the stations of each, and how high they stand."""

    tags: list[Tag]
    stations: dict[str, list[Station]]
    high: float


def lay_out_names(
    stations: Sequence[Station], bow: float, scale: float, low: float, high: float, most_rows: int
) -> Names:
    """Lay out the names of stations; port and starboard of one place share a name."""
    groups: dict[tuple[str, float], list[Station]] = defaultdict(list)
    for station in stations:
        base = station.short
        for side in SIDES:
            base = base.removesuffix(side)
        groups[base, round(station.x_m, 3)].append(station)
    tags, members_of = [], {}
    for (base, x_m), members in groups.items():
        words = base if len(members) > 1 else members[0].short
        ids = " ".join(station.id for station in members)
        tags.append(Tag([_mark([words], ids)], [(bow + x_m * scale, 0.0)]))
        members_of[ids] = members
    if not tags:
        return Names([], {}, 0.0)
    tags = lay_out(sorted(tags, key=lambda tag: tag.wanted), low, high, _joined, most_rows, MOST_STRAY)
    return Names(tags, members_of, GUTTER + ROW * (1 + max(tag.row for tag in tags)))


def _mark(names: Sequence[str], ids: str) -> Mark:
    words = lettering.shorten(", ".join(names), SIZE, 220.0)
    return Mark(tuple(names), (words,), ids, False, lettering.width(words, SIZE) + PAD, ROW)


def _joined(marks: list[Mark]) -> list[Mark]:
    names = [name for mark in marks for name in mark.names]
    return [_mark(names, "|".join(mark.lines for mark in marks))]


def draw_names(pane: Pane, names: Names, bottom: float, down_to: dict[str, float]) -> None:
    """Draw the names above `bottom`, each with its dotted line; `down_to` says where a station lies, by id."""
    for tag in names.tags:
        mark = tag.marks[0]
        groups = [names.stations[ids] for ids in mark.lines.split("|")]
        pane.open("d-place", station=" ".join(station.id for group in groups for station in group))
        for (along, _), group in zip(tag.anchors, groups, strict=True):
            end = min(down_to[station.id] for station in group)
            lane = bottom - GUTTER
            top = lane - tag.row * ROW
            pane.path("d-dots", line_d([(tag.at, top), (tag.at, lane), (along, bottom), (along, end)]))
            for station in group:
                pane.circle("d-spot", along, down_to[station.id], 1.8)
        pane.text(tag.at, bottom - GUTTER - 4.0 - tag.row * ROW, mark.texts[0], "d-quiet", "middle")
        pane.close()
