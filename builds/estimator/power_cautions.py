"""Cautions of the power section: what is fed wrongly, fused wrongly, too long, too small or too short of charge."""

from collections.abc import Callable, Iterator, Mapping

from .accessory import AccessoryType, Converter
from .battery_cautions import ELECTRICIAN, battery_cautions, energy_cautions, percent
from .cautions import CAUTION, STOP, Caution
from .circuits import BatterySystem, Circuit
from .conductors import SLACK
from .demand import load_of
from .fitted import Fitted
from .power_mends import (
    Mend,
    direct,
    larger_part,
    other_batteries,
    splits,
)
from .runs import Route, Supply, input_v, supplies_of
from .sheet import BuildSheet


def cautions_of(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], routes: Mapping[str, Route], systems: tuple[BatterySystem, ...]
) -> list[Caution]:
    """Return the cautions of the power section, battery by battery, then those of panels."""
    by_id = {one.id: one for one in fitted}
    supplies = supplies_of(sheet, fitted)
    fed = fed_wrongly(sheet, fitted, routes, supplies)
    found: list[Caution] = []
    for system in systems:
        found += fed.get(system.battery, [])
        found += converter_cautions(sheet, system, by_id)
        for circuit in system.circuits:
            found += circuit_cautions(circuit, by_id)
        found += feed_cautions(system, by_id)
        found += battery_cautions(sheet, system, by_id[system.battery])
        found += energy_cautions(sheet, system, by_id[system.battery])
    return found + list(ways_cautions(sheet, systems, by_id))


def fed_wrongly(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], routes: Mapping[str, Route], supplies: Mapping[str, Supply]
) -> dict[str, list[Caution]]:
    """Return, by battery, the cautions about lines on a battery that is not for them."""
    batteries = [one for one in fitted if one.kind.battery]
    found: dict[str, list[Caution]] = {}
    for route in routes.values():
        supply = supplies[route.battery.id]
        mine = found.setdefault(route.battery.id, [])
        if route.battery.line.role == "drive" and not load_of(route.load).propulsion:
            mine.append(drive_shared(route, batteries))
        if not supply.feeds(route.load):
            mine.append(mismatch(sheet, route, supply, batteries))
    return found


def drive_shared(route: Route, batteries: list[Fitted]) -> Caution:
    one = route.load
    return Caution(
        "drive_battery_shared",
        STOP,
        f"{one.kind.name} is fed by the drive battery, which feeds the motor alone. Feed it from a house battery.",
        {"max_a": one.quantity * load_of(one).max_a},
        mends=other_batteries(batteries, one, route.battery.id, "house") if one.kind.load else (),
        line=one.id,
    )


def mismatch(sheet: BuildSheet, route: Route, supply: Supply, batteries: list[Fitted]) -> Caution:
    one, system_v = route.load, supply.system_v
    load_v = load_of(one).voltage_v
    wanted = load_v if one.kind.converter is None else input_v(one)
    mends: tuple[Mend, ...] = ()
    if one.kind.load and one.kind.converter is None:
        mends = other_batteries(batteries, one, route.battery.id) + tuple(
            {"do": "add", "accessory": kind.id, "battery": route.battery.id}
            for kind in sheet.accessories.values()
            if kind.converter and kind.converter.system_v == system_v and kind.converter.out_v == load_v
        )
    return Caution(
        "voltage_mismatch",
        STOP,
        f"{one.kind.name} takes {wanted:g} V, and its battery gives {system_v:g} V. "
        "Feed it from a battery or a converter of its own voltage.",
        {"load_v": wanted, "system_v": system_v},
        source="catalogue",
        mends=mends,
        line=one.id,
    )


def converter_cautions(sheet: BuildSheet, system: BatterySystem, by_id: Mapping[str, Fitted]) -> Iterator[Caution]:
    """Yield a caution for each converter whose output, peaks included, is above its limit."""
    behind: dict[str, list[Circuit]] = {}
    for circuit in system.circuits:
        if by_id[circuit.origin].kind.converter and not circuit.direct:
            behind.setdefault(circuit.origin, []).append(circuit)
    for key, circuits in behind.items():
        one, converter = by_id[key], by_id[key].kind.converter
        assert converter
        peak_a = sum(circuit.peak_current_a for circuit in circuits)
        if peak_a <= converter.max_out_a * (1 + SLACK):
            continue
        yield Caution(
            "converter_overloaded",
            CAUTION,
            f"{one.kind.name} would give {peak_a:.3g} A at most; its limit is {converter.max_out_a:.3g} A.",
            {
                "peak_a": peak_a,
                "design_a": sum(circuit.design_current_a for circuit in circuits),
                "max_out_a": converter.max_out_a,
            },
            source="catalogue",
            mends=larger_part(
                sheet,
                one,
                output_like(converter),
                peak_a,
            ),
            line=key,
        )


def output_like(like: Converter) -> Callable[[AccessoryType], float | None]:
    """Return a function that gives a type's greatest output [A], None where it is no such converter."""

    def output(kind: AccessoryType) -> float | None:
        other = kind.converter
        alike = other is not None and (other.system_v, other.out_v) == (like.system_v, like.out_v)
        return other.max_out_a if other is not None and alike else None

    return output


def circuit_cautions(circuit: Circuit, by_id: Mapping[str, Fitted]) -> Iterator[Caution]:
    """Yield what is wrong with one circuit: its fuse, its conductors, lines that cannot share a fuse."""
    first = by_id[circuit.legs[0].line].line
    fuse_a, device_a = circuit.fuse_a, circuit.device_fuse_a
    if circuit.circuit != (first.circuit if first.circuit is not None else first.id):
        yield Caution(
            "circuit_split",
            CAUTION,
            f"Circuit {first.circuit} has lines that start at different places and cannot share a fuse. "
            f"Those that start at {by_id[circuit.origin].kind.name} have a fuse of their own.",
            {"lines": [leg.line for leg in circuit.legs]},
            line=first.id,
        )
    if fuse_a is None:
        yield Caution(
            "no_fuse",
            STOP,
            f"Circuit {circuit.circuit} needs a fuse of {circuit.needed_fuse_a:.4g} A, above the largest standard "
            f"rating. {ELECTRICIAN}",
            {"needed_fuse_a": circuit.needed_fuse_a, "design_current_a": circuit.design_current_a},
            mends=splits(circuit),
            line=first.id,
        )
    elif device_a is not None and fuse_a > device_a * (1 + SLACK):
        yield fuse_over_device(circuit, fuse_a, device_a, by_id)
    for leg in circuit.legs:
        if leg.awg is None:
            yield Caution(
                "no_conductor",
                STOP,
                f"No conductor size carries {leg.current_a:.3g} A over {leg.conductor_m:.1f} m of conductor to "
                f"{by_id[leg.line].kind.name} within a drop of {percent(max(0.0, leg.allowed_fraction))}. "
                f"{ELECTRICIAN}",
                {
                    "current_a": leg.current_a,
                    "conductor_m": leg.conductor_m,
                    "allowed_fraction": leg.allowed_fraction,
                    "volts_v": circuit.volts_v,
                },
                source="abyc_e11",
                mends=(direct(leg.line),) if by_id[leg.origin].kind.distribution else (),
                line=leg.line,
            )


def fuse_over_device(circuit: Circuit, fuse_a: float, device_a: float, by_id: Mapping[str, Fitted]) -> Caution:
    weakest = next(leg.line for leg in circuit.legs if load_of(by_id[leg.line]).max_fuse_a == device_a)
    return Caution(
        "fuse_over_device",
        STOP,
        f"Circuit {circuit.circuit} calls for a {fuse_a:g} A fuse; {by_id[weakest].kind.name} allows {device_a:g} A "
        "at most. Give it a circuit of its own, or ask its maker.",
        {"fuse_a": fuse_a, "device_fuse_a": device_a, "needed_fuse_a": circuit.needed_fuse_a},
        source="catalogue",
        mends=splits(circuit, weakest),
        line=weakest,
    )


def feed_cautions(system: BatterySystem, by_id: Mapping[str, Fitted]) -> Iterator[Caution]:
    feed = system.feed
    if feed is not None and feed.awg is None:
        yield Caution(
            "no_conductor",
            STOP,
            f"No conductor size carries {feed.current_a:.3g} A over {feed.conductor_m:.1f} m of conductor to "
            f"{by_id[feed.distribution].kind.name} within a drop of {percent(feed.limit_fraction)}. {ELECTRICIAN}",
            {"current_a": feed.current_a, "conductor_m": feed.conductor_m, "allowed_fraction": feed.limit_fraction},
            source="abyc_e11",
            line=feed.distribution,
        )


def ways_cautions(
    sheet: BuildSheet, systems: tuple[BatterySystem, ...], by_id: Mapping[str, Fitted]
) -> Iterator[Caution]:
    """Yield a caution for each distribution and each switch panel with more circuits than ways."""
    on_block: dict[str, list[Circuit]] = {}
    through: dict[str, set[tuple[str, str | None]]] = {}
    for system in systems:
        for circuit in system.circuits:
            if system.feed and circuit.origin == system.feed.distribution and not circuit.direct:
                on_block.setdefault(circuit.origin, []).append(circuit)
            for leg in circuit.legs:
                if leg.switch is not None:
                    through.setdefault(leg.switch, set()).add((system.battery, circuit.circuit))
        if system.feed and system.feed.switch is not None:
            through.setdefault(system.feed.switch, set()).add((system.battery, None))
    for key, circuits in on_block.items():
        ways = by_id[key].kind.distribution
        assert ways
        if len(circuits) > ways.ways:
            mends = larger_part(sheet, by_id[key], block_ways, len(circuits))
            if len(circuits) == ways.ways + 1:
                mends += tuple(direct(c.legs[0].line) for c in reversed(circuits) if len(c.legs) == 1)[:1]
            yield too_many(by_id[key], len(circuits), ways.ways, mends)
    for key, names in through.items():
        panel = by_id[key].kind.switch
        assert panel
        ways_n = by_id[key].quantity * panel.ways
        if len(names) > ways_n:
            mends = larger_part(sheet, by_id[key], panel_ways, len(names) / by_id[key].quantity)
            yield too_many(by_id[key], len(names), ways_n, mends)


def block_ways(kind: AccessoryType) -> float | None:
    return kind.distribution.ways if kind.distribution else None


def panel_ways(kind: AccessoryType) -> float | None:
    return kind.switch.ways if kind.switch else None


def too_many(one: Fitted, circuits: int, ways: int, mends: tuple[Mend, ...]) -> Caution:
    return Caution(
        "ways_exceeded",
        STOP,
        f"{one.kind.name} has {ways} ways, and {circuits} circuits go through it.",
        {"circuits": circuits, "ways": ways},
        source="catalogue",
        mends=mends,
        line=one.id,
    )
