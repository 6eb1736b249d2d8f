"""The rules of the catalogue that span several fields, each answered with a plain sentence or nothing.

Forms, Django's admin and the reading of files ask here, so that a rule has one wording.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal, InvalidOperation
from itertools import pairwise

from catalog.vocabulary import Phase, QuoteRule
from shop.money import round_money

# Shares are written in thousandths; the build sheet lets them miss 1 by this much.
SHARE_SLACK = 0.002


def most_of(total: Decimal, rule: str, tolerance: Decimal | float, currency: str) -> Decimal:
    """Return the most that a quoted total may come to without a new agreement, by the shop's rule."""
    if rule != QuoteRule.TOLERANCE:
        return total
    return round_money(total * (1 + Decimal(str(tolerance))), currency)


def minutes_problem(low_min: float, likely_min: float, high_min: float) -> str | None:
    if low_min <= likely_min <= high_min:
        return None
    return f"Minutes go from low over likely to high; here they are {low_min:g}, {likely_min:g} and {high_min:g}."


def shares_problem(shares: Sequence[float], likely_min: float) -> str | None:
    total = sum(shares)
    if not shares:
        return "A type that takes minutes has at least one step." if likely_min else None
    if abs(total - 1) <= SHARE_SLACK * (1 + 1e-9):
        return None
    return f"The shares of all steps add to 1 (100 %); these add to {total:.3f}."


def phases_problem(phases: Sequence[str]) -> str | None:
    """Within a type the phases never go backwards."""
    order = {phase: place for place, phase in enumerate(Phase.values)}
    for before, after in pairwise(phases):
        if order.get(after, 0) < order.get(before, 0):
            return f"The phase “{after}” comes before “{before}” in the order of work; change the order of the steps."
    return None


def twice_problem(words: Iterable[str], what: str) -> str | None:
    twice = [word for word, count in Counter(words).items() if count > 1]
    return f"The {what} “{twice[0]}” stands here twice; once is enough." if twice else None


def self_conflict_problem(others: Iterable[str], code: str) -> str | None:
    if code not in others:
        return None
    return "A type is not in conflict with itself; several of one type are the business of its steps."


def mountings_problem(wanted: Iterable[str], mountings: Iterable[str]) -> str | None:
    """An opening made for a mounting that the type does not list is made for nothing."""
    unknown = [word for word in wanted if word not in set(mountings)]
    if not unknown:
        return None
    return f"An opening is for the mounting “{unknown[0]}”, which is not one of this type's mountings."


def bundle_line_problem(kind: dict | None, code: str, mounting: str, drive: bool) -> tuple[str, str] | None:
    """Return (key, sentence) where a line of a bundle asks what its type, given as a record or None, is not."""
    if kind is None:
        return "accessory", f"“{code}” is no accessory type of the catalogue."
    if mounting and mounting not in kind["mountings"]:
        return "mounting", f"“{mounting}” is no mounting of {kind['name']}. It has {', '.join(kind['mountings'])}."
    if drive and not kind["battery"]:
        return "drive", f"{kind['name']} is no battery, so it is no drive battery."
    return None


def opening_problem(shape: str, sizes: dict[str, float | None]) -> tuple[str, str] | None:
    """Return (field, sentence) where an opening lacks a size that its shape needs."""
    needed = ("diameter_mm",) if shape == "round" else ("width_mm", "height_mm")
    for name in needed:
        if not sizes.get(name):
            return (name, f"A {shape} opening needs its {name.removesuffix('_mm')} in mm.")
    width, height, corner = (sizes.get(name) or 0 for name in ("width_mm", "height_mm", "corner_mm"))
    if shape != "round" and 2 * corner > min(width, height) * (1 + 1e-9):
        return "corner_mm", "The corner radius is at most half of the shorter side."
    return None


def markup_problem(scale: object) -> str | None:
    """A mark-up scale rises step by step and ends with one for everything above."""
    if not isinstance(scale, list) or not scale or not all(isinstance(step, dict) for step in scale):
        return "A mark-up scale is a list of steps, each with “below” and “factor”."
    if any(set(step) != {"below", "factor"} for step in scale):
        return "Each step of a mark-up scale has “below” and “factor”, nothing else."
    try:
        limits = [Decimal(step["below"]) for step in scale[:-1]]
        factors = [Decimal(step["factor"]) for step in scale]
    except (InvalidOperation, TypeError, ValueError):
        return "The limits and factors of a mark-up scale are numbers in quotes, such as “2.5”."
    if not all(number.is_finite() for number in [*limits, *factors]):
        return "The limits and factors of a mark-up scale are finite numbers."
    if scale[-1]["below"] is not None:
        return "The last step of a mark-up scale is for everything above: its “below” is empty."
    if limits != sorted(set(limits)) or (limits and limits[0] <= 0):
        return "The limits of a mark-up scale rise from step to step."
    if any(not 1 <= factor <= 100 for factor in factors):
        return "A mark-up factor is at least 1, so that nothing is sold below its cost, and at most 100."
    return None
