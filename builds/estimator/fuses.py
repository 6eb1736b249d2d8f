"""Fuses: the standard ratings, their colours, and the least that carries a circuit."""

from functools import cache

from .published import rows_of

SLACK = 1e-9
BOLTED_A = (50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0)
LARGEST_BLADE_A = 40.0


@cache
def ratings_a() -> tuple[float, ...]:
    """Return the standard ratings in order [A]: blades of 1 to 40 A, then larger ones up to 150 A.

    References: ISO 8820-3 ratings as listed in public text; above 40 A from memory.
    """
    blades = {float(row["rating_A"]) for row in rows_of("blade_fuse_colours")}
    return (*sorted(rating for rating in blades if rating <= LARGEST_BLADE_A), *BOLTED_A)


@cache
def colours() -> dict[float, str]:
    """Return the colour of each blade by its rating [A]; a regular blade's before that of the larger family.

    References: ISO 8820-3 as listed in public text. A row from memory is left out: its sources disagree.
    """
    seen = [row for row in rows_of("blade_fuse_colours") if row["seen_or_memory"] != "from memory"]
    seen.sort(key=lambda row: not row["family"].startswith("regular"))
    found: dict[float, str] = {}
    for row in seen:
        found.setdefault(float(row["rating_A"]), row["colour"])
    return found


def fuse_colour(rating_a: float | None) -> str | None:
    """Return the colour of a blade of this rating, or None where none is known."""
    return None if rating_a is None else colours().get(rating_a)


def least_fuse_a(needed_a: float, above_a: float = 0.0) -> float | None:
    """Return the smallest standard rating that is at least `needed_a` and larger than `above_a` [A], or None.

    The need has a relative slack of 1e-9.
    """
    least_a = needed_a * (1 - SLACK)
    return next((rating for rating in ratings_a() if rating >= least_a and rating > above_a), None)


def needed_fuse_a(factor: float, design_a: float, peak_a: float) -> float:
    """Return the least rating that a circuit calls for [A]: max(factor * design current, sum of peaks).

    `factor` is 1.25 in general (the trade's 125 %), 1.10 for motors, whose stated maximum is brief.

    References: common practice, no source; the motor factor gives the breakers of a motor maker's table
    (42 A -> 50 A, 50 A -> 60 A).
    """
    return max(factor * design_a, peak_a)
