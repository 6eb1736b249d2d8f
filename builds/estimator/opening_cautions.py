"""What openings call for: cautions on height above the water and on room around them; the workings."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from .cautions import CAUTION, STOP, Caution
from .fitted import Fitted, place_of
from .flotation import Flotation
from .hullform import gunwale_m
from .openings import Hole, PlacedOpening, heights_of, hole_at, holes_of, least_height_mm
from .sheet import BuildSheet, Hull, Station
from .spacing import COUNTED_MM, SLACK, Close, close_lines, outlines_of
from .working import Working

TO_GUNWALE = 3
"""Diameters from an opening's centre to the gunwale, at least (common practice, no source)."""
MOST_MENDED = 20
"""For this many cautions mends are looked for; more is no ticket of the trade."""
MOST_NAMED = 5
"""With this many others at most a line is named: the first of them have to move before the rest is worth reading."""
MOVES = 3
ROOM_MM = 1.0

Mends = tuple[Mapping[str, Any], ...]


def cautions_of(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], flotation: Flotation, *, mended: int = MOST_MENDED
) -> Iterator[Caution]:
    """Yield what the openings of a sheet say to look out for: water first, then crossing, then room.

    Mends are looked for with the first `mended` cautions of each kind; none where a mend is being tried.
    """
    every = holes_of(sheet.hull, fitted)
    new = [hole for hole in every if hole.one.is_new]
    yield from water_cautions(sheet, flotation, new, mended)
    yield from spacing_cautions(fitted, every, mended)
    yield from gunwale_cautions(sheet.hull, new, mended)


def by_line(holes: Sequence[Hole]) -> dict[str, list[int]]:
    """Return the places in a list of holes by their line."""
    groups: dict[str, list[int]] = {}
    for k, hole in enumerate(holes):
        groups.setdefault(hole.one.id, []).append(k)
    return groups


def water_cautions(sheet: BuildSheet, flotation: Flotation, holes: Sequence[Hole], mended: int) -> Iterator[Caution]:
    """Yield a caution for each line that opens the hull at or too near the water, on the worst of the band."""
    heights, _ = heights_of(sheet.hull, flotation, holes)
    if not heights:
        return
    said = 0
    for at in by_line(holes).values():
        one = holes[at[0]].one
        height, least = min(heights[k] for k in at), least_height_mm(one)
        if one.kind.may_sit_below_water or not (height < 0 or height < least - SLACK * abs(least)):
            continue
        said += 1
        mends = higher_places(sheet, flotation, one) if said <= mended else ()
        yield near_water(one, height, least, mends)


def near_water(one: Fitted, height_mm: float, least_mm: float, mends: Mends) -> Caution:
    """Return the caution of a line whose lowest opening is under the water, or too near it."""
    figures = {"height_above_water_mm": height_mm, "least_height_mm": least_mm}
    if height_mm < 0:
        sentence = (
            f"An opening for {one.kind.name} would lie {-height_mm:.0f} mm under the loaded waterline. Nothing is "
            "drilled there: a leak below the water fills the hull."
        )
        return Caution("opening_below_water", STOP, sentence, figures, "common_practice", mends, one.id)
    sentence = (
        f"The lowest opening for {one.kind.name} stands {height_mm:.0f} mm above the loaded waterline, {least_mm:g} mm "
        "are wanted. Waves and heel reach it: another place, or a seal that is checked often."
    )
    return Caution("opening_low", CAUTION, sentence, figures, "common_practice", mends, one.id)


def higher_places(sheet: BuildSheet, flotation: Flotation, one: Fitted) -> Mends:
    """Return moves of a line to places where its openings stand high enough: up the side, then the nearest stations."""
    least, hull = max(least_height_mm(one), 0.0), sheet.hull
    found = []
    up = raised(hull, flotation, one, least)
    if up is not None:
        found.append({"do": "move", "line": one.id, "offset_m": up})
    near = sorted(places_like(hull, one), key=lambda station: math.dist(station.point_m, one.point_m))
    for station in near:
        there = at_place(hull, one, station)
        if min(heights_of(hull, flotation, openings_at(there))[0], default=least) >= least:
            found.append({"do": "move", "line": one.id, "station": station.id})
        if len(found) >= MOVES:
            break
    return tuple(found)


def raised(hull: Hull, flotation: Flotation, one: Fitted, least_mm: float) -> tuple[float, float, float] | None:
    """Return the offset that lifts a line's side openings to the least height, null where there is no room for it."""
    holes = openings_at(one)
    if not holes or any(hole.surface != "side" for hole in holes):
        return None
    up_mm = math.ceil(least_mm - min(heights_of(hull, flotation, holes)[0]))
    x, y, z = one.line.offset_m
    lifted = replace(one, point_m=(one.point_m[0], one.point_m[1], one.point_m[2] + up_mm / 1000))
    if any(lacking_to_gunwale(hull, hole) > 0 for hole in openings_at(lifted)):
        return None
    return x, y, rounded(z + up_mm / 1000)


def openings_at(one: Fitted) -> list[Hole]:
    holes = (hole_at(one, index, opening) for index, opening in enumerate(one.openings))
    return [hole for hole in holes if hole.surface != "inside"]


def at_place(hull: Hull, one: Fitted, station: Station) -> Fitted:
    """Return a line as it would lie at another station, with its own offset."""
    return replace(one, station=station, point_m=place_of(hull, station.id, one.line.offset_m))


def places_like(hull: Hull, one: Fitted) -> list[Station]:
    """Return the other stations on the same surface that serve the line as well as its own."""
    here = one.station
    if here is None:
        return []
    return [
        station
        for station in hull.stations
        if station.id != here.id
        and station.surface == here.surface
        and (station.hand_reach or not here.hand_reach)
        and (station.holds_battery or not one.kind.battery)
    ]


SIDES = ("deck", "port", "starboard", "bottom")


def surface_number(hole: Hole) -> int:
    """Return the surface as spacing sees it: the two sides of the boat are two."""
    if hole.surface == "side":
        return SIDES.index("port" if hole.y_m < 0 else "starboard")
    return SIDES.index(hole.surface)


def counted_mm(hole: Hole) -> float:
    """Return the diameter of an opening as it counts for the room around it [mm]."""
    return min(COUNTED_MM, max(hole.size_mm))


def outline_row(hole: Hole) -> tuple[int, int, bool, float, float, float, float, float, float]:
    """Return a hole as a row for `spacing`: a box grown by its corners' radius."""
    wide, high = hole.size_mm
    if hole.opening.shape == "rectangle":
        r = min(hole.opening.corner_mm or 0.0, wide / 2, high / 2)
    else:
        r = min(wide, high) / 2
    across = hole.z_m if hole.surface == "side" else hole.y_m
    return (
        surface_number(hole),
        hole.one.place,
        hole.one.is_new,
        1000 * hole.x_m,
        1000 * across,
        wide / 2 - r,
        high / 2 - r,
        r,
        counted_mm(hole),
    )


def spacing_cautions(fitted: tuple[Fitted, ...], holes: Sequence[Hole], mended: int) -> Iterator[Caution]:
    """Yield a caution for each two lines whose openings cross or stand too close.

    Lines of one type, mounting and place cover each other hole by hole: the first of them stands for all.
    """
    first: dict[Any, Fitted] = {}
    twins: list[tuple[Fitted, Fitted]] = []
    for hole in sorted(holes, key=lambda hole: (not hole.one.is_new, hole.one.place)):
        one = hole.one
        lead = first.setdefault((one.kind.id, one.mounting, one.line.station, one.point_m), one)
        if lead is not one and lead.is_new and (not twins or twins[-1][1] is not one):
            twins.append((lead, one))
    leads = {one.place for one in first.values()}
    kept = [hole for hole in holes if hole.one.place in leads]
    pairs = close_lines(outlines_of([outline_row(hole) for hole in kept]))
    yield from crossing_cautions(fitted, kept, [pair for pair in pairs if pair.gap_mm < -SLACK], twins, mended)
    yield from tight_cautions(fitted, kept, [pair for pair in pairs if pair.gap_mm >= -SLACK], mended)


def crossing_cautions(
    fitted: tuple[Fitted, ...],
    holes: Sequence[Hole],
    pairs: Sequence[Close],
    twins: Sequence[tuple[Fitted, Fitted]],
    mended: int,
) -> Iterator[Caution]:
    """Yield a stop for each two lines whose outlines cross, naming both."""
    for said, pair in enumerate(named(pairs)):
        mends = room_moves(fitted, holes, pair) if said < mended else ()
        yield crossing(fitted[pair.first], fitted[pair.second], pair.gap_mm, mends)
    for pair_of_twins in twins:
        one, other = sorted(pair_of_twins, key=lambda line: line.place)
        yield crossing(one, other, None, ())


def named(pairs: Sequence[Close]) -> Iterator[Close]:
    """Yield the pairs that are told: a line stands in at most five of them as the later one."""
    told: dict[int, int] = {}
    for pair in pairs:
        told[pair.second] = told.get(pair.second, 0) + 1
        if told[pair.second] <= MOST_NAMED:
            yield pair


def crossing(one: Fitted, other: Fitted, gap_mm: float | None, mends: Mends) -> Caution:
    return Caution(
        "openings_overlap",
        STOP,
        f"Openings for {one.kind.name} (line {one.place + 1}) and {other.kind.name} (line {other.place + 1}) cross. "
        "Move one of them.",
        {"lines": (one.id, other.id), "gap_mm": gap_mm},
        "common_practice",
        mends,
        (other if other.is_new else one).id,
    )


def tight_cautions(
    fitted: tuple[Fitted, ...], holes: Sequence[Hole], pairs: Sequence[Close], mended: int
) -> Iterator[Caution]:
    """Yield a caution for each two lines whose openings stand closer than the larger diameter."""
    for said, pair in enumerate(named(pairs)):
        one, other = fitted[pair.first], fitted[pair.second]
        yield Caution(
            "opening_near_edge",
            CAUTION,
            f"Openings for {one.kind.name} (line {one.place + 1}) and {other.kind.name} (line {other.place + 1}) are "
            f"{max(pair.gap_mm, 0.0):.0f} mm apart; {pair.wanted_mm:.0f} mm are wanted so that the skin between them "
            "holds.",
            {"lines": (one.id, other.id), "gap_mm": pair.gap_mm, "wanted_mm": pair.wanted_mm},
            "common_practice",
            room_moves(fitted, holes, pair) if said < mended else (),
            (other if other.is_new else one).id,
        )


def room_moves(fitted: tuple[Fitted, ...], holes: Sequence[Hole], pair: Close) -> Mends:
    """Return moves of one of two lines that part their patterns: aft, forward, to one side, to the other."""
    one, other = fitted[pair.second], fitted[pair.first]
    if not one.is_new:
        one, other = other, one
    surface = surface_number(holes[pair.outlines[0]])
    mine, theirs = (
        extent([h for h in holes if h.one is line and surface_number(h) == surface]) for line in (one, other)
    )
    side = holes[pair.outlines[0]].surface == "side"
    wanted = pair.wanted_mm + ROOM_MM
    shifts = [
        (theirs[1] - mine[0] + wanted, 0),
        (theirs[0] - mine[1] - wanted, 0),
        (theirs[3] - mine[2] + wanted, 2 if side else 1),
        (theirs[2] - mine[3] - wanted, 2 if side else 1),
    ]
    shifts.sort(key=lambda shift: abs(shift[0]))
    return tuple(
        {"do": "move", "line": one.id, "offset_m": offset_by(one, axis, math.copysign(math.ceil(abs(by)), by))}
        for by, axis in shifts
    )


def extent(holes: Sequence[Hole]) -> tuple[float, float, float, float]:
    """Return the least and greatest x and y (z on a side) that outlines cover [mm]."""
    rows = [outline_row(hole) for hole in holes]
    along = [(x - a - r, x + a + r) for _, _, _, x, _, a, _, r, _ in rows]
    across = [(y - b - r, y + b + r) for _, _, _, _, y, _, b, r, _ in rows]
    return (
        min(low for low, _ in along),
        max(high for _, high in along),
        min(low for low, _ in across),
        max(high for _, high in across),
    )


def offset_by(one: Fitted, axis: int, by_mm: float) -> tuple[float, float, float]:
    """Return a line's offset moved along one axis [m]."""
    offset = list(one.line.offset_m)
    offset[axis] = rounded(offset[axis] + by_mm / 1000)
    return offset[0], offset[1], offset[2]


def rounded(length_m: float) -> float:
    """Return a length to the millimetre, as it is marked on a hull [m]."""
    return round(length_m, 3)


def lacking_to_gunwale(hull: Hull, hole: Hole) -> float:
    """Return how much an opening's centre is too near the gunwale [mm], 0 or less where it has room.

    3 diameters, one counted as at most 25 mm, against (B/2) f(x) - |y| on deck, D - z on a side; the bottom has none.
    """
    wanted = TO_GUNWALE * counted_mm(hole)
    if hole.surface == "deck":
        room = gunwale_m(hull.length_m, hull.beam_m, hull.waterplane_exponent, hole.x_m) - abs(hole.y_m)
    elif hole.surface == "side":
        room = hull.depth_m - hole.z_m
    else:
        return 0.0
    return wanted * (1 - SLACK) - 1000 * room


def gunwale_cautions(hull: Hull, holes: Sequence[Hole], mended: int) -> Iterator[Caution]:
    """Yield a caution for each line with an opening too near the gunwale."""
    said = 0
    for at in by_line(holes).values():
        lacking, hole = max(((lacking_to_gunwale(hull, holes[k]), holes[k]) for k in at), key=lambda pair: pair[0])
        if lacking <= 0:
            continue
        said += 1
        one, wanted = hole.one, TO_GUNWALE * counted_mm(hole)
        room = wanted - lacking
        where = f"is {room:.0f} mm from the gunwale" if room >= 0 else "lies beyond the gunwale by these figures"
        yield Caution(
            "opening_near_edge",
            CAUTION,
            f"An opening for {one.kind.name} {where}; {wanted:.0f} mm are wanted. Measure on the hull in hand: the "
            "edge may be turned or hollow.",
            {"gap_mm": room, "wanted_mm": wanted, "lines": (one.id,)},
            "common_practice",
            inboard(hole, lacking) if said <= mended else (),
            one.id,
        )


def inboard(hole: Hole, lacking_mm: float) -> Mends:
    """Return the move that brings an opening away from the gunwale: towards the centreline, on a side down."""
    by = math.ceil(lacking_mm)
    if hole.surface == "side":
        offset = offset_by(hole.one, 2, -by)
    elif by <= 1000 * abs(hole.y_m):
        offset = offset_by(hole.one, 1, -by if hole.y_m > 0 else by)
    else:
        return ()
    return ({"do": "move", "line": hole.one.id, "offset_m": offset},)


def workings_of(flotation: Flotation, schedule: Sequence[PlacedOpening]) -> Iterator[Working]:
    """Yield the working of the count, and of the height and the bit of each line's lowest opening."""
    yield Working("opening_count", "every opening of every unit that the ticket makes", {}, ("catalogue", "sheet"))
    lowest: dict[str, PlacedOpening] = {}
    for opening in sorted(schedule, key=height_sorted):
        lowest.setdefault(opening.line, opening)
    for opening in lowest.values():
        where = {"x [mm]": opening.x_mm, "y [mm]": opening.y_mm, "z [mm]": opening.z_mm}
        water = {
            "height on the figures' water [mm]": opening.height_at_figure_mm,
            "waters judged": len(flotation.waterlines),
            "off after a float test [mm]": flotation.margin_mm,
        }
        yield Working(
            f"openings.{opening.letter}.height_above_water_mm",
            "lowest edge − (z_w(x) within the hull + y tan φ), the least over the form and its variants",
            {**where, **water},
            ("archimedes", "from_memory"),
        )
        yield Working(
            f"openings.{opening.letter}.diameter_mm",
            "bolt + 0.1 to 0.3 mm; tapping screw: core d2 to the next drill; rivet and well nut by the table",
            {"fastener": opening.fastener, "hole [mm]": opening.diameter_mm, "bit": opening.bit},
            ("drill_sizes", "iso_1478", "rivet_holes", "from_memory"),
        )


def height_sorted(opening: PlacedOpening) -> tuple[float, str]:
    """Return what puts the lowest above the water [mm] first; without a height, the first letter."""
    height_mm = opening.height_above_water_mm
    return (math.inf if height_mm is None else height_mm, opening.letter)
