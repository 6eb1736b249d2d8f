"""Power: every battery of a sheet with its feed, circuits, fuses and its day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .accessory import AccessoryType
from .cautions import Caution
from .circuits import BatterySystem
from .conductors import thickness
from .demand import Demand, demands_of, total
from .energy import batteries_like, day_of, smallest_that_carries, spells_of, store_of, temperature_factor, usable_depth
from .fitted import Fitted
from .power_cautions import cautions_of
from .runs import Route, route_feeds
from .sheet import BuildSheet
from .wiring import Wiring, wire

THICKEST_AT_A_PLACEMENT = "6"


@dataclass(frozen=True)
class Power:
    """The systems of a sheet's batteries, in the sheet's order, and what to look out for."""

    systems: tuple[BatterySystem, ...]
    cautions: list[Caution]


def size_power(sheet: BuildSheet, fitted: tuple[Fitted, ...], routes: Mapping[str, Route]) -> Power:
    """Return the power section of an estimate: each battery its own system, with its cautions.

    Parameters: fitted, the sheet's lines resolved; routes, how each load is fed, by its line's id.
    """
    systems = size_systems(sheet, fitted, routes)
    return Power(systems, cautions_of(sheet, fitted, routes, systems))


def size_systems(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], routes: Mapping[str, Route]
) -> tuple[BatterySystem, ...]:
    """Return the system of each battery line, in the sheet's order: wiring, fuses and the day, without cautions."""
    demands = demands_of(routes, spells_of(sheet))
    feeds = route_feeds(sheet, fitted)
    on_battery: dict[str, list[Route]] = {}
    for route in routes.values():
        on_battery.setdefault(route.battery.id, []).append(route)
    alike: dict[tuple[float, str], Sequence[AccessoryType]] = {}
    systems = []
    for one in fitted:
        if one.kind.battery:
            key = one.kind.battery.system_v, one.kind.battery.chemistry
            if key not in alike:
                alike[key] = batteries_like(sheet, one.kind.battery)
            systems.append(size_system(sheet, one, feeds.get(one.id), on_battery.get(one.id, []), demands, alike[key]))
    return tuple(systems)


def size_system(
    sheet: BuildSheet,
    one: Fitted,
    feed_route: Route | None,
    routes: Sequence[Route],
    demands: Mapping[str, Demand],
    alike: Sequence[AccessoryType],
) -> BatterySystem:
    """Return the system of one battery line.

    Parameters: feed_route, the way to its distribution or None; routes, of the lines it feeds; demands, by line id;
    alike, the battery types of its voltage and chemistry, from small to large.
    """
    battery, shop, n = one.kind.battery, sheet.shop, one.quantity
    assert battery
    spells = spells_of(sheet)
    wiring = wire(routes, feed_route, demands, n * battery.max_continuous_a, shop)
    drawn = total([demands[route.load.id] for route in routes if not route.behind_converter], len(spells))
    store = store_of(battery, n, one.line.health, sheet.air_temp_c, shop)
    day = day_of(store, [spell.hours for spell in spells], drawn.spells_a)
    depth = usable_depth(battery, shop)
    smallest = smallest_that_carries(sheet, alike, n, drawn.spells_a)
    return BatterySystem(
        battery=one.id,
        role=one.line.role,
        system_v=battery.system_v,
        rated_ah=n * battery.rated_ah,
        effective_ah=store.capacity_ah,
        watt_hours=n * battery.voltage_v * battery.rated_ah,
        mean_current_a=day.mean_current_a,
        design_current_a=wiring.design_current_a,
        peak_current_a=wiring.peak_current_a,
        hours_to_empty=day.hours_to_empty,
        hours_planned=None if day.hours_to_empty is None else depth * day.hours_to_empty,
        charge_after=day.charge_after,
        smallest_that_carries=smallest.id if smallest else None,
        main_fuse_a=wiring.main.fuse_a,
        feed=wiring.feed,
        circuits=wiring.circuits,
        plan_fraction=day.taken,
        usable_fraction=depth,
        spell_current_a=drawn.spells_a,
        temperature_factor=temperature_factor(battery.chemistry, sheet.air_temp_c),
        max_continuous_a=n * battery.max_continuous_a,
        main_fuse_needed_a=wiring.main.needed_a,
    )


def passes_at(system: BatterySystem | Wiring, thickest_awg: str = THICKEST_AT_A_PLACEMENT) -> bool:
    """Return whether the feed and every leg have a size, none thicker than `thickest_awg`."""
    chosen = [leg.awg for circuit in system.circuits for leg in circuit.legs]
    if system.feed:
        chosen.append(system.feed.awg)
    return all(awg is not None and thickness(awg) <= thickness(thickest_awg) for awg in chosen)
