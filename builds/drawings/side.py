"""The boat from the side: buttocks, loaded waterline with its band, stations, items, centre of gravity."""

from dataclasses import dataclass
from math import cos, pi

from shop.units import format_small_length

from . import text as lettering
from .boat import STRIPS, Boat, Form, Item
from .labels import place
from .openings import draw_hole_at
from .stations import Names, draw_names, lay_out_names
from .svg import SIZE, Drawn, Pane, Point, line_d, lines_d, rect_d
from .words import draft_texts, side_words, trim_text

SKIN_OFF_CENTRE_M = 0.02
INNER_BUTTOCKS = (0.35, 0.70)
LEAST_ABOVE_M, MOST_ABOVE_M = 0.08, 0.42
UNKNOWN_HIGH = 5.0
BEYOND = 14.0
LEFT, RIGHT = 48.0, 92.0
NARROW, NARROW_MARGIN = 500.0, 20.0


@dataclass
class SideFrame:
    """Where the side view lies: units a metre, the bow tip along the drawing, the keel's line down."""

    scale: float
    bow: float
    keel: float

    def x(self, x_m: float) -> float:
        return self.bow + x_m * self.scale

    def y(self, z_m: float) -> float:
        return self.keel - z_m * self.scale


def side(boat: Boat, ident: str, width: float = 700.0, printed: bool = False) -> Drawn:
    """Return the side view alone. Tables: stations, and how she floats."""
    pane = Pane()
    left, right = (NARROW_MARGIN, NARROW_MARGIN) if width < NARROW else (LEFT, RIGHT)
    scale = (width - left - right) / boat.form.length_m
    height = draw_side(pane, boat, scale, left, 4.0, width)
    words = side_words(boat)
    svg = pane.svg(ident, words.title, words.desc, width, height, printed)
    return Drawn(svg, words.title, words.desc, width, height, words.tables)


def draw_side(pane: Pane, boat: Boat, scale: float, bow: float, top: float, width: float) -> float:
    """Draw the names of stations and the side view below `top`; return where it ends."""
    form = boat.form
    names = _names(boat, scale, bow, width)
    lowest = top + names.high
    keel = lowest + 4.0 + (form.depth_m + _above_m(boat)) * scale
    frame = SideFrame(scale, bow, keel)
    _draw_skin(pane, boat, frame)
    _draw_floors(pane, boat, frame)
    draw_names(pane, names, lowest, {station.id: frame.y(station.z_m) for station in boat.stations})
    _draw_items(pane, boat, frame, lowest + 5.0)
    for hole in boat.holes:
        if hole.surface in ("side", "bottom"):
            along, up = hole.size_mm
            size = (along, up if hole.surface == "side" else 0.0)
            draw_hole_at(pane, boat, hole, (frame.x(hole.x_m), frame.y(hole.z_m)), size, scale)
    bottom = keel + 4.0
    if boat.water is None:
        if not boat.note:
            return bottom + 2.0
        pane.text(frame.x(form.length_m / 2), bottom + 15.0, boat.note, "d-text", "middle", bold=True)
        return bottom + 22.0
    bottom = max(bottom, *(frame.y(z) + 3.0 for z in (boat.water.level.bow_m, boat.water.level.stern_m)))
    _draw_centre(pane, boat, frame)
    if width >= NARROW:
        _draw_margin(pane, boat, frame)
    return _draw_drafts(pane, boat, frame, bottom + 14.0, width)


def _names(boat: Boat, scale: float, bow: float, width: float) -> Names:
    """Lay out the names of stations; a narrow drawing names only those where something is fitted."""
    used = {item.station for item in boat.items}
    named = boat.stations if width >= NARROW else [station for station in boat.stations if station.id in used]
    return lay_out_names(named, bow, scale, 4.0, width - 4.0, 3 if width >= NARROW else 5)


def side_high(boat: Boat, scale: float, bow: float, width: float) -> tuple[float, float]:
    """Return how high the side view is at most, and how much of that is drawn to scale."""
    ends = (boat.water.level.bow_m, boat.water.level.stern_m) if boat.water else (0.0,)
    to_scale = (boat.form.depth_m + _above_m(boat) - min(0.0, *ends)) * scale
    return _names(boat, scale, bow, width).high + 4.0 + to_scale + 4.0 + 14.0 + 15.0 + 8.0, to_scale


def _above_m(boat: Boat) -> float:
    """Return how much is shown above the gunwale [m]."""
    tops = [item.z_m + (item.height_m or 0.0) for item in boat.items] + [station.z_m for station in boat.stations]
    return min(max([LEAST_ABOVE_M, *(top - boat.form.depth_m + 0.02 for top in tops)]), MOST_ABOVE_M)


def buttock(form: Form, y_m: float) -> list[Point]:
    """Return x and height [m] of the skin along a line y off the centreline, from gunwale to gunwale."""
    part = 2.0 * y_m / form.beam_m
    if part >= 1.0:
        return []
    half = form.length_m / 2 * (1.0 - part) ** (1.0 / form.waterplane_exponent)
    middle = form.length_m / 2
    points = [(middle - half, form.depth_m)]
    for k in range(1, STRIPS):
        x = middle - half * cos(pi * k / STRIPS)
        points.append((x, form.height_m(x, y_m) or 0.0))
    return [*points, (middle + half, form.depth_m)]


def _buttock_d(frame: SideFrame, points: list[Point], closed: bool) -> str:
    return line_d([(frame.x(x), frame.y(z)) for x, z in points], closed) if points else ""


def _draw_skin(pane: Pane, boat: Boat, frame: SideFrame) -> None:
    form = boat.form
    outline = _buttock_d(frame, buttock(form, SKIN_OFF_CENTRE_M), closed=True)
    pane.path("d-skin", outline)
    if boat.water is not None:
        _draw_water(pane, boat, frame)
    inner = [buttock(form, part * form.beam_m / 2) for part in INNER_BUTTOCKS]
    pane.path("d-contour", "".join(_buttock_d(frame, points, closed=False) for points in inner))
    pane.path("d-out", outline)
    if boat.water is not None:
        ends = _water_ends(boat, frame)
        pane.path("d-water", line_d(ends))


def _water_ends(boat: Boat, frame: SideFrame) -> list[Point]:
    assert boat.water is not None
    length = boat.form.length_m
    over = BEYOND / frame.scale
    return [(frame.x(x), frame.y(boat.water.level.at(x, length))) for x in (-over, length + over)]


def _draw_water(pane: Pane, boat: Boat, frame: SideFrame) -> None:
    """Draw the tint below the waterline, and its band: dashed edges, hatched between."""
    water, length = boat.water, boat.form.length_m
    assert water is not None
    (left, at_bow), (right, at_stern) = _water_ends(boat, frame)
    deep = max(frame.keel, at_bow, at_stern) + 4.0
    pane.path("d-tint", line_d([(left, at_bow), (right, at_stern), (right, deep), (left, deep)], closed=True))
    if not water.band:
        return
    xs = [left + (right - left) * k / 12 for k in range(13)]
    edges = [water.edges((x - frame.bow) / frame.scale, length) for x in xs]
    for which in (0, 1):
        pane.path("d-band-edge", line_d([(x, frame.y(edge[which])) for x, edge in zip(xs, edges, strict=True)]))
    strokes = []
    x = left + 3.0
    while x < right - 3.0:
        lower, upper = (frame.y(z) for z in water.edges((x - frame.bow) / frame.scale, length))
        end = min(x + (lower - upper) * 0.8, right)
        if lower - upper > 1.5:
            strokes.append([(x, lower), (end, frame.y(water.edges((end - frame.bow) / frame.scale, length)[1]))])
        x += 7.0
    pane.path("d-band", lines_d(strokes))


def _draw_floors(pane: Pane, boat: Boat, frame: SideFrame) -> None:
    """Draw the floors of wells as dashes: over the well where its outline is known, else about the station."""
    strokes = [
        [(frame.x(o.x_m - o.length_m / 2), frame.y(o.floor_m)), (frame.x(o.x_m + o.length_m / 2), frame.y(o.floor_m))]
        for o in boat.outlines
        if o.floor_m is not None
    ]
    known = [(o.x_m - o.length_m / 2, o.x_m + o.length_m / 2) for o in boat.outlines if o.floor_m is not None]
    for station in boat.stations:
        if station.well_half_width_m and not any(low <= station.x_m <= high for low, high in known):
            y, half = frame.y(station.z_m), 0.16 * frame.scale
            strokes.append([(frame.x(station.x_m) - half, y), (frame.x(station.x_m) + half, y)])
    pane.strokes("d-hidden", strokes)


def _draw_items(pane: Pane, boat: Boat, frame: SideFrame, top: float) -> None:
    for item in boat.items_in_order:
        pane.open(boat.class_of(item.line), line=item.line)
        if item.length_m:
            _draw_body(pane, item, frame, top)
        else:
            pane.circle("d-ring-in" if item.hidden else "d-ring", frame.x(item.x_m), frame.y(item.z_m), 3.2)
        pane.close()


def _draw_body(pane: Pane, item: Item, frame: SideFrame, top: float) -> None:
    """Draw a body from the side; one that leaves the frame ends in a break line."""
    long = max((item.length_m or 0.0) * frame.scale, 3.0)
    high = (item.height_m or 0.0) * frame.scale or UNKNOWN_HIGH
    foot = frame.y(item.z_m)
    left, head = frame.x(item.x_m) - long / 2, foot - high
    kind = "d-hidden" if item.hidden else "d-body"
    if head >= top:
        pane.path(kind, rect_d(left, head, long, high))
        return
    right, step = left + long, min(long / 4, 3.0)
    middle = left + long / 2
    zigzag = [(middle - step, top), (middle - step / 2, top - 4), (middle + step / 2, top + 4), (middle + step, top)]
    pane.path(kind, line_d([(left, foot), (left, top), *zigzag, (right, top), (right, foot)], closed=True))


def _draw_centre(pane: Pane, boat: Boat, frame: SideFrame) -> None:
    """Draw the centre of gravity: a circle in quarters."""
    assert boat.water is not None
    if boat.water.centre_of_gravity_m is None:
        return
    x_m, _, z_m = boat.water.centre_of_gravity_m
    x, y, r = frame.x(x_m), frame.y(z_m), 6.0
    pane.circle("d-open", x, y, r)
    quarter = "M{0:.2f} {1:.2f}v{2}a{3} {3} 0 0 1 {4} {5}Z"
    d = quarter.format(x, y, -r, r, r, r) + quarter.format(x, y, r, r, -r, -r)
    pane.path("d-solid", d)


def _draw_margin(pane: Pane, boat: Boat, frame: SideFrame) -> None:
    """Write what the waterline is, and the freeboard at the end where it is least, beside the boat."""
    water, form = boat.water, boat.form
    assert water is not None
    (_, _), (right, at_stern) = _water_ends(boat, frame)
    wanted = [at_stern]
    if water.freeboard_mm is not None:
        wanted.insert(0, (frame.y(form.depth_m) + at_stern) / 2 - 4)
    sizes = [29.0] * len(wanted)
    spots = place(wanted, sizes, [0] * len(wanted), -1e6, 1e6)
    if water.freeboard_mm is not None:
        figure = format_small_length(water.freeboard_mm, boat.units)
        words = f"{'at most ' if water.freeboard_at_most else ''}{figure}"
        at_bow = water.level.bow_m > water.level.stern_m
        x = frame.x(0.0) - BEYOND + 4 if at_bow else frame.x(form.length_m) + 8
        tip = frame.x(0.0 if at_bow else form.length_m)
        z = water.level.bow_m if at_bow else water.level.stern_m
        _dimension(pane, x, frame.y(form.depth_m), frame.y(z), tip)
        if at_bow:
            pane.text(max(x - 5, 4.0), frame.y(form.depth_m) - 5, f"freeboard {words}", "d-strong", "start", bold=True)
        else:
            pane.text(right + 6, spots[0] - 2.0, "freeboard", "d-quiet")
            pane.text(right + 6, spots[0] + 11.0, words, "d-strong", bold=True)
    pane.text(right + 6, spots[-1] - 1.5, "loaded", "d-sea-text")
    pane.text(right + 6, spots[-1] + 11.5, "waterline", "d-sea-text")


def _dimension(pane: Pane, x: float, top: float, bottom: float, tip: float) -> None:
    """Draw an upright dimension line with its ticks, carried out from the tip of the hull."""
    strokes = [[(x, top), (x, bottom)], [(tip, top), (x + 3 if x > tip else x - 3, top)]]
    strokes += [[(x - 2.5, y + 2.5), (x + 2.5, y - 2.5)] for y in (top, bottom)]
    pane.strokes("d-hair", strokes)


def _draw_drafts(pane: Pane, boat: Boat, frame: SideFrame, base: float, width: float) -> float:
    """Write the drafts below the keel, the middle one below the others where it does not fit; return the end."""
    bow, mid, stern = draft_texts(boat)
    water = boat.water
    assert water is not None
    left, right = frame.x(0.0), frame.x(boat.form.length_m)
    first = pane.text(left, base, f"draft {bow}", "d-strong", bold=True)
    last = pane.text(right, base, stern, "d-strong", "end", bold=True)
    words = f"{mid} amidships"
    if water.band:
        low, high = (format_small_length(z * 1000, boat.units) for z in water.drafts_mid_m)
        words += f", could be {low} to {high} (hatched)"
    if not water.float_tested:
        words += ": no float test"
    words += f"; {trim_text(boat)}"
    middle, room = (first.right + last.left) / 2, last.left - first.right - 16.0
    if lettering.width(words, SIZE) <= room:
        pane.text(middle, base, words, "d-quiet", "middle")
        return base + 8.0
    if width < NARROW and water.freeboard_mm is not None:
        words += f"; freeboard {format_small_length(water.freeboard_mm, boat.units)}"
    for text in lettering.wrap(words, SIZE, width - 16.0):
        base += 15.0
        pane.text(width / 2 if width < NARROW else middle, base, text, "d-quiet", "middle")
    return base + 8.0
