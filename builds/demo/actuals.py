"""How long the work really took and what it used up: invented figures about the estimate. No database."""

import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

# All of these are invented and plausible.
HABIT_SD = 0.10
"""Spread of how far one accessory type is always off, in the logarithm."""
PHASE_SD = 0.15
ROUTING_OVER = (1.7, 2.3)
RAN_LONG = (1.45, 1.65)
SMALLEST_MIN = 0.5
SAY_WHAT_THEY_USED = 0.9
USED_MEAN, USED_SD = 1.12, 0.15


@dataclass(frozen=True)
class Worked:
    """Minutes worked in one phase, for a line (by its key, with its accessory type) or an operation (by its code)."""

    line: str
    accessory: str
    phase: str
    minutes: float


def worked(
    labour: Mapping[str, Any],
    kinds: Mapping[str, str],
    seed: int,
    chance: random.Random,
    *,
    pace: float = 1.0,
    routing_over: bool = False,
    ran_long: bool = False,
) -> Iterator[Worked]:
    """Yield the minutes of each line's phases in the order of work, to the half minute.

    A line's minutes are drawn about its likely ones, log-normal, two standard deviations from low to high, and kept
    between them; `kinds` says which accessory type a line is, and each type is off by a habit of its own. `pace` is
    the tech's. Where routing ran over, or an old hull ran long, the minutes leave that range.
    """
    drawn = {
        line["line"]: drawn_ratio(line, habit(kinds.get(line["line"], line["line"]), seed), chance)
        for line in labour["lines"]
    }
    planned: dict[tuple[str, str], float] = {}
    for step in labour["order"]:
        key = step["line"], step["phase"]
        planned[key] = planned.get(key, 0.0) + step["minutes"]
    over, long = chance.uniform(*ROUTING_OVER), chance.uniform(*RAN_LONG)
    for (line, phase), minutes in planned.items():
        factor = pace * drawn[line] * chance.lognormvariate(0.0, PHASE_SD)
        factor *= (over if routing_over and phase == "route" else 1.0) * (long if ran_long else 1.0)
        yield Worked(line, kinds.get(line, ""), phase, max(SMALLEST_MIN, round(2 * minutes * factor) / 2))


def drawn_ratio(line: Mapping[str, float], usual: float, chance: random.Random) -> float:
    """Return a line's minutes, usually so many times its likely ones, as a part of these; kept from low to high."""
    low, likely, high = line["low_min"], line["likely_min"], line["high_min"]
    share = chance.lognormvariate(0.0, 1.0)
    if not low or not likely:
        return 1.0
    sd = math.log(high / low) / 4
    minutes = likely * share**sd * usual
    return min(high, max(low, minutes)) / likely


def habit(kind: str, seed: int) -> float:
    """Return by how much an accessory type (or operation) always takes longer or shorter than the book says."""
    return random.Random(f"{seed} {kind}").lognormvariate(0.0, HABIT_SD)


def used(estimated: Mapping[str, Decimal], chance: random.Random) -> dict[str, Decimal]:
    """Return how much of each consumable the tech wrote down, whole units as one reads them off; often nothing."""
    if chance.random() > SAY_WHAT_THEY_USED:
        return {}
    return {
        item: Decimal(max(1, round(float(quantity) * chance.gauss(USED_MEAN, USED_SD))))
        for item, quantity in sorted(estimated.items())
        if quantity >= 1
    }
