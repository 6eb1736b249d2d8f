"""Workings of the power section: formula, inputs and sources of each figure, from the numbers of the systems."""

from collections.abc import Iterator

from .circuits import BatterySystem, Circuit, Feed, Leg
from .conductors import K_OHM_CM_PER_FT, M_PER_FT, gauges
from .energy import spells_of
from .fitted import Fitted
from .rates import Shop
from .sheet import BuildSheet
from .working import Working

SOFT = " (soft: one maker's statement)"
DROP = "drop = K * I * L / CM, within allowed fraction * volts; the thinnest size that keeps it, with ampacity >= fuse"


def workings_of(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], systems: tuple[BatterySystem, ...]
) -> tuple[Working, ...]:
    """Return the workings of every battery: its day, its main fuse, its feed, each circuit's fuse, each leg.

    A figure's path is `power.<battery line>.<figure>`, `power.<battery line>.feed.<figure>`,
    `power.<battery line>.<circuit>.fuse_a` or `power.<battery line>.<circuit>.<line>.<figure>`.
    """
    by_id = {one.id: one for one in fitted}
    return tuple(working for system in systems for working in system_workings(sheet, system, by_id[system.battery]))


def system_workings(sheet: BuildSheet, system: BatterySystem, one: Fitted) -> Iterator[Working]:
    at = f"power.{system.battery}"
    yield from store_workings(sheet, system, one, at)
    yield from day_workings(sheet, system, one, at)
    yield from current_workings(sheet.shop, system, at)
    if system.feed:
        yield from run_workings(sheet.shop, system.feed, system.system_v, system.main_fuse_a, f"{at}.feed")
    for circuit in system.circuits:
        yield fuse_working(circuit, f"{at}.{circuit.circuit}")
        for leg in circuit.legs:
            path = f"{at}.{circuit.circuit}.{leg.line}"
            yield from run_workings(sheet.shop, leg, circuit.volts_v, circuit.fuse_a, path)


def store_workings(sheet: BuildSheet, system: BatterySystem, one: Fitted, at: str) -> Iterator[Working]:
    battery = one.kind.battery
    assert battery
    yield Working(
        f"{at}.watt_hours",
        "quantity * voltage * rated capacity",
        {"quantity": one.quantity, "voltage [V]": battery.voltage_v, "rated capacity [Ah]": battery.rated_ah},
        ("catalogue", "watt_hours"),
    )
    yield Working(
        f"{at}.effective_ah",
        "C = quantity * rated capacity * temperature factor * health",
        {
            "quantity": one.quantity,
            "rated capacity [Ah]": battery.rated_ah,
            "air [C]": sheet.air_temp_c,
            f"temperature factor{SOFT if battery.chemistry == 'lfp' else ''}": system.temperature_factor,
            "health": one.line.health,
        },
        ("catalogue", "battery_temperature"),
    )


def day_workings(sheet: BuildSheet, system: BatterySystem, one: Fitted, at: str) -> Iterator[Working]:
    battery = one.kind.battery
    assert battery
    spells = spells_of(sheet)
    store = {
        "C [Ah]": system.effective_ah,
        "H [h]": battery.hour_rate,
        "k": getattr(sheet.shop.peukert, battery.chemistry),
    }
    yield Working(
        f"{at}.mean_current_a",
        "sum of hours * current over the spells / sum of hours; "
        "current = sum of quantity * (typical * on + standby * (1 - on))",
        {
            "hours [h]": [spell.hours for spell in spells],
            "current of each spell [A]": list(system.spell_current_a),
        },
        ("sheet", "catalogue"),
    )
    yield Working(
        f"{at}.hours_to_empty",
        "t(I) = C / I up to C / H, H * (C / (I * H)) ** k above it, at the mean current",
        {**store, "I [A]": system.mean_current_a},
        ("peukert",),
    )
    yield Working(
        f"{at}.hours_planned",
        "usable depth * hours to empty",
        {"usable depth": system.usable_fraction, "hours to empty [h]": system.hours_to_empty},
        ("shop_policy",),
    )
    yield Working(
        f"{at}.charge_after",
        "1 - sum of hours / t(current) over the spells so far",
        {
            **store,
            "hours [h]": [spell.hours for spell in spells],
            "current of each spell [A]": list(system.spell_current_a),
        },
        ("peukert",),
    )


def current_workings(shop: Shop, system: BatterySystem, at: str) -> Iterator[Working]:
    own = {
        circuit.circuit: circuit
        for circuit in system.circuits
        if circuit.direct or (system.feed is not None and circuit.origin == system.feed.distribution)
    }
    yield Working(
        f"{at}.design_current_a",
        "sum of quantity * greatest current; a converter: output power / (efficiency * volts) + its own",
        {f"{name} [A]": circuit.design_current_a for name, circuit in own.items()},
        ("catalogue",),
    )
    yield Working(
        f"{at}.peak_current_a",
        "sum of quantity * (peak, else greatest current)",
        {f"{name} [A]": circuit.peak_current_a for name, circuit in own.items()},
        ("catalogue",),
    )
    if system.main_fuse_needed_a is None:
        return
    on_feed = [circuit for circuit in own.values() if not circuit.direct] if system.feed else list(own.values())
    yield Working(
        f"{at}.main_fuse_a",
        "least standard rating >= factor * design current and >= peaks, above the largest branch fuse, within the "
        "feed's ampacity and the battery's continuous limit; within 178 mm (7 in) of the battery",
        {
            "factor": shop.fuse_factor.general if system.feed else on_feed[0].fuse_factor,
            "design current [A]": sum(circuit.design_current_a for circuit in on_feed),
            "peaks [A]": sum(circuit.peak_current_a for circuit in on_feed),
            "branch fuses [A]": [circuit.fuse_a for circuit in on_feed],
            "called for [A]": system.main_fuse_needed_a,
            "continuous limit [A]": system.max_continuous_a,
        },
        ("common_practice", "cfr_183_455", "iso_8820_3"),
    )


def fuse_working(circuit: Circuit, at: str) -> Working:
    return Working(
        f"{at}.fuse_a",
        "least standard rating >= factor * design current and >= peaks; within what each load allows",
        {
            "factor": circuit.fuse_factor,
            "design current [A]": circuit.design_current_a,
            "peaks [A]": circuit.peak_current_a,
            "called for [A]": circuit.needed_fuse_a,
            "loads allow [A]": circuit.device_fuse_a,
        },
        ("common_practice", "iso_8820_3", "cfr_183_455"),
    )


def run_workings(shop: Shop, run: Feed | Leg, volts_v: float, fuse_a: float | None, at: str) -> Iterator[Working]:
    """Yield the length of a run and the size, drop and ampacity of its conductors."""
    yield Working(
        f"{at}.conductor_m",
        "positive + negative; a run = 1.15 * straight distance + 0.30 m + 2 * 0.15 m, or as measured",
        {"run [m]": run.run_m, "positive [m]": run.positive_m, "negative [m]": run.negative_m},
        ("common_practice",),
    )
    allowed = run.allowed_fraction if isinstance(run, Leg) else run.limit_fraction
    sizes = {size.awg: size for size in gauges(shop.insulation_c, shop.hot_hull, shop.sheathed)}
    yield Working(
        f"{at}.drop_v",
        DROP,
        {
            "K [ohm CM/ft]": K_OHM_CM_PER_FT,
            "I [A]": run.current_a,
            "L [ft]": run.conductor_m / M_PER_FT,
            "CM": sizes[run.awg].area_cm if run.awg is not None else None,
            "AWG": run.awg,
            "volts [V]": volts_v,
            "limit": run.limit_fraction,
            "allowed after the feed": allowed,
            "fuse [A]": fuse_a,
            "ampacity [A]": run.ampacity_a,
            "insulation [C]": shop.insulation_c,
            "hot hull": shop.hot_hull,
        },
        ("abyc_e11", "sae_areas", "cfr_183_425"),
    )
