"""The drawings of a ticket, filled from its build sheet and its estimate."""

from collections.abc import Mapping
from typing import Any

from django.utils.safestring import mark_safe

from builds.drawings.boat import Boat, Form, Hole, Item, Level, Station, Water
from builds.drawings.hull import hull
from builds.drawings.svg import Drawn
from shop.units import METRIC

Document = Mapping[str, Any]


def boat_of(sheet: Document, estimate: Document, *, selected: str = "", units: str = METRIC) -> Boat:
    """Return the boat as the drawings take it, from a whole sheet document and an estimate document."""
    record = sheet["hull"]
    stations = {station["id"]: station for station in record.get("stations", ())}
    numbers = {line["id"]: str(number) for number, line in enumerate(sheet["lines"], start=1)}
    return Boat(
        form=form_of(record, estimate),
        name=record["name"],
        stations=tuple(
            Station(
                id=station["id"],
                name=station["name"],
                x_m=station["x_m"],
                y_m=station["y_m"],
                z_m=station["z_m"],
                surface=station["surface"],
                well_half_width_m=station.get("well_half_width_m"),
            )
            for station in stations.values()
        ),
        items=tuple(item_of(sheet, line, stations, numbers) for line in sheet["lines"]),
        holes=tuple(hole_of(opening, numbers) for opening in estimate.get("openings") or ()),
        water=water_of(estimate),
        selected=selected,
        units=units,
    )


def form_of(record: Document, estimate: Document) -> Form:
    floats = estimate.get("flotation") or {}
    return Form(
        length_m=record["length_m"],
        beam_m=record["beam_m"],
        depth_m=record["depth_m"],
        waterplane_exponent=record["waterplane_exponent"],
        section_exponent=floats.get("section_exponent") or record["section_exponent"],
    )


def item_of(sheet: Document, line: Document, stations: Mapping[str, Document], numbers: Mapping[str, str]) -> Item:
    """Return a line as an item at its place; without a station it is drawn amidships."""
    kind = sheet["accessories"][line["accessory"]]
    station = stations.get(line.get("station") or "")
    base = (
        (station["x_m"], station["y_m"], station["z_m"])
        if station
        else (sheet["hull"]["length_m"] / 2, 0.0, sheet["hull"]["depth_m"] / 2)
    )
    x, y, z = (at + off for at, off in zip(base, line.get("offset_m") or (0.0, 0.0, 0.0), strict=True))
    return Item(
        line=line["id"],
        label=numbers[line["id"]],
        name=kind["name"],
        x_m=x,
        y_m=y,
        z_m=z,
        surface=station["surface"] if station else "inside",
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
        label=numbers[opening["line"]],
        x_m=opening["x_mm"] / 1000,
        y_m=opening["y_mm"] / 1000,
        z_m=opening["z_mm"] / 1000,
        surface=opening.get("surface", "deck"),
        shape=opening["shape"],
        diameter_mm=opening.get("diameter_mm"),
        width_mm=opening.get("width_mm"),
        height_mm=opening.get("height_mm"),
        purpose=opening.get("purpose", ""),
    )


def water_of(estimate: Document) -> Water | None:
    """Return how she floats, or None where nothing is known of it or nothing floats."""
    floats = estimate.get("flotation")
    if not floats or not floats["fits"]:
        return None
    band, trim_m = floats["band"], floats["trim_mm"] / 1000
    codes = {caution["code"] for caution in estimate.get("cautions", ())}
    return Water(
        level=Level.from_mid(floats["draft_mid_mm"] / 1000, trim_m),
        heel_deg=floats["heel_deg"],
        band=tuple(Level.from_mid(draft_mm / 1000, trim_m) for draft_mm in band["draft_mid_mm"] or ()),
        float_tested="no_float_test" not in codes,
        freeboard_mm=floats["freeboard_mm"],
        freeboard_at_least="heel_large" in codes,
        deck_freeboard_mm=floats["deck_freeboard_mm"],
        deck_freeboard_band_mm=tuple(band["deck_freeboard_mm"]) if band["deck_freeboard_mm"] else None,
        centre_of_gravity_m=tuple(estimate["weights"]["cog_m"]),
    )


def on_page(drawn: Drawn) -> str:
    """Return a drawing for a template; the drawings escape what they letter."""
    return mark_safe(drawn.svg)


def board_drawings(sheet: Document, estimate: Document, selected: str, units: str) -> dict[str, Any]:
    """Return the drawings beside a ticket on the screen."""
    return {"hull": on_page(hull(boat_of(sheet, estimate, selected=selected, units=units), "hull"))}
