"""What a drawing of a boat is made from: her form, stations, fitted items, openings, and how she floats.

Frame as everywhere: x metres aft of the bow tip, y metres to starboard, z metres above the lowest point of the keel.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, pow

from shop.units import METRIC

# A hole up to this size is drilled and drawn solid; a larger one is cut, and drawn open with a cross.
DRILLED_MM = 25.0
STRIPS = 64


@dataclass(frozen=True, kw_only=True)
class Form:
    """The hull family: half-breadth (B/2) (1 - |2(x - L/2)/L|^n) (1 - (1 - z/D)^p)."""

    length_m: float
    beam_m: float
    depth_m: float
    waterplane_exponent: float
    section_exponent: float

    def fullness(self, x_m: float) -> float:
        """Return the part of the beam at x, 0 outside the hull."""
        share = abs(2.0 * x_m / self.length_m - 1.0)
        return 1.0 - pow(share, self.waterplane_exponent) if share < 1.0 else 0.0

    def rise(self, z_m: float) -> float:
        """Return the part of the breadth at a height z, clipped to 0..D."""
        up = min(max(z_m / self.depth_m, 0.0), 1.0)
        return 1.0 - pow(1.0 - up, self.section_exponent)

    def half_breadth_m(self, x_m: float, z_m: float) -> float:
        """Return the half-breadth at x and z [m]."""
        return 0.5 * self.beam_m * self.fullness(x_m) * self.rise(z_m)

    def height_m(self, x_m: float, y_m: float) -> float | None:
        """Return the height of the skin at x, a distance y off the centreline [m]; None outside the hull."""
        reach = 0.5 * self.beam_m * self.fullness(x_m)
        part = abs(y_m) / reach if reach > 0.0 else 1.0
        if part >= 1.0:
            return None
        return self.depth_m * (1.0 - pow(1.0 - part, 1.0 / self.section_exponent))

    @cached_property
    def strips(self) -> tuple[tuple[float, float], ...]:
        """x and the part of the beam there, closest at the ends, where the outline turns most."""
        half = self.length_m / 2
        return tuple((x, self.fullness(x)) for x in (half * (1.0 - cos(pi * k / STRIPS)) for k in range(STRIPS + 1)))


@dataclass(frozen=True, kw_only=True)
class Station:
    """A named place on the hull. `label` is the short name that a drawing shows; by default made from the id."""

    id: str
    name: str
    x_m: float
    y_m: float
    z_m: float
    surface: str = "deck"
    well_half_width_m: float | None = None
    label: str = ""

    @property
    def short(self) -> str:
        return self.label or self.id.replace("_", " ")


@dataclass(frozen=True, kw_only=True)
class Outline:
    """A hatch or a well seen from above, about its centre [m]. `floor_m` is the height of a well's floor."""

    name: str
    x_m: float
    y_m: float
    length_m: float
    width_m: float
    corner_m: float | None = 0.05
    floor_m: float | None = None


@dataclass(frozen=True, kw_only=True)
class Item:
    """One fitted item of a line: its place, and its body along, across and up where known [m]."""

    line: str
    label: str
    name: str
    x_m: float
    y_m: float
    z_m: float
    surface: str = "deck"
    station: str = ""
    length_m: float | None = None
    width_m: float | None = None
    height_m: float | None = None

    @property
    def hidden(self) -> bool:
        """Whether it sits inside or below the skin, and is drawn in dashes."""
        return self.surface in ("inside", "bottom")


@dataclass(frozen=True, kw_only=True)
class Hole:
    """One opening: its letter ("" where it has none), its line, centre [m], shape and size [mm]."""

    letter: str
    line: str
    label: str
    x_m: float
    y_m: float
    z_m: float
    surface: str = "deck"
    shape: str = "round"
    diameter_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    corner_mm: float = 0.0
    purpose: str = ""

    @property
    def size_mm(self) -> tuple[float, float]:
        """The outline's extent along the hull and across (or up) [mm]."""
        if self.shape == "round":
            return self.diameter_mm or 0.0, self.diameter_mm or 0.0
        return self.width_mm or 0.0, self.height_mm or 0.0

    @property
    def drilled(self) -> bool:
        return self.shape == "round" and (self.diameter_mm or 0.0) <= DRILLED_MM


@dataclass(frozen=True)
class Level:
    """A waterline along the hull: its height above the keel at the bow tip and at the stern [m]."""

    bow_m: float
    stern_m: float

    @classmethod
    def from_mid(cls, draft_mid_m: float, trim_m: float) -> "Level":
        """Return the level from the draft amidships and the trim, stern-down positive [m]."""
        return cls(draft_mid_m - trim_m / 2, draft_mid_m + trim_m / 2)

    def at(self, x_m: float, length_m: float) -> float:
        """Return the height of the water at x [m]."""
        return self.bow_m + (self.stern_m - self.bow_m) * x_m / length_m


@dataclass(frozen=True, kw_only=True)
class Water:
    """How she floats. `band` holds the waterlines that the main dimensions also allow."""

    level: Level
    heel_deg: float | None = None
    band: tuple[Level, ...] = ()
    float_tested: bool = False
    freeboard_mm: float | None = None
    freeboard_at_most: bool = False
    deck_freeboard_mm: float | None = None
    deck_freeboard_band_mm: tuple[float, float] | None = None
    centre_of_gravity_m: tuple[float, float, float] | None = None

    @property
    def draft_mid_m(self) -> float:
        return (self.level.bow_m + self.level.stern_m) / 2

    @property
    def trim_m(self) -> float:
        return self.level.stern_m - self.level.bow_m

    @property
    def drafts_mid_m(self) -> tuple[float, float]:
        """The least and the greatest draft amidships of the band [m]."""
        drafts = [(level.bow_m + level.stern_m) / 2 for level in (self.level, *self.band)]
        return min(drafts), max(drafts)

    def edges(self, x_m: float, length_m: float) -> tuple[float, float]:
        """Return the lowest and the highest water of the band at x [m]."""
        heights = [level.at(x_m, length_m) for level in (self.level, *self.band)]
        return min(heights), max(heights)


@dataclass(frozen=True, kw_only=True)
class Boat:
    """Everything that a drawing of the hull shows.

    `water` is None where nothing floats or nothing is known; `note` then stands in the place of the drafts.
    `station_link` is an address with "{key}" in it, to which a station leads when it is pressed; paper has none.
    """

    form: Form
    name: str = ""
    stations: tuple[Station, ...] = ()
    items: tuple[Item, ...] = ()
    holes: tuple[Hole, ...] = ()
    outlines: tuple[Outline, ...] = ()
    water: Water | None = None
    note: str = ""
    selected: str = ""
    station_link: str = ""
    units: str = METRIC

    @property
    def items_in_order(self) -> list[Item]:
        """The items in the order of drawing: the largest first, the selected line on top."""
        return sorted(self.items, key=lambda i: (i.line == self.selected, -(i.length_m or 0.0) * (i.width_m or 0.0)))

    def class_of(self, lines: str | Sequence[str]) -> str:
        """Return the class of a group that belongs to a line, or to one of several."""
        ids = lines.split() if isinstance(lines, str) else lines
        return "d-line d-sel" if self.selected and self.selected in ids else "d-line"
