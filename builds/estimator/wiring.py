"""Wiring: the feed and the circuits of one battery, each with its fuse, its gauges and its drops."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import fsum

from .circuits import Circuit, Feed, Leg
from .conductors import Gauge, drop_v, gauges, least_gauge
from .demand import Demand, load_of
from .fuses import fuse_colour, least_fuse_a, needed_fuse_a
from .rates import Shop
from .runs import Route

SLACK = 1e-9


@dataclass(frozen=True)
class Group:
    """The lines of one circuit before it is sized: those of one name that are fused at one place."""

    name: str
    routes: tuple[Route, ...]

    @property
    def origin(self) -> str:
        return self.routes[0].origin.id

    @property
    def direct(self) -> bool:
        return not self.routes[0].behind_converter and self.routes[0].origin is self.routes[0].battery


def grouped(routes: Sequence[Route]) -> tuple[Group, ...]:
    """Return the circuits of one battery's routes, in the order of their first lines.

    Lines of one `circuit` name share a fuse; a line that names none is a circuit of its own, under its id. Lines of one
    name that start at different places cannot share a fuse: each place has its own circuit, the plain name for the one
    at the distribution, else at the battery, and the others named with their place, in whatever order the lines stand.
    """
    groups: dict[tuple[str, str], list[Route]] = {}
    plain: dict[str, Route] = {}
    for route in routes:
        line = route.load.line
        name = line.circuit if line.circuit is not None else line.id
        groups.setdefault((name, route.origin.id), []).append(route)
        plain[name] = min(plain.get(name, route), route, key=rank)
    return tuple(
        Group(name if plain[name].origin.id == origin else f"{name} at {origin}", tuple(members))
        for (name, origin), members in groups.items()
    )


def rank(route: Route) -> tuple[int, bool, str]:
    """Order places of one circuit name: the distribution, the battery, then what stands behind converters."""
    return route.depth, route.origin is route.battery, route.origin.id


def size_leg(route: Route, current_a: float, fuse_a: float | None, fed_drop: float, shop: Shop) -> Leg:
    """Return the conductors of one load: the thinnest size that keeps its drop and that its fuse protects.

    Parameters: current_a [A] of this load; fuse_a [A] of its circuit; fed_drop, the share of the volts that the feed
    before it drops.

    Allowance = (limit of the load's class - fed_drop) * volts at the origin [V]. Ampacity >= fuse and >= current.

    References: ABYC E-11, as quoted (drop classes); 33 CFR 183.425 Table 5, 2015. The fuse within the ampacity is a
    house rule: the law caps it at 150 % (33 CFR 183.455(c)(1)).
    """
    limit: float = getattr(shop.drop_limits, load_of(route.load).drop_class)
    allowed, volts = limit - fed_drop, route.volts_v
    sizes = gauges(shop.insulation_c, shop.hot_hull, shop.sheathed)
    gauge = least_gauge(sizes, current_a, route.conductor_m, allowed * volts, fuse_a or 0.0)
    drop = drop_v(current_a, route.conductor_m, gauge.area_cm) if gauge else None
    return Leg(
        line=route.load.id,
        run_m=route.run_m,
        conductor_m=route.conductor_m,
        positive_m=route.positive_m,
        negative_m=route.negative_m,
        current_a=current_a,
        awg=gauge.awg if gauge else None,
        drop_v=drop,
        drop_fraction=drop / volts if drop is not None else None,
        limit_fraction=limit,
        ampacity_a=gauge.ampacity_a if gauge else None,
        switch=route.switch.id if route.switch else None,
        origin=route.origin.id,
        allowed_fraction=allowed,
    )


@dataclass(frozen=True)
class Protected:
    """A circuit with its fuse, before its conductors are sized."""

    group: Group
    design_a: float
    peak_a: float
    factor: float
    needed_a: float
    fuse_a: float | None
    device_a: float | None


def protect(group: Group, demands: Mapping[str, Demand], shop: Shop) -> Protected:
    """Return a circuit with its fuse: the least standard rating >= factor * design current and >= the sum of peaks.

    The factor is that of propulsion where every load is a motor, else the general one. Without a rating large enough
    the fuse is None.

    References: common practice, no source (125 %; motors 110 %).
    """
    loads = [load_of(route.load) for route in group.routes]
    factors = shop.fuse_factor
    factor = factors.propulsion if all(load.propulsion for load in loads) else factors.general
    design_a = fsum(demands[route.load.id].design_a for route in group.routes)
    peak_a = fsum(demands[route.load.id].peak_a for route in group.routes)
    needed_a = needed_fuse_a(factor, design_a, peak_a)
    device_a = min((load.max_fuse_a for load in loads if load.max_fuse_a is not None), default=None)
    return Protected(group, design_a, peak_a, factor, needed_a, least_fuse_a(needed_a), device_a)


def size_circuit(protected: Protected, demands: Mapping[str, Demand], fed_drop: float, shop: Shop) -> Circuit:
    """Return a circuit with its legs; `fed_drop` is the share of the volts that the feed before it drops."""
    group, fuse_a = protected.group, protected.fuse_a
    return Circuit(
        circuit=group.name,
        design_current_a=protected.design_a,
        fuse_a=fuse_a,
        fuse_colour=fuse_colour(fuse_a),
        legs=tuple(size_leg(route, demands[route.load.id].design_a, fuse_a, fed_drop, shop) for route in group.routes),
        direct=group.direct,
        origin=group.origin,
        volts_v=group.routes[0].volts_v,
        peak_current_a=protected.peak_a,
        fuse_factor=protected.factor,
        needed_fuse_a=protected.needed_a,
        device_fuse_a=protected.device_a,
    )


@dataclass(frozen=True)
class MainFuse:
    """The main fuse of a battery: what it must be at least [A], None where none is called for; what it is, or None."""

    needed_a: float | None
    fuse_a: float | None


def main_fuse(
    circuits: Sequence[Protected], on_feed: Sequence[Protected] | None, limit_a: float, shop: Shop
) -> MainFuse:
    """Return the main fuse of a battery.

    Parameters: circuits, all that the battery feeds at its own voltage; on_feed, those at its distribution, None
    without one; limit_a, the battery's continuous limit [A].

    With a distribution: the least standard rating >= factor * sum of design currents, >= the sum of peaks, larger than
    the largest branch fuse, <= limit_a. Without one, the fuse of a single circuit is the main fuse, under the same
    limit; several circuits are each fused at the battery and have none.

    References: common practice, no source; its place: 33 CFR 183.455(b)(1), 2015, within 7 in of the battery.
    """
    if on_feed is None:
        if len(circuits) != 1:
            return MainFuse(None, None)
        needed_a, wanted_a = circuits[0].needed_a, circuits[0].fuse_a
    else:
        branches = [circuit.fuse_a for circuit in on_feed]
        needed_a = needed_fuse_a(
            shop.fuse_factor.general,
            fsum(circuit.design_a for circuit in on_feed),
            fsum(circuit.peak_a for circuit in on_feed),
        )
        largest_a = max((fuse_a for fuse_a in branches if fuse_a is not None), default=0.0)
        wanted_a = None if None in branches else least_fuse_a(needed_a, largest_a)
    if wanted_a is None:
        return MainFuse(needed_a, None)
    sizes = gauges(shop.insulation_c, shop.hot_hull, shop.sheathed)
    possible = wanted_a <= limit_a * (1 + SLACK) and wanted_a <= sizes[-1].ampacity_a * (1 + SLACK)
    return MainFuse(wanted_a, wanted_a if possible else None)


def size_feed(route: Route, current_a: float, fuse_a: float | None, shop: Shop) -> Feed:
    """Return the conductors from a battery to its distribution: the thinnest within `feed_drop` that the fuse protects.

    Parameters: current_a, the sum of the design currents of its circuits [A]; fuse_a, the main fuse [A], None where
    none is possible: then by drop and by the heat of the current alone.

    References: ABYC E-11, as quoted; 33 CFR 183.425 Table 5, 2015.
    """
    sizes = gauges(shop.insulation_c, shop.hot_hull, shop.sheathed)
    volts = route.volts_v
    gauge: Gauge | None = least_gauge(sizes, current_a, route.conductor_m, shop.feed_drop * volts, fuse_a or 0.0)
    drop = drop_v(current_a, route.conductor_m, gauge.area_cm) if gauge else None
    return Feed(
        run_m=route.run_m,
        conductor_m=route.conductor_m,
        awg=gauge.awg if gauge else None,
        drop_v=drop,
        drop_fraction=drop / volts if drop is not None else None,
        ampacity_a=gauge.ampacity_a if gauge else None,
        distribution=route.load.id,
        switch=route.switch.id if route.switch else None,
        positive_m=route.positive_m,
        negative_m=route.negative_m,
        current_a=current_a,
        limit_fraction=shop.feed_drop,
    )


@dataclass(frozen=True)
class Wiring:
    """All conductors and fuses of one battery."""

    feed: Feed | None
    main: MainFuse
    circuits: tuple[Circuit, ...]
    design_current_a: float
    peak_current_a: float


def wire(
    routes: Sequence[Route], feed_route: Route | None, demands: Mapping[str, Demand], limit_a: float, shop: Shop
) -> Wiring:
    """Return the feed, the main fuse and the circuits of one battery.

    The currents are sums over the circuits that the battery feeds at its own voltage, converters with what they feed
    among them. A circuit at the distribution has what the feed's actual drop leaves of its limit; where no size fits
    the feed, what the feed's limit would leave.
    """
    circuits = [protect(group, demands, shop) for group in grouped(routes)]
    fed = [circuit for circuit in circuits if not circuit.group.routes[0].behind_converter]
    on_feed = None if feed_route is None else [circuit for circuit in fed if not circuit.group.direct]
    main = main_fuse(fed, on_feed, limit_a, shop)
    feed = None
    fed_drop = 0.0
    if feed_route is not None and on_feed is not None:
        feed = size_feed(feed_route, fsum(circuit.design_a for circuit in on_feed), main.fuse_a, shop)
        fed_drop = shop.feed_drop if feed.drop_fraction is None else feed.drop_fraction
    return Wiring(
        feed=feed,
        main=main,
        circuits=tuple(
            size_circuit(
                circuit,
                demands,
                0.0 if circuit.group.direct or circuit.group.routes[0].behind_converter else fed_drop,
                shop,
            )
            for circuit in circuits
        ),
        design_current_a=fsum(circuit.design_a for circuit in fed),
        peak_current_a=fsum(circuit.peak_a for circuit in fed),
    )
