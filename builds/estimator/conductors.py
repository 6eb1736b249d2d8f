"""Conductors: the least gauge that a voltage drop and the heat of a current allow."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import inf

from .published import rows_of

K_OHM_CM_PER_FT = 10.75
M_PER_FT = 0.3048
SLACK = 1e-9
LEAST_SHEATHED, LEAST_SINGLE = "18", "16"


@dataclass(frozen=True)
class Gauge:
    """A size of stranded copper: SAE minimum area [circular mils], ampacity [A]."""

    awg: str
    area_cm: float
    ampacity_a: float


@cache
def gauges(insulation_c: float, hot_hull: bool, sheathed: bool) -> tuple[Gauge, ...]:
    """Return the sizes that may be fitted, from thin to thick, with their ampacity.

    Parameters: insulation_c [C] is the temperature rating of the insulation, a column of Table 5 (60, 75, 80, 90, 105,
    125 or 200); hot_hull applies note 1, the factor for engine spaces at 50 C; sheathed allows 18 AWG, else 16 AWG is
    the least.

    Raises KeyError where Table 5 has no such column.

    References: 33 CFR 183.425 Table 5, note 1, (d) and (e), 2015, a reference value: it regulates boats with gasoline
    engines; SAE minimum areas as quoted in public text (3 and 3/0 AWG are not in that table).
    """
    column = f"ampacity_{insulation_c:g}C_A"
    ampacities = {row["awg"]: float(row[column]) for row in rows_of("cfr183_425_table5_ampacity")}
    factor = hot_factor(insulation_c) if hot_hull else 1.0
    areas = rows_of("marine_wire_areas_and_105C_ampacity")
    every = [Gauge(row["awg"], float(row["sae_min_area_CM"]), factor * ampacities[row["awg"]]) for row in areas]
    least = [gauge.awg for gauge in every].index(LEAST_SHEATHED if sheathed else LEAST_SINGLE)
    return tuple(every[least:])


def hot_factor(insulation_c: float) -> float:
    """Return the share of its ampacity that a conductor keeps in a hot hull (33 CFR 183.425 Table 5 note 1, 2015)."""
    rows = rows_of("cfr183_425_note1_engine_space_factor")
    return {float(row["insulation_rating_C"]): float(row["engine_space_factor"]) for row in rows}[insulation_c]


def needed_area_cm(current_a: float, conductor_m: float, drop_v: float) -> float:
    """Return the least area that keeps a drop [circular mils]; infinite where no drop is left to spend.

    CM = K * I * L / E, with K = 10.75 ohm CM/ft, I the current [A], L the positive and negative conductors together
    [ft], E the drop allowed [V].

    References: ABYC E-11, as quoted in public text.
    """
    spent = K_OHM_CM_PER_FT * current_a * (conductor_m / M_PER_FT)
    if spent <= 0:
        return 0.0
    return spent / drop_v if drop_v > 0 else inf


def drop_v(current_a: float, conductor_m: float, area_cm: float) -> float:
    """Return the voltage drop over both conductors [V].

    E = K * I * L / CM, with the symbols of `needed_area_cm`.

    References: ABYC E-11, as quoted in public text.
    """
    return K_OHM_CM_PER_FT * current_a * (conductor_m / M_PER_FT) / area_cm


def least_gauge(
    sizes: Sequence[Gauge], current_a: float, conductor_m: float, allowed_drop_v: float, carried_a: float = 0.0
) -> Gauge | None:
    """Return the thinnest size that keeps the drop [V] and whose ampacity covers the current and `carried_a` [A].

    `carried_a` is the rating of the fuse before it. Returns None where no size does. Limits have a relative slack of
    1e-9.
    """
    area_cm = needed_area_cm(current_a, conductor_m, allowed_drop_v) * (1 - SLACK)
    heat_a = max(current_a, carried_a) * (1 - SLACK)
    return next((size for size in sizes if size.area_cm >= area_cm and size.ampacity_a >= heat_a), None)


@cache
def thickness(awg: str) -> int:
    """Return the place of a size among all sizes, 0 the thinnest."""
    return [row["awg"] for row in rows_of("marine_wire_areas_and_105C_ampacity")].index(awg)
