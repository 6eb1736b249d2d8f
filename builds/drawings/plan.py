"""The boat from above: outline, waterplane, stations, items and openings to scale, labels, tape."""

import math
from dataclasses import dataclass, replace
from functools import partial
from urllib.parse import quote

from .boat import Boat, Item, Outline
from .frame import TAPE, Frame, chain_d, draw_tape
from .labels import GUTTER, MOST_ROWS, ROW_GAP, Point, Rows, Tag, arrange
from .marks import draw_tag, joined
from .openings import draw_hole
from .places import hole_tags, item_tags
from .svg import Drawn, Pane, line_d, round_rect_d
from .words import plan_words

SCREEN, QUOTE, HOLES = "screen", "quote", "holes"
KINDS = (SCREEN, QUOTE, HOLES)

LEFT, RIGHT = 48.0, 92.0
TAPE_DEEP = 27.0
UP_LEFT = 68.0
BY_THE_SCHEDULE = "x is the tape from the bow tip. Measure by the schedule, not by this drawing."
CONTOURS_M = (0.05, 0.10)
LONGEST_OVERHANG = 0.12
SMALLEST_BODY = 3.0
REACH, LEAST_REACH = 14.0, 7.0


@dataclass
class Layout:
    """A plan that is laid out and not yet drawn."""

    frame: Frame
    low: float
    high: float
    starboard: Rows
    port: Rows


def plan(boat: Boat, ident: str, kind: str = SCREEN, width: float = 700.0, bow_up: bool = False) -> Drawn:
    """Return the plan alone: kind "screen" (colour by class), "quote" (balloons, paper) or "holes" (letters, paper).

    Bow to the left and starboard up; with `bow_up` (for a phone) starboard is right. Tables: items, openings, stations.
    """
    pane = Pane()
    layout = up_layout(boat, kind, width) if bow_up else flat_layout(boat, kind, width, 0.0)
    draw_plan(pane, boat, layout, kind)
    if bow_up:
        height = layout.high + 20.0
    else:
        height = layout.frame.axis + layout.port.end + 2.0
    words = plan_words(boat, kind, bow_up)
    svg = pane.svg(ident, words.title, words.desc, width, height, kind != SCREEN)
    sentence = BY_THE_SCHEDULE if kind == HOLES else ""
    return Drawn(svg, words.title, words.desc, width, height, words.tables, sentence)


def reach_of(boat: Boat) -> tuple[float, float]:
    """Return how far the drawing reaches along the boat [m]: her length, and what stands out at the ends."""
    length = boat.form.length_m
    spare = LONGEST_OVERHANG * length
    xs = [item.x_m for item in boat.items] + [hole.x_m for hole in boat.holes]
    return max(min([0.0, *xs]), -spare), min(max([length, *xs]), length + spare)


def flat_layout(boat: Boat, kind: str, width: float, top: float, part: float = 1.0) -> Layout:
    """Lay the plan out with the bow to the left, its tape from `top` on, in a part of the largest scale that fits."""
    first, last = reach_of(boat)
    room = width - LEFT - RIGHT
    scale = room / (last - first) * part
    frame = Frame(scale, LEFT + room * (1.0 - part) / 2 - first * scale, 0.0)
    tags = zip(_tags(boat, kind, frame), (1, -1), strict=True)
    sides = [_side(boat, frame, side, 6.0, width - RIGHT + 40.0, sign) for side, sign in tags]
    axis = top + TAPE_DEEP + sides[0].end
    return Layout(replace(frame, axis=axis), frame.along(first), frame.along(last), sides[0], sides[1])


def up_layout(boat: Boat, kind: str, width: float) -> Layout:
    """Lay the plan out with the bow up; the boat takes the width that her labels leave."""
    first, last = reach_of(boat)
    room = {"starboard": 24.0, "port": 24.0}
    for _ in range(3):
        free = width - UP_LEFT - sum(room.values()) - 2 * (GUTTER + ROW_GAP) - 8.0
        scale = max(free / (boat.form.beam_m + 0.04), 60.0)
        frame = Frame(scale, 40.0 - first * scale, UP_LEFT + room["port"] + GUTTER + 6.0 + free / 2, bow_up=True)
        high = frame.along(last)
        tags = zip(_tags(boat, kind, frame), (1, -1), strict=True)
        sides = [_side(boat, frame, side, 24.0, high + 16.0, sign) for side, sign in tags]
        wide = [max((tag.out for tag in side.tags), default=24.0) for side in sides]
        if wide[0] <= room["starboard"] and wide[1] <= room["port"]:
            break
        room = {"starboard": max(wide[0], room["starboard"]), "port": max(wide[1], room["port"])}
    return Layout(frame, frame.along(first), high, sides[0], sides[1])


def _tags(boat: Boat, kind: str, frame: Frame) -> tuple[list[Tag], list[Tag]]:
    first, last = reach_of(boat)
    wide = boat.form.beam_m / 2 + 0.02

    def on_plan(x_m: float, y_m: float) -> Point:
        return frame.along(min(max(x_m, first), last)), min(max(y_m, -wide), wide) * frame.scale

    return (hole_tags if kind == HOLES else item_tags)(boat, on_plan, frame.bow_up)


def _side(boat: Boat, frame: Frame, tags: list[Tag], low: float, high: float, sign: int = 1) -> Rows:
    """Return the rows of starboard, or with sign -1 of port, where out is counted to port."""
    for tag in tags:
        tag.anchors = [(along, sign * out) for along, out in tag.anchors]
    inner = (boat.form.beam_m / 2 + 0.02) * frame.scale + 4.0
    join = partial(joined, upright=frame.bow_up)
    return arrange(tags, inner, low, high, join, 1 if frame.bow_up else MOST_ROWS)


def draw_plan(pane: Pane, boat: Boat, layout: Layout, kind: str) -> None:
    """Draw the plan with its tape and labels."""
    frame = layout.frame
    edge = 4.0 + UP_LEFT - 14.0 if frame.bow_up else frame.axis - layout.starboard.end - TAPE_DEEP + 15.0 + TAPE
    draw_tape(pane, frame, boat.form.length_m, boat.units, edge)
    _draw_form(pane, boat, frame, kind)
    _draw_ends(pane, layout, boat)
    for outline in boat.outlines:
        pane.path("d-thin", outline_d(frame, outline))
    _draw_stations(pane, boat, frame)
    if kind != HOLES:
        _draw_items(pane, boat, frame)
    for hole in boat.holes:
        draw_hole(pane, boat, hole, frame)
    _draw_labels(pane, boat, layout)
    if boat.station_link:
        _draw_links(pane, boat, frame)


def hull_points(boat: Boat, z_m: float | None = None, below_m: float = 0.0) -> list[Point]:
    """Return x and half-breadth [m] along a level z, or along the loaded waterline and `below_m` under it."""
    form, half = boat.form, boat.form.beam_m / 2
    if z_m is not None:
        rise = form.rise(z_m)
        return [(x, half * full * rise) for x, full in form.strips]
    assert boat.water is not None
    level = boat.water.level
    return [(x, half * full * form.rise(level.at(x, form.length_m) - below_m)) for x, full in form.strips]


def _closed_d(frame: Frame, points: list[Point]) -> str:
    """Return path data of both sides of an outline; ends of no breadth are drawn once."""
    wet = [point for i, point in enumerate(points) if any(p[1] > 0 for p in points[max(i - 1, 0) : i + 2])]
    if not wet:
        return ""
    port = [(x, -y) for x, y in reversed(wet) if y > 0]
    return line_d([frame.at(x, y) for x, y in wet + port], closed=True)


def _draw_form(pane: Pane, boat: Boat, frame: Frame, kind: str) -> None:
    outline = _closed_d(frame, hull_points(boat, boat.form.depth_m))
    pane.path("d-skin", outline)
    if boat.water is not None and kind == SCREEN:
        waterplane = _closed_d(frame, hull_points(boat))
        pane.path("d-tint", waterplane)
        pane.path("d-contour", "".join(_closed_d(frame, hull_points(boat, below_m=deep)) for deep in CONTOURS_M))
        pane.path("d-contour", waterplane, "d-waterplane")
    pane.path("d-out", outline)


def _draw_ends(pane: Pane, layout: Layout, boat: Boat) -> None:
    frame = layout.frame
    pane.path("d-chain", chain_d(frame, layout.low - 12, layout.high + 12))
    if frame.bow_up:
        pane.text(frame.axis, layout.low - 18, "bow", "d-quiet", "middle")
        return
    pane.text(layout.low - 16, frame.axis + 4.3, "bow", "d-quiet", "end")
    aside = boat.form.beam_m / 4 * frame.scale + 4
    for words, y in (("starboard", frame.axis - aside), ("port", frame.axis + aside + 8)):
        pane.text(layout.high + 22, y, words, "d-quiet")


def outline_d(frame: Frame, outline: Outline) -> str:
    """Return path data of a hatch or well; without a corner radius it is an ellipse."""
    return body_d(frame, outline.x_m, outline.y_m, outline.length_m, outline.width_m, outline.corner_m)


def body_d(frame: Frame, x_m: float, y_m: float, length_m: float, width_m: float, corner_m: float | None) -> str:
    """Return path data of a rectangle along the boat, or of an ellipse where `corner_m` is None."""
    x, y = frame.at(x_m, y_m)
    long, wide = length_m * frame.scale, width_m * frame.scale
    w, h = (wide, long) if frame.bow_up else (long, wide)
    if corner_m is None:
        return (
            f"M{x - w / 2:.2f} {y:.2f}a{w / 2:.2f} {h / 2:.2f} 0 1 0 {w:.2f} 0"
            f"a{w / 2:.2f} {h / 2:.2f} 0 1 0 {-w:.2f} 0Z"
        )
    return round_rect_d(x - w / 2, y - h / 2, w, h, corner_m * frame.scale)


def _draw_stations(pane: Pane, boat: Boat, frame: Frame) -> None:
    for station in boat.stations:
        x, y = frame.at(station.x_m, station.y_m)
        pane.open("d-place", station=station.id)
        pane.hint(station.name)
        if station.well_half_width_m:
            half = station.well_half_width_m
            ends = [frame.at(station.x_m, -half), frame.at(station.x_m, half)]
            pane.path("d-hidden", line_d(ends))
        pane.circle("d-spot", x, y, 2.2)
        pane.close()


def _draw_links(pane: Pane, boat: Boat, frame: Frame) -> None:
    """Lay a field over each station that can be pressed: as large as a finger where its neighbours leave the room."""
    spots = {station.id: frame.at(station.x_m, station.y_m) for station in boat.stations}
    for station in sorted(boat.stations, key=lambda one: one.x_m):
        x, y = spots[station.id]
        others = [math.dist((x, y), spot) for ident, spot in spots.items() if ident != station.id]
        radius = max(LEAST_REACH, min(REACH, *(away / 2 for away in others))) if others else REACH
        pane.link(boat.station_link.replace("{key}", quote(station.id)), "station", station.id, station.name)
        pane.circle("d-press", x, y, radius)
        pane.end_link()


def _draw_items(pane: Pane, boat: Boat, frame: Frame) -> None:
    """Draw each body to scale, dashed where the skin hides it; an item of unknown size is a ring about its place."""
    for item in boat.items_in_order:
        pane.open(boat.class_of(item.line), line=item.line)
        if item.length_m and item.width_m:
            _draw_body(pane, item, frame)
        else:
            pane.circle("d-ring-in" if item.hidden else "d-ring", *frame.at(item.x_m, item.y_m), 4.0)
        pane.close()


def _draw_body(pane: Pane, item: Item, frame: Frame) -> None:
    least = SMALLEST_BODY / frame.scale
    length, width = max(item.length_m or 0.0, least), max(item.width_m or 0.0, least)
    kind = "d-hidden" if item.hidden else "d-body"
    pane.path(kind, body_d(frame, item.x_m, item.y_m, length, width, 0.008))


def _draw_labels(pane: Pane, boat: Boat, layout: Layout) -> None:
    for sign, side in ((1, layout.starboard), (-1, layout.port)):
        to_xy = partial(_signed, layout.frame, sign)
        for tag in side.tags:
            draw_tag(pane, tag, side.edges[tag.row], to_xy, boat.class_of)


def _signed(frame: Frame, sign: int, along: float, out: float) -> Point:
    return frame.xy(along, sign * out)
