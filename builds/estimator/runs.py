"""Runs: the way of a cable between two places on the hull, and from where each load is fed."""

import math
from collections import deque
from collections.abc import Iterable, Mapping
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
class Supply:
    """What feeds the loads of one battery: the battery, its distribution, its converters by output voltage [V].

    `depth` of a converter, by its line's id: 0 where the battery's own voltage feeds it, 1 behind another converter,
    and so on; a converter that nothing feeds is not in it.
    """

    battery: Fitted
    distribution: Fitted | None
    converters: Mapping[float, Fitted]
    feeder: Mapping[str, Fitted | None]
    depth: Mapping[str, int]

    @property
    def system_v(self) -> float:
        assert self.battery.kind.battery
        return self.battery.kind.battery.system_v

    def converter_for(self, one: Fitted) -> Fitted | None:
        """Return the converter that feeds a line, or None where the battery's own voltage does (or nothing fits)."""
        if one.kind.converter:
            return self.feeder.get(one.id)
        return None if input_v(one) == self.system_v else self.converters.get(input_v(one))

    def origin_of(self, one: Fitted) -> Fitted:
        """Return the line at which the conductors of a line start."""
        converter = self.converter_for(one)
        if converter:
            return converter
        propulsion = one.kind.load is not None and one.kind.load.propulsion
        if one.line.direct or propulsion or self.distribution is None:
            return self.battery
        return self.distribution

    def feeds(self, one: Fitted) -> bool:
        """Return whether a line meets its own voltage here."""
        volts = {self.system_v, *(out_v for out_v, other in self.converters.items() if other.id in self.depth)}
        load_v = one.kind.load.voltage_v if one.kind.load else input_v(one)
        return load_v in volts and (one.kind.converter is None or one.id in self.depth)


def input_v(one: Fitted) -> float:
    """Return the voltage that a line takes [V]; a converter takes that of its own system."""
    if one.kind.converter:
        return one.kind.converter.system_v
    assert one.kind.load
    return one.kind.load.voltage_v


def supplies_of(sheet: BuildSheet, fitted: Iterable[Fitted]) -> dict[str, Supply]:
    """Return what feeds the loads of each battery, by the battery line's id, in the sheet's order."""
    batteries: dict[str, Fitted] = {}
    distributions: dict[str, Fitted] = {}
    converters: dict[str, dict[float, Fitted]] = {}
    for one in fitted:
        if one.kind.battery:
            batteries[one.id] = one
        line = battery_of(sheet, one.line) if one.kind.distribution or one.kind.converter else None
        if line and one.kind.distribution:
            distributions.setdefault(line.id, one)
        if line and one.kind.converter:
            converters.setdefault(line.id, {}).setdefault(one.kind.converter.out_v, one)
    return {
        key: chained(battery, distributions.get(key), converters.get(key, {})) for key, battery in batteries.items()
    }


def chained(battery: Fitted, distribution: Fitted | None, converters: Mapping[float, Fitted]) -> Supply:
    """Return a battery's supply with its converters in the order in which their voltages are reached."""
    assert battery.kind.battery
    taking: dict[float, list[Fitted]] = {}
    for one in converters.values():
        taking.setdefault(input_v(one), []).append(one)
    feeder: dict[str, Fitted | None] = {}
    depth: dict[str, int] = {}
    reached: deque[tuple[float, Fitted | None, int]] = deque([(battery.kind.battery.system_v, None, 0)])
    while reached:
        volts, source, steps = reached.popleft()
        for one in taking.pop(volts, []):
            assert one.kind.converter
            feeder[one.id], depth[one.id] = source, steps
            reached.append((one.kind.converter.out_v, one, steps + 1))
    return Supply(battery, distribution, converters, feeder, depth)


@dataclass(frozen=True)
class Route:
    """How one line is fed: its battery, from which line, through which switch, and the lengths.

    `run_m` is one way from the origin to the load [m]; `conductor_m` is positive and negative together [m].
    `positive_m` and `negative_m` are its two parts: with a switch the positive goes by way of the panel.
    `depth` counts the converters between the battery and the load.
    """

    load: Fitted
    battery: Fitted
    origin: Fitted
    switch: Fitted | None
    run_m: float
    positive_m: float
    negative_m: float
    depth: int = 0

    @property
    def conductor_m(self) -> float:
        return self.positive_m + self.negative_m

    @property
    def behind_converter(self) -> bool:
        return self.depth > 0

    @property
    def volts_v(self) -> float:
        """The voltage at the origin [V]: the battery's system volts, or the converter's output."""
        if self.behind_converter and self.origin.kind.converter:
            return self.origin.kind.converter.out_v
        assert self.battery.kind.battery
        return self.battery.kind.battery.system_v


def route_between(battery: Fitted, origin: Fitted, load: Fitted, switch: Fitted | None, depth: int = 0) -> Route:
    """Return the route from an origin to a line.

    conductor = 2 * run(origin, load), or with a switch run(origin, switch) + run(switch, load) + run(load, origin);
    a measured run of the line replaces run(load, origin).
    """
    back_m = load.line.measured_run_m
    if back_m is None:
        back_m = run_m(origin.point_m, load.point_m)
    out_m = run_m(origin.point_m, switch.point_m) + run_m(switch.point_m, load.point_m) if switch else back_m
    return Route(load, battery, origin, switch, back_m, out_m, back_m, depth)


def route_loads(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> dict[str, Route]:
    """Return the route of each load (converters among them) that has a battery, by the line's id.

    A load starts at the distribution of its battery, or at the battery itself where there is none, where the line is
    `direct`, or for propulsion. A load of another voltage starts at the battery's converter to that voltage.
    """
    by_id = {one.id: one for one in fitted}
    supplies = supplies_of(sheet, fitted)
    routes = {}
    for one in fitted:
        line = battery_of(sheet, one.line) if one.kind.load or one.kind.converter else None
        if line is None:
            continue
        supply = supplies[line.id]
        origin = supply.origin_of(one)
        converter = supply.converter_for(one)
        depth = 1 + supply.depth.get(converter.id, 0) if converter else 0
        switch = by_id[one.line.switch] if one.line.switch is not None else None
        routes[one.id] = route_between(supply.battery, origin, one, switch, depth)
    return routes


def route_feeds(sheet: BuildSheet, fitted: tuple[Fitted, ...]) -> dict[str, Route]:
    """Return the route from each battery that has a distribution to that distribution, by the battery's id.

    The distribution's own switch stands in the positive; its measured run replaces the run of the feed.
    """
    by_id = {one.id: one for one in fitted}
    feeds = {}
    for key, supply in supplies_of(sheet, fitted).items():
        block = supply.distribution
        if block is not None:
            switch = by_id[block.line.switch] if block.line.switch is not None else None
            feeds[key] = route_between(supply.battery, supply.battery, block, switch)
    return feeds
