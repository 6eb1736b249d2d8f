"""Placement: for each battery every station that holds one, with trim, heel and runs as they would be there."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .demand import Demand, demands_of
from .energy import spells_of
from .equilibrium import float_cases
from .fitted import Fitted, Point, place_of
from .flotation import Flotation, Waterline, density, forms_of, heel_deg, trim_mm, waterlines_of
from .power import THICKEST_AT_A_PLACEMENT, passes_at
from .runs import Route, route_between, route_feeds
from .sheet import BuildSheet
from .weights import Weights
from .wiring import wire
from .working import Working

SAME_TRIM = 1e-9


@dataclass(frozen=True)
class Option:
    """A station that holds the battery: trim there (stern down) [mm], heel (starboard down) [deg], longest run [m].

    `drops_pass` says that the feed and every leg pass with no conductor thicker than 6 AWG. Trim and heel are null
    where the hull does not fit, heel also where it lacks stability.
    """

    station: str
    trim_mm: float | None
    heel_deg: float | None
    longest_run_m: float
    drops_pass: bool


@dataclass(frozen=True)
class Placement:
    """Where one battery could go; `best` is the station of least trim among those whose drops pass, or null."""

    battery: str
    best: str | None
    options: tuple[Option, ...]


def place_batteries(
    sheet: BuildSheet,
    fitted: tuple[Fitted, ...],
    routes: Mapping[str, Route],
    weights: Weights,
    flotation: Flotation,
) -> tuple[Placement, ...]:
    """Return the placement of each battery, in the sheet's order; all else stays where it is.

    The battery keeps its offset from the station. All its stations float in one batch, on the recorded form.

    References: `float_hull`, `wire`; 6 AWG as the thickest, common practice, no source.
    """
    batteries = [one for one in fitted if one.kind.battery]
    stations = [station for station in sheet.hull.stations if station.holds_battery]
    moved = [
        replace(one, station=station, point_m=place_of(sheet.hull, station.id, one.line.offset_m))
        for one in batteries
        for station in stations
    ]
    if not moved:
        return tuple(Placement(one.id, None, ()) for one in batteries)
    waters = waters_at(sheet, weights, flotation, [one.point_m for one in batteries for _ in stations], moved)
    demands, feeds = demands_of(routes, spells_of(sheet)), route_feeds(sheet, fitted)
    on_battery: dict[str, list[Route]] = {}
    for route in routes.values():
        on_battery.setdefault(route.battery.id, []).append(route)
    options = [
        option_at(sheet, one, water, rerouted(one, on_battery.get(one.id, [])), feeds.get(one.id), demands)
        for one, water in zip(moved, waters, strict=True)
    ]
    each = len(stations)
    return tuple(placement_of(one, options[i * each : (i + 1) * each]) for i, one in enumerate(batteries))


def waters_at(
    sheet: BuildSheet, weights: Weights, flotation: Flotation, points_m: Sequence[Point], moved: Sequence[Fitted]
) -> list[Waterline | None]:
    """Return the water about the hull with each battery moved from its place; None where the hull does not fit."""
    if not flotation.fits:
        return [None] * len(moved)
    mass_kg = np.array([one.quantity * one.kind.in_use_kg for one in moved])
    shift_m = np.array([one.point_m for one in moved]) - np.array(points_m)
    shares = mass_kg / weights.displacement_kg
    cog_m = np.array(weights.cog_m) + shares[:, None] * shift_m
    forms = forms_of(sheet).only([0] * len(moved))
    volumes = np.full(len(moved), weights.displacement_kg / density(sheet))
    found = float_cases(forms, volumes, cog_m[:, 0], cog_m[:, 2])
    figures = forms.hydrostatics(found.draft_mid_m, found.tan_trim)
    waters = waterlines_of(forms, found, figures, cog_m)
    return [water if fits else None for water, fits in zip(waters, found.fits, strict=True)]


def rerouted(moved: Fitted, routes: Sequence[Route]) -> list[Route]:
    """Return a battery's routes with the battery moved: those that start at it change their length."""
    return [
        route_between(moved, moved, route.load, route.switch, route.depth) if route.origin.id == moved.id else route
        for route in routes
    ]


def option_at(
    sheet: BuildSheet,
    moved: Fitted,
    water: Waterline | None,
    routes: Sequence[Route],
    feed: Route | None,
    demands: Mapping[str, Demand],
) -> Option:
    """Return one option of a battery that has been moved to its station."""
    assert moved.station and moved.kind.battery
    feed = route_between(moved, moved, feed.load, feed.switch) if feed else None
    wiring = wire(routes, feed, demands, moved.quantity * moved.kind.battery.max_continuous_a, sheet.shop)
    runs = [route.run_m for route in (*routes, *([feed] if feed else []))]
    return Option(
        station=moved.station.id,
        trim_mm=trim_mm(sheet.hull, water) if water else None,
        heel_deg=heel_deg(water) if water else None,
        longest_run_m=max(runs, default=0.0),
        drops_pass=passes_at(wiring),
    )


def placement_of(battery: Fitted, options: Sequence[Option]) -> Placement:
    """Return the placement with its best option: least trim either way; the earlier station wins a tie."""
    best: Option | None = None
    for option in options:
        if option.trim_mm is None or not option.drops_pass:
            continue
        if best is None or best.trim_mm is None or abs(option.trim_mm) < abs(best.trim_mm) * (1 - SAME_TRIM):
            best = option
    return Placement(battery.id, best.station if best else None, tuple(options))


def workings_of(placements: Sequence[Placement]) -> Iterator[Working]:
    """Yield how the best station of each battery is found."""
    for placement in placements:
        yield Working(
            f"placement.{placement.battery}.best",
            "least trim among the stations that hold a battery and whose feed and legs pass",
            {"thickest conductor [AWG]": THICKEST_AT_A_PLACEMENT, "stations": [o.station for o in placement.options]},
            ("archimedes", "abyc_e11", "common_practice"),
        )
