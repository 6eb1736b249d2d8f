"""Consumables: what was used up against what was estimated, by item."""

from collections.abc import Iterable, Mapping

from .credibility import Credibility, Figure, Known, buhlmann_straub

AS_ESTIMATED = Known(1.0, 0.25**2)
"""Before anything is counted: as much is used as is estimated, give or take a quarter (policy, no source)."""


def used(counts: Mapping[str, Iterable[tuple[float, float]]]) -> Credibility[str]:
    """Return how many times its estimate each item takes, by credibility.

    `counts` are pairs of (estimated, used) by item, one a ticket, in the item's unit; what was not estimated is left
    out. A figure is used / estimated with the weight estimated / the item's mean estimate, as a loss ratio is with its
    premium: the sealant of a large job says more than that of a small one.

    Reference: Bühlmann and Straub 1970 (`credibility`).
    """
    figures = {}
    for item, pairs in counts.items():
        known = [(estimated, taken) for estimated, taken in pairs if estimated > 0]
        if known:
            mean = sum(estimated for estimated, _ in known) / len(known)
            figures[item] = [Figure(taken / estimated, estimated / mean) for estimated, taken in known]
    return buhlmann_straub(figures, AS_ESTIMATED)
