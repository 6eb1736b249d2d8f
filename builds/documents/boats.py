"""The boat of a ticket as the drawings take it, from the sheet and the estimate."""

from collections.abc import Mapping
from typing import Any

from builds.drawings.boat import Boat, Form, Hole, Item, Level, Station, Water

from .figures import with_unit
from .parts import Part

Document = Mapping[str, Any]


def boat_of(sheet: Document, estimate: Document, parts: Mapping[str, Part]) -> Boat:
    """Return the boat with its stations, the lines where they are fitted, the openings, and the water where known."""
    hull = sheet["hull"]
    numbers = {part.id: str(part.number) for part in parts.values()}
    return Boat(
        form=Form(
            length_m=hull["length_m"],
            beam_m=hull["beam_m"],
            depth_m=hull["depth_m"],
            waterplane_exponent=hull["waterplane_exponent"],
            section_exponent=(estimate.get("flotation") or {}).get("section_exponent") or hull["section_exponent"],
        ),
        name=hull.get("name", ""),
        stations=tuple(station_of(station) for station in hull.get("stations") or ()),
        items=tuple(item_of(line, sheet, parts[line["id"]]) for line in sheet.get("lines") or ()),
        holes=tuple(hole_of(opening, numbers) for opening in estimate.get("openings") or ()),
        water=water_of(estimate),
        note=sunk_words(estimate.get("flotation") or {}),
    )


def sunk_words(floats: Document) -> str:
    """Return why no waterline is drawn, where the boat does not carry its load."""
    if floats.get("fits", True):
        return ""
    return f"does not float with this load; at most {with_unit(floats['greatest_load_kg'], 0, 'kg')}, balanced as now"


def station_of(station: Document) -> Station:
    return Station(
        id=station["id"],
        name=station.get("name") or station["id"],
        x_m=station["x_m"],
        y_m=station["y_m"],
        z_m=station["z_m"],
        surface=station.get("surface") or "deck",
        well_half_width_m=station.get("well_half_width_m"),
    )


def item_of(line: Document, sheet: Document, part: Part) -> Item:
    """Return a line at its station and offset; without a station amidships at half depth, as the estimate takes it."""
    hull, kind = sheet["hull"], sheet.get("accessories", {}).get(line["accessory"], {})
    station = next((one for one in hull.get("stations") or () if one["id"] == line.get("station")), None)
    base = (hull["length_m"] / 2, 0.0, hull["depth_m"] / 2)
    if station:
        base = (station["x_m"], station["y_m"], station["z_m"])
    x_m, y_m, z_m = (at + by for at, by in zip(base, line.get("offset_m") or (0.0, 0.0, 0.0), strict=True))
    return Item(
        line=part.id,
        label=str(part.number),
        name=part.name,
        x_m=x_m,
        y_m=y_m,
        z_m=z_m,
        surface=(station.get("surface") if station else None) or "deck",
        station=line.get("station") or "",
        length_m=metres(kind.get("body_length_mm")),
        width_m=metres(kind.get("body_width_mm")),
    )


def metres(length_mm: float | None) -> float | None:
    return None if length_mm is None else length_mm / 1000


def hole_of(opening: Document, numbers: Mapping[str, str]) -> Hole:
    return Hole(
        letter=opening["letter"],
        line=opening["line"],
        label=numbers.get(opening["line"], ""),
        x_m=opening["x_mm"] / 1000,
        y_m=opening["y_mm"] / 1000,
        z_m=opening["z_mm"] / 1000,
        surface=opening.get("surface") or "deck",
        shape=opening.get("shape") or "round",
        diameter_mm=opening.get("diameter_mm"),
        width_mm=opening.get("width_mm"),
        height_mm=opening.get("height_mm"),
        corner_mm=opening.get("corner_mm") or 0.0,
        purpose=opening.get("purpose") or "",
    )


def water_of(estimate: Document) -> Water | None:
    """Return how she floats, with its band, or nothing where she does not or where it is not computed."""
    floats = estimate.get("flotation") or {}
    draft_mm, trim_mm = floats.get("draft_mid_mm"), floats.get("trim_mm")
    if draft_mm is None or trim_mm is None:
        return None
    band = floats.get("band") or {}
    codes = {caution["code"] for caution in estimate.get("cautions") or ()}
    deck = band.get("deck_freeboard_mm")
    return Water(
        level=Level.from_mid(draft_mm / 1000, trim_mm / 1000),
        heel_deg=floats.get("heel_deg"),
        band=tuple(Level.from_mid(draft / 1000, trim_mm / 1000) for draft in band.get("draft_mid_mm") or ()),
        float_tested="no_float_test" not in codes,
        freeboard_mm=floats.get("freeboard_mm"),
        freeboard_at_most="heel_large" in codes,
        deck_freeboard_mm=floats.get("deck_freeboard_mm"),
        deck_freeboard_band_mm=(deck[0], deck[1]) if deck else None,
        centre_of_gravity_m=tuple(estimate["weights"]["cog_m"]) if "weights" in estimate else None,
    )
