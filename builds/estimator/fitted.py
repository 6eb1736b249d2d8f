"""The lines of a sheet with what they name: type, station, place on the hull, mounting, the openings that it makes."""

from dataclasses import dataclass
from functools import cached_property

from .accessory import AccessoryType, Opening
from .sheet import BuildSheet, Hull, Line, Station

DRILLING = ("through_bolt", "rivet", "well_nut", "flush_cutout")

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Fitted:
    """A line, resolved. `place` counts from 0 in the order of the sheet; `point_m` is x aft, y starboard, z up [m]."""

    place: int
    line: Line
    kind: AccessoryType
    station: Station | None
    point_m: Point
    mounting: str

    @property
    def id(self) -> str:
        return self.line.id

    @property
    def quantity(self) -> int:
        return self.line.quantity

    @property
    def is_new(self) -> bool:
        """Whether the shop fits it on this ticket."""
        return self.line.supplied_by != "already_fitted"

    @cached_property
    def openings(self) -> tuple[Opening, ...]:
        """The openings of one unit that this mounting makes."""
        return tuple(opening for opening in self.kind.openings if opening.made_with(self.mounting))

    @property
    def drills(self) -> bool:
        return self.mounting in DRILLING

    @property
    def cure_h(self) -> float:
        """Hours until what beds or bonds this line is fit for water [h]; 0 where nothing is bedded or bonded."""
        bedded = self.openings or self.mounting == "adhesive" or (self.drills and not self.kind.openings)
        return self.kind.cure_h if bedded and self.is_new else 0.0


def place_of(hull: Hull, station_id: str | None, offset_m: Point = (0.0, 0.0, 0.0)) -> Point:
    """Return a place on the hull [m]: the station and the offset; without a station amidships at half depth."""
    station = hull.station_by_id[station_id] if station_id is not None else None
    base = station.point_m if station else (hull.length_m / 2, 0.0, hull.depth_m / 2)
    return base[0] + offset_m[0], base[1] + offset_m[1], base[2] + offset_m[2]


def fit_lines(sheet: BuildSheet) -> tuple[Fitted, ...]:
    """Return every line of the sheet, resolved, in the sheet's order."""
    stations = sheet.hull.station_by_id
    return tuple(
        Fitted(
            place=i,
            line=line,
            kind=sheet.type_of(line),
            station=stations.get(line.station) if line.station is not None else None,
            point_m=place_of(sheet.hull, line.station, line.offset_m),
            mounting=line.mounting or sheet.type_of(line).mountings[0],
        )
        for i, line in enumerate(sheet.lines)
    )
