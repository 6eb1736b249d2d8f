"""Runs: the way of a cable between two places on the hull, and from where each load is fed."""

import math
from dataclasses import dataclass

from .fitted import Fitted, Point
from .links import battery_of
from .sheet import BuildSheet

SLACK = 1.15
BENDS_M = 0.30
TAIL_M = 0.15


def run_m(a: Point, b: Point) -> float:
    """Return the run of a cable between two places, one way [m].

    run = 1.15 * straight distance + 0.30 m + 2 * 0.15 m

    References: common practice, no source (slack round the hull, bends, a tail at each end).
    """
    return SLACK * math.dist(a, b) + BENDS_M + 2 * TAIL_M


@dataclass(frozen=True)
class Route:
    """How one load is fed: its battery, from which line, through which switch, and the lengths.

    `run_m` is one way from the origin to the load [m]; `conductor_m` is positive and negative together [m].
    `positive_m` and `negative_m` are its two parts: with a switch the positive goes by way of the panel.
    """

    load: Fitted
    battery: Fitted
    origin: Fitted
    switch: Fitted | None
    run_m: float
    positive_m: float
    negative_m: float

    @property
    def conductor_m(self) -> float:
        return self.positive_m + self.negative_m

    @property
    def behind_converter(self) -> bool:
        return self.origin.kind.converter is not None


def route_loads(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> dict[str, Route]:
    """Return the route of each load that has a battery, by the line's id.

    A load starts at the distribution of its battery, or at the battery itself where there is none, where the line is
    `direct`, or for propulsion. A load of another voltage starts at the battery's converter to that voltage.

    conductor = 2 * run(origin, load), or with a switch run(origin, switch) + run(switch, load) + run(load, origin);
    a measured run replaces run(load, origin).
    """
    by_id = {one.id: one for one in fitted}
    routes = {}
    for one in fitted:
        battery_line = battery_of(sheet, one.line) if one.kind.load else None
        if battery_line is None:
            continue
        battery = by_id[battery_line.id]
        origin = origin_of(sheet, fitted, one, battery)
        back_m = one.line.measured_run_m
        if back_m is None:
            back_m = run_m(origin.point_m, one.point_m)
        switch = by_id[one.line.switch] if one.line.switch is not None else None
        out_m = run_m(origin.point_m, switch.point_m) + run_m(switch.point_m, one.point_m) if switch else back_m
        routes[one.id] = Route(one, battery, origin, switch, back_m, out_m, back_m)
    return routes


def origin_of(sheet: BuildSheet, fitted: tuple[Fitted, ...], load: Fitted, battery: Fitted) -> Fitted:
    """Return the line at which a load's conductors start."""
    assert load.kind.load and battery.kind.battery
    on_battery = [one for one in fitted if battery_of(sheet, one.line) is battery.line and one is not load]
    if load.kind.load.voltage_v != battery.kind.battery.system_v:
        for one in on_battery:
            if one.kind.converter and one.kind.converter.out_v == load.kind.load.voltage_v:
                return one
    if load.line.direct or load.kind.load.propulsion:
        return battery
    return next((one for one in on_battery if one.kind.distribution), battery)
