"""Energy: how long a battery lasts at a current, and what a day takes out of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, pairwise
from math import fsum, inf, isfinite, pow

from .accessory import AccessoryType, Battery
from .published import rows_of
from .rates import Shop
from .sheet import BuildSheet, Spell

SLACK = 1e-9
SHORTEST_H = 1e-9
MARGIN = 0.90
LFP_FULL_AT_C = 25.0
DEFAULT_DAY = (Spell(name="day", hours=8.0),)


@cache
def temperature_rows(chemistry: str) -> tuple[tuple[float, float], ...]:
    """Return (temperature [C], share of the rated capacity, at most 1) for a chemistry, from cold to warm.

    References: lead-acid over 60 min and the LFP row of `battery_capacity_vs_temperature.csv`: statements of makers.
    LFP: 1.00 at 25 C and 0.70 at -17.8 C, a soft figure.
    """
    table = rows_of("battery_capacity_vs_temperature")
    if chemistry == "lfp":
        cold = next(row for row in table if row["chemistry"] == "LFP" and row["capacity_pct"])
        return (float(cold["temperature_C"]), float(cold["capacity_pct"]) / 100), (LFP_FULL_AT_C, 1.0)
    lead = (row for row in table if row["chemistry"] == "lead-acid" and row["discharge_time"] == "over 60 min")
    return tuple(sorted((float(row["temperature_C"]), min(1.0, float(row["capacity_pct"]) / 100)) for row in lead))


def temperature_factor(chemistry: str, temperature_c: float) -> float:
    """Return the share of its rated capacity that a battery gives at a temperature [C], at most 1.

    Linear between the rows of `temperature_rows`; outside them the end values hold. chemistry: lfp, agm, gel, flooded.
    """
    rows = temperature_rows(chemistry)
    if temperature_c <= rows[0][0]:
        return rows[0][1]
    for (cold_c, low), (warm_c, high) in pairwise(rows):
        if temperature_c <= warm_c:
            return low + (high - low) * (temperature_c - cold_c) / (warm_c - cold_c)
    return rows[-1][1]


def hours_at(current_a: float, capacity_ah: float, hour_rate: float, exponent: float) -> float:
    """Return the hours to empty at a steady current [h]; infinite at no current.

    t(I) = C / I up to the rated current C / H, t(I) = H * (C / (I * H)) ** k above it: C the capacity over H hours
    [Ah], H the hours of its rating [h], k Peukert's exponent (>= 1), I the current [A].

    References: Peukert's law on the rated hour basis, from memory; not to be mixed with the form on a 1 A basis.
    Below the rated current the rated capacity is not exceeded: common practice, no source.
    """
    if current_a <= 0:
        return inf
    if current_a * hour_rate <= capacity_ah:
        return max(SHORTEST_H, capacity_ah / current_a)
    return max(SHORTEST_H, hour_rate * pow(capacity_ah / (current_a * hour_rate), exponent))


@dataclass(frozen=True)
class Store:
    """What a battery (or a bank of equal ones in parallel) holds in the day's cold: Ah, hours of its rating, k."""

    capacity_ah: float
    hour_rate: float
    exponent: float

    def hours_at(self, current_a: float) -> float:
        return hours_at(current_a, self.capacity_ah, self.hour_rate, self.exponent)


def store_of(battery: Battery, quantity: int, health: float, air_temp_c: float, shop: Shop) -> Store:
    """Return what a battery holds: C = quantity * rated * temperature factor * health [Ah]."""
    factor = temperature_factor(battery.chemistry, air_temp_c)
    exponent: float = getattr(shop.peukert, battery.chemistry)
    return Store(quantity * battery.rated_ah * factor * health, battery.hour_rate, exponent)


def usable_depth(battery: Battery, shop: Shop) -> float:
    """Return the share of a battery's charge that a day may take."""
    depth: float = getattr(shop.usable_depth, battery.chemistry)
    return depth


@dataclass(frozen=True)
class Day:
    """A battery's day: mean current [A], the share of its charge that the plan takes, what is left after each spell.

    `hours_to_empty` is at the steady mean [h], None at no current. `charge_after` may go below 0: that much is lacking.
    """

    mean_current_a: float
    taken: float
    hours_to_empty: float | None
    charge_after: tuple[float, ...]


def spells_of(sheet: BuildSheet) -> tuple[Spell, ...]:
    """Return the day plan; without one, a spell of 8 h in which every load runs at its duty."""
    return sheet.day_plan or DEFAULT_DAY


def share_taken(store: Store, hours: Sequence[float], currents_a: Sequence[float]) -> float:
    """Return the share of the charge that spells of these hours at these currents take: the sum of t / t(I)."""
    return fsum(h / store.hours_at(current_a) for h, current_a in zip(hours, currents_a, strict=True))


def day_of(store: Store, hours: Sequence[float], currents_a: Sequence[float]) -> Day:
    """Return the day of a battery through spells [h], each at its current [A]."""
    takes = [h / store.hours_at(current_a) for h, current_a in zip(hours, currents_a, strict=True)]
    mean_a = fsum(h * current_a for h, current_a in zip(hours, currents_a, strict=True)) / fsum(hours)
    to_empty_h = store.hours_at(mean_a)
    return Day(
        mean_current_a=mean_a,
        taken=fsum(takes),
        hours_to_empty=to_empty_h if isfinite(to_empty_h) else None,
        charge_after=tuple(1 - gone for gone in accumulate(takes)),
    )


def carries(taken: float, depth: float) -> bool:
    """Return whether a plan stays within the usable depth (relative slack 1e-9)."""
    return taken <= depth * (1 + SLACK)


def carries_with_margin(taken: float, depth: float) -> bool:
    """Return whether a plan stays within 90 % of the usable depth (relative slack 1e-9)."""
    return taken <= MARGIN * depth * (1 + SLACK)


def batteries_like(sheet: BuildSheet, battery: Battery) -> list[AccessoryType]:
    """Return the sheet's battery types of the same system voltage and chemistry, from small to large."""
    alike = [
        kind
        for kind in sheet.accessories.values()
        if kind.battery and kind.battery.system_v == battery.system_v and kind.battery.chemistry == battery.chemistry
    ]
    return sorted(alike, key=lambda kind: (kind.battery.rated_ah if kind.battery else 0.0, kind.id))


def taken_from(sheet: BuildSheet, battery: Battery, quantity: int, currents_a: Sequence[float]) -> float:
    """Return the share of the charge that the sheet's plan would take from new batteries of a type."""
    store = store_of(battery, quantity, 1.0, sheet.air_temp_c, sheet.shop)
    return share_taken(store, [spell.hours for spell in spells_of(sheet)], currents_a)


def smallest_that_carries(
    sheet: BuildSheet, kinds: Sequence[AccessoryType], quantity: int, currents_a: Sequence[float]
) -> AccessoryType | None:
    """Return the first of the battery types whose usable depth covers the plan when new, or None.

    Parameters: kinds, from small to large; quantity, how many stand in parallel; currents_a, of each spell [A].
    """
    for kind in kinds:
        if kind.battery and carries(
            taken_from(sheet, kind.battery, quantity, currents_a), usable_depth(kind.battery, sheet.shop)
        ):
            return kind
    return None
