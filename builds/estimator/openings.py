"""Openings: every hole and cut-out of a ticket with its place, height above the water, bit, seal and letter."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .accessory import SURFACES, Opening
from .bits import BLIND_DEPTH_MM, DEPTH_MM, bit_text, fastener_of, hole_mm
from .fitted import Fitted
from .flotation import Flotation
from .hullform import Array
from .sheet import BuildSheet, Hull

USUAL_LEAST_MM = 75.0
"""The least height of an opening above the water where the type names none (common practice, no source)."""
SAME_MM = 0.1
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Hole:
    """One opening of one unit of a line where it comes to lie: x aft, y to starboard, z up [m], and its surface.

    `index` counts the openings of the type. `diameter_mm` is what is drilled; null where the opening is not round.
    """

    one: Fitted
    index: int
    opening: Opening
    surface: str
    x_m: float
    y_m: float
    z_m: float
    diameter_mm: float | None

    @property
    def size_mm(self) -> tuple[float, float]:
        """The outline's extent along the hull and across (or up) [mm]."""
        return self.opening.size_mm if self.diameter_mm is None else (self.diameter_mm, self.diameter_mm)

    @property
    def low_m(self) -> float:
        """The height of its lowest edge above the keel [m]."""
        return self.z_m - (self.size_mm[1] / 2000 if self.surface == "side" else 0.0)


@dataclass(frozen=True, slots=True)
class PlacedOpening:
    """One opening of the schedule. x from the bow tip, y to starboard of the centreline, z above the keel [mm].

    `height_above_water_mm` is of the lowest edge on the worst water of the band, `height_at_figure_mm` on the water of
    the figures themselves; null where the boat does not float. `place` names one part at one place: what the customer
    initials. `unit` counts from 1 within the line.
    """

    letter: str
    line: str
    x_mm: float
    y_mm: float
    z_mm: float
    shape: str
    diameter_mm: float | None
    bit: str
    seal: str
    height_above_water_mm: float | None
    fastener: str | None
    surface: str
    width_mm: float | None
    height_mm: float | None
    corner_mm: float | None
    purpose: str
    cable: bool
    depth_stop_mm: float
    height_at_figure_mm: float | None
    least_height_mm: float
    place: str
    unit: int


def schedule_of(sheet: BuildSheet, fitted: tuple[Fitted, ...], flotation: Flotation) -> tuple[PlacedOpening, ...]:
    """Return every opening that the ticket makes, lettered in the order of surface, x and y.

    Each unit's openings are listed, at the line's place: the count stands above the customer's signature. Lines that
    are on the boat already and openings inside the boat are not in it. Ties within 0.1 mm go by the order of the lines.

    References: method of the shop; heights by `heights_of`.
    """
    holes = [hole for hole in holes_of(sheet.hull, fitted) if hole.one.is_new]
    worst, figure = heights_of(sheet.hull, flotation, holes)
    listed = sorted(
        (in_order(hole), hole.one.place, unit, hole.index, k)
        for k, hole in enumerate(holes)
        for unit in range(1, hole.one.quantity + 1)
    )
    return tuple(
        placed(holes[k], letters(n), unit, worst[k] if worst else None, figure[k] if figure else None)
        for n, (_, _, unit, _, k) in enumerate(listed)
    )


def placed(hole: Hole, letter: str, unit: int, worst_mm: float | None, figure_mm: float | None) -> PlacedOpening:
    """Return a hole as a row of the schedule."""
    one, opening = hole.one, hole.opening
    is_round = opening.shape == "round"
    return PlacedOpening(
        letter=letter,
        line=one.id,
        x_mm=1000 * hole.x_m,
        y_mm=1000 * hole.y_m,
        z_mm=1000 * hole.z_m,
        shape=opening.shape,
        diameter_mm=hole.diameter_mm,
        bit=bit_text(opening, one.mounting),
        seal=one.kind.seal.kind,
        height_above_water_mm=worst_mm,
        fastener=fastener_of(opening, one.mounting),
        surface=hole.surface,
        width_mm=None if is_round else opening.width_mm,
        height_mm=None if is_round else opening.height_mm,
        corner_mm=None if is_round else opening.corner_mm,
        purpose=opening.purpose,
        cable=opening.cable,
        depth_stop_mm=BLIND_DEPTH_MM if one.station and one.station.blind else DEPTH_MM,
        height_at_figure_mm=figure_mm,
        least_height_mm=least_height_mm(one),
        place=one.id if one.quantity == 1 else f"{one.id}/{unit}",
        unit=unit,
    )


def in_order(hole: Hole) -> tuple[int, float, float]:
    """Return by what a hole is sorted: surface, x and y, to a tenth of a millimetre."""
    return SURFACES.index(hole.surface), round(hole.x_m * 1000 / SAME_MM), round(hole.y_m * 1000 / SAME_MM)


def letters(n: int) -> str:
    """Return the n-th letter from 0: A, B, … Z, AA, AB, …"""
    text = ""
    n += 1
    while n:
        n, last = divmod(n - 1, 26)
        text = LETTERS[last] + text
    return text


def least_height_mm(one: Fitted) -> float:
    """Return the height above the water that a type wants for its openings [mm], 75 where it says nothing."""
    least = one.kind.opening_min_height_mm
    return USUAL_LEAST_MM if least is None else least


def holes_of(hull: Hull, fitted: Sequence[Fitted]) -> list[Hole]:
    """Return the openings of one unit of each line, those on the boat already among them, without those inside."""
    return [
        hole
        for one in fitted
        for index, opening in enumerate(one.openings)
        if (hole := hole_at(one, index, opening)).surface != "inside"
    ]


def hole_at(one: Fitted, index: int, opening: Opening) -> Hole:
    """Return where an opening comes to lie: the line's place and its own dx, dy; on a side dy is up.

    The surface is the opening's own, else the station's; without a station, the deck. What a pattern puts through the
    bottom from another surface lies at the keel.
    """
    here = one.station.surface if one.station else "deck"
    surface = opening.surface or here
    x, y, z = one.point_m
    along, across = opening.dx_mm / 1000, opening.dy_mm / 1000
    if surface == "side":
        z += across
    else:
        y += across
    if surface == "bottom" and here != "bottom":
        z = min(z, 0.0)
    return Hole(one, index, opening, surface, x + along, y, z, hole_mm(opening, one.mounting))


def heights_of(hull: Hull, flotation: Flotation, holes: Sequence[Hole]) -> tuple[list[float], list[float]]:
    """Return each hole's lowest edge above the water [mm], on the worst of the band and on the figures' own water.

    lowest edge - (z_w(x) clipped to 0..D + y tan(phi)); lowest edge: z, on a side z less half the height. Worst is the
    least over the form and its variants, 5 mm less after a float test. Empty lists where the boat does not float.
    """
    if not flotation.fits or not holes:
        return [], []
    x, y, low = (np.array([getattr(hole, name) for hole in holes]) for name in ("x_m", "y_m", "low_m"))
    heights: list[Array] = []
    for water in flotation.waterlines:
        along = water.draft_mid_m + (x - hull.length_m / 2) * water.tan_trim
        heights.append(1000 * (low - np.clip(along, 0, hull.depth_m) - y * (water.tan_heel or 0.0)))
    worst: list[float] = (np.min(heights, axis=0) - flotation.margin_mm).tolist()
    return worst, heights[0].tolist()
