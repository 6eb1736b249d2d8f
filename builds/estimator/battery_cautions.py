"""Cautions of a battery: what it cannot give, what its fuses cannot break, how it may travel, a day too long for it."""

from collections.abc import Iterator

from .cautions import CAUTION, NOTE, STOP, Caution
from .circuits import BatterySystem
from .conductors import SLACK
from .energy import MARGIN, carries, carries_with_margin, spells_of
from .fitted import Fitted
from .fuses import ratings_a
from .power_mends import batteries_for_current, batteries_for_plan
from .published import rows_of
from .sheet import BuildSheet

ELECTRICIAN = "Local rules, the makers' instructions and a licensed marine electrician come first."


def percent(fraction: float) -> str:
    """Return a fraction as a reader sees it, to three digits."""
    return f"{100 * fraction:.3g} %"


def battery_cautions(sheet: BuildSheet, system: BatterySystem, one: Fitted) -> Iterator[Caution]:
    """Yield what a battery cannot give or what its fuses cannot break, and how it may travel."""
    limit_a, needed_a = system.max_continuous_a, system.main_fuse_needed_a
    if needed_a is not None and system.main_fuse_a is None:
        largest_a = ratings_a()[-1]
        bound = (
            f"{limit_a:.4g} A, the battery's continuous limit, at most"
            if needed_a > limit_a
            else f"a standard rating, {largest_a:g} A at most, that the conductors carry"
        )
        yield Caution(
            "main_fuse_impossible",
            STOP,
            f"No main fuse fits {one.kind.name}: its circuits call for {needed_a:.4g} A, and it must be {bound}. "
            f"{ELECTRICIAN}",
            {"needed_fuse_a": needed_a, "max_continuous_a": limit_a, "largest_fuse_a": largest_a},
            mends=batteries_for_current(sheet, one, system),
            line=one.id,
        )
    if system.peak_current_a > limit_a * (1 + SLACK):
        yield Caution(
            "battery_overloaded",
            STOP,
            f"The loads together peak at {system.peak_current_a:.4g} A; {one.kind.name} gives {limit_a:.4g} A.",
            {"peak_current_a": system.peak_current_a, "max_continuous_a": limit_a},
            source="catalogue",
            mends=batteries_for_current(sheet, one, system),
            line=one.id,
        )
    if system.circuits:
        yield from interrupt_cautions(one)
    yield from transport_notes(one)


def blade_breaks_a() -> float:
    """Return the current that a blade fuse breaks [A] (ISO 8820-3:2015, abstract)."""
    return next(float(row["main_A"]) for row in rows_of("interrupt_capacity") if row["item"] == "blade fuse")


def interrupt_cautions(one: Fitted) -> Iterator[Caution]:
    battery, breaks_a = one.kind.battery, blade_breaks_a()
    assert battery
    short_a = None if battery.short_circuit_a is None else one.quantity * battery.short_circuit_a
    if short_a is not None and short_a <= breaks_a * (1 + SLACK):
        return
    what = "is not known" if short_a is None else f"is {short_a:.4g} A"
    yield Caution(
        "interrupt_unknown",
        CAUTION,
        f"The short-circuit current of {one.kind.name} {what}; a blade fuse breaks {breaks_a:g} A. Ask the battery's "
        "maker, and fit at the battery a fuse that breaks it.",
        {"short_circuit_a": short_a, "blade_breaks_a": breaks_a},
        source="iso_8820_3",
        line=one.id,
    )


def watt_hour_limits() -> tuple[float, float, float]:
    """Return the limits of a lithium-ion battery [Wh]: by air, by air with approval, small by road (49 CFR, 2015)."""
    limits = {row["item"]: row["value"] for row in rows_of("watt_hour_limits")}
    return (
        float(limits["air passenger, lithium-ion battery up to"]),
        float(limits["air passenger with operator approval up to"]),
        float(limits["highway or rail only, lithium-ion battery"]),
    )


def transport_notes(one: Fitted) -> Iterator[Caution]:
    """Yield how a lithium battery may travel, by the watt-hours of one."""
    battery = one.kind.battery
    assert battery
    if battery.chemistry != "lfp":
        return
    held_wh = battery.voltage_v * battery.rated_ah
    air_wh, approved_wh, road_wh = watt_hour_limits()
    if held_wh <= air_wh * (1 + SLACK):
        air = f"within the {air_wh:g} Wh of a passenger's battery by air"
    elif held_wh <= approved_wh * (1 + SLACK):
        air = f"by air only with the operator's approval (over {air_wh:g} Wh)"
    else:
        air = f"not in a passenger's baggage by air (over {approved_wh:g} Wh)"
    small = "within" if held_wh <= road_wh * (1 + SLACK) else "over"
    yield Caution(
        "battery_transport",
        NOTE,
        f"{one.kind.name} holds {held_wh:.4g} Wh: {air}; {small} the {road_wh:g} Wh of a small battery sent by road or "
        "rail. Ask the carrier first; the rules of the place apply.",
        {
            "watt_hours": held_wh,
            "air_limit_wh": air_wh,
            "air_with_approval_limit_wh": approved_wh,
            "road_limit_wh": road_wh,
        },
        source="watt_hours",
        line=one.id,
    )


def energy_cautions(sheet: BuildSheet, system: BatterySystem, one: Fitted) -> Iterator[Caution]:
    """Yield a caution where the day plan takes more than the usable depth, or more than 90 % of it."""
    taken, depth = system.plan_fraction, system.usable_fraction
    if carries_with_margin(taken, depth):
        return
    short = not carries(taken, depth)
    wanted = (carries, carries_with_margin) if short else (carries_with_margin,)
    verdict = "more than" if short else f"more than {percent(MARGIN)} of"
    yield Caution(
        "energy_short" if short else "energy_marginal",
        CAUTION,
        f"The day plan takes {percent(taken)} of the charge of {one.kind.name}, {verdict} the "
        f"{percent(depth)} that may be used.",
        {
            "plan_fraction": taken,
            "usable_fraction": depth,
            "hours": sum(spell.hours for spell in spells_of(sheet)),
            "hours_planned": system.hours_planned,
            "mean_current_a": system.mean_current_a,
            "effective_ah": system.effective_ah,
        },
        source="peukert",
        mends=batteries_for_plan(sheet, one, system, *wanted),
        line=one.id,
    )
