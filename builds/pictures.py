"""The drawings beside a ticket on the screen, from its build sheet and its estimate."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from builds.documents.boats import boat_of
from builds.documents.diagrams import days_of, wirings_of
from builds.documents.parts import parts_of
from builds.documents.places import openings_of
from builds.drawings.day import day, day_sentence
from builds.drawings.gauges import Share, load_gauge, time_gauge
from builds.drawings.hull import hull
from builds.drawings.plan import HOLES, plan
from builds.drawings.section import section
from builds.drawings.svg import Drawn
from builds.drawings.wiring import wiring

Document = Mapping[str, Any]
PHONE_WIDE = 360.0


@dataclass(frozen=True)
class Picture:
    """A drawing with its name and the sentence under it."""

    name: str
    svg: SafeString
    sentence: str = ""


def on_page(drawn: Drawn) -> SafeString:
    # Every text in a drawing is escaped where it is written.
    return mark_safe(drawn.svg)


def openings_picture(sheet: Document, estimate: Document) -> SafeString:
    """Return the boat from above with the letters of its openings, for the one who agrees to them."""
    boat = boat_of(sheet, estimate, parts_of(sheet))
    return on_page(plan(boat, "openings", HOLES, PHONE_WIDE, bow_up=True))


def board_drawings(
    sheet: Document, estimate: Document, selected: str, units: str, *, station_link: str = ""
) -> dict[str, Any]:
    """Return the drawings of a ticket, with its openings: the boat, its lowest floor, each wiring, each day.

    Where `station_link` is given, a station pressed leads there.
    """
    parts = parts_of(sheet)
    boat = replace(boat_of(sheet, estimate, parts), selected=selected, units=units, station_link=station_link)
    floors = [station for station in boat.stations if station.well_half_width_m is not None] if boat.water else []
    lowest = min(
        floors, key=lambda station: station.z_m - boat.water.level.at(station.x_m, boat.form.length_m), default=None
    )
    return {
        "openings": openings_of(estimate, parts),
        "load": on_page(load_gauge(shares_of(sheet, estimate), sheet["hull"]["rated_load_kg"], "load", units=units)),
        "time": on_page(time_gauge(estimate["labour"]["p50_min"], estimate["labour"]["p80_min"], "time")),
        "hull": on_page(hull(boat, "hull")),
        "floor": Picture(lowest.name, on_page(section(boat, lowest, "floor"))) if lowest else None,
        "wirings": [
            Picture(system.battery.name, on_page(wiring(system, f"wiring-{place}", 890.0, printed=False)))
            for place, system in enumerate(wirings_of(sheet, estimate, parts, units))
        ],
        "days": [
            Picture(battery.name, on_page(day(battery, f"day-{place}")), day_sentence(battery))
            for place, battery in enumerate(days_of(sheet, estimate, parts))
        ],
    }


def shares_of(sheet: Document, estimate: Document) -> list[Share]:
    """Return what the load is made of: people, kit and parts, and the hull where the rating includes it."""
    shares = [
        Share("people", sum(person["mass_kg"] for person in sheet["people"])),
        Share("kit", sum(item["mass_kg"] for item in sheet["gear"])),
        Share("parts", estimate["weights"]["added_in_use_kg"]),
    ]
    return [*shares, Share("hull", sheet["hull"]["mass_kg"])] if sheet["hull"]["rating_includes_hull"] else shares
