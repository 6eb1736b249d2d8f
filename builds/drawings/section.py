"""A section of the hull at a floor that drains itself, looking forward, with the water."""

from dataclasses import dataclass
from math import cos, pi, radians, tan

from shop.units import format_small_length

from . import text as lettering
from .boat import Boat, Form, Station, Water
from .svg import SIZE, Drawn, Pane, Point, Table, hatch_d, line_d
from .words import from_bow

LEFT, RIGHT, TOP = 16.0, 74.0, 14.0
BEYOND = 26.0
STEPS = 24
MOST_HIGH = 220.0


@dataclass(frozen=True)
class Cross:
    """Where the section lies in the drawing: units a metre, the centreline, the keel's line down."""

    scale: float
    axis: float
    keel: float

    def at(self, y_m: float, z_m: float) -> Point:
        return self.axis + y_m * self.scale, self.keel - z_m * self.scale


def section(boat: Boat, station: Station, ident: str, width: float = 400.0, printed: bool = False) -> Drawn:
    """Return the section at a station, starboard to the right, as she floats. Table: floor, edges, water."""
    form, water = boat.form, boat.water
    room = width - LEFT - RIGHT - 2 * BEYOND
    scale = min(room / form.beam_m, MOST_HIGH / form.depth_m)
    middle = LEFT + BEYOND + room / 2
    cross = Cross(scale, middle, TOP + max(form.depth_m, station.z_m) * scale)
    pane = Pane()
    skin = line_d(skin_points(form, station.x_m, cross))
    pane.path("d-skin", skin + "Z")
    if water is not None:
        _draw_water(pane, boat, station, cross)
    pane.path("d-out", skin + "Z")
    # The centreline gives way to the floor's name.
    floor = cross.at(0.0, station.z_m)[1]
    pane.strokes("d-chain", [[(middle, TOP - 8), (middle, floor - 19)], [(middle, floor), (middle, cross.keel + 10)]])
    _draw_floor(pane, boat, station, cross)
    base = cross.keel + 26.0
    sentence = floor_sentence(boat, station)
    lines = lettering.wrap(sentence, SIZE, width - 8.0, bold=True)
    for i, words in enumerate(lines):
        half = lettering.width(words, SIZE, bold=True) / 2
        x = min(max(middle, half + 4.0), width - half - 4.0)
        pane.text(x, base + 15.0 * i, words, "d-strong", "middle", bold=True)
    height = base + 15.0 * len(lines) - 7.0
    title = f"Section at {station.short}, looking forward"
    desc = f"Starboard to the right, {from_bow(boat, station.x_m)} from the bow tip. {sentence}."
    svg = pane.svg(ident, title, desc, width, height, printed)
    return Drawn(svg, title, desc, width, height, (table(boat, station),), sentence)


def skin_points(form: Form, x_m: float, cross: Cross) -> list[Point]:
    """Return the skin from gunwale to gunwale, closest at the keel, where it turns most."""
    heights = [form.depth_m * (1 - cos(pi / 2 * k / STEPS)) for k in range(STEPS + 1)]
    port = [cross.at(-form.half_breadth_m(x_m, z), z) for z in reversed(heights)]
    starboard = [cross.at(form.half_breadth_m(x_m, z), z) for z in heights]
    return port + starboard[1:]


def _level(water: Water, z_m: float, y_m: float) -> float:
    """Return the height of the water at y, where it is z on the centreline: heeled to starboard it is higher there."""
    return z_m + y_m * tan(radians(water.heel_deg or 0.0))


def _draw_water(pane: Pane, boat: Boat, station: Station, cross: Cross) -> None:
    water, form = boat.water, boat.form
    assert water is not None
    half = form.beam_m / 2 + BEYOND / cross.scale
    low, high = water.edges(station.x_m, form.length_m)
    level = water.level.at(station.x_m, form.length_m)

    def line(z_m: float) -> list[Point]:
        return [cross.at(-half, _level(water, z_m, -half)), cross.at(half, _level(water, z_m, half))]

    (x1, y1), (x2, y2) = line(level)
    deep = max(cross.keel, y1, y2) + 4.0
    pane.path("d-tint", line_d([(x1, y1), (x2, y2), (x2, deep), (x1, deep)], closed=True))
    if high - low > 1e-6:
        lower, upper = line(low), line(high)
        pane.path("d-band", hatch_d([*lower, *reversed(upper)], 7.0))
        pane.strokes("d-band-edge", [lower, upper])
    pane.path("d-water", line_d([(x1, y1), (x2, y2)]))
    pane.text(x2 + 6, y2 + 4.3, "water", "d-sea-text")


def _draw_floor(pane: Pane, boat: Boat, station: Station, cross: Cross) -> None:
    """Draw the floor, and the sides of its well up to the gunwale."""
    half = station.well_half_width_m or 0.0
    top = max(boat.form.depth_m, station.z_m)
    reach = max(half, min(half * 1.25, boat.form.half_breadth_m(station.x_m, boat.form.depth_m) - 0.02))
    points = [cross.at(y, z) for y, z in ((-reach, top), (-half, station.z_m), (half, station.z_m), (reach, top))]
    pane.path("d-part", line_d(points))
    x, y = cross.at(0.0, station.z_m)
    pane.text(x, y - 6.0, f"floor, {station.short}", "d-text", "middle")


def floor_sentence(boat: Boat, station: Station) -> str:
    """Return how far the floor is from the water, at the lower of its edges."""
    if boat.water is None:
        return boat.note or "no waterline"
    water, length = boat.water, boat.form.length_m
    half = station.well_half_width_m or 0.0

    def above(z_m: float) -> float:
        return 1000 * (station.z_m - max(_level(water, z_m, -half), _level(water, z_m, half)))

    low, high = water.edges(station.x_m, length)
    here = format_small_length(abs(above(water.level.at(station.x_m, length))), boat.units)
    below = above(water.level.at(station.x_m, length)) < 0
    words = f"floor {here} {'below' if below else 'above'} water"
    if high - low > 1e-6:
        ends = [format_small_length(above(z), boat.units) for z in (high, low)]
        words += f"; could be {ends[0]} to {ends[1]}"
    return words


def table(boat: Boat, station: Station) -> Table:
    """Return the facts of the section."""
    units = boat.units
    rows = [
        ("From bow tip", from_bow(boat, station.x_m)),
        ("Floor above keel", format_small_length(station.z_m * 1000, units)),
        ("Half the floor's width", format_small_length((station.well_half_width_m or 0.0) * 1000, units)),
    ]
    if boat.water is not None:
        level = boat.water.level.at(station.x_m, boat.form.length_m)
        rows.append(("Water above keel, on the centreline", format_small_length(level * 1000, units)))
        rows.append(("Floor and water", floor_sentence(boat, station)))
    return Table(f"Section at {station.short}", ("Figure", "Value"), tuple(rows))
