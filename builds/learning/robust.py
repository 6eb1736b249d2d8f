"""Middles and spreads that a few wild figures do not move."""

import math
from collections.abc import Sequence
from statistics import median

TO_SD = 1.4826
"""1 / 0.6745, the inverse normal of 0.75: turns the median deviation of normal figures into their sd."""
CUTOFF = 3.5


def median_deviation(values: Sequence[float], middle: float | None = None) -> float:
    """Return the spread of figures as TO_SD times the median distance from their median (MAD) [same unit].

    MAD = 1.4826 * median |x_i - median(x)|. Raises statistics.StatisticsError without a figure.

    References: Hampel, The influence curve and its role in robust estimation, JASA 69 (1974); Rousseeuw and Hubert,
    Robust statistics for outlier detection, WIREs Data Mining 1 (2011), section 2.
    """
    centre = median(values) if middle is None else middle
    return TO_SD * median(abs(value - centre) for value in values)


def is_wild(distance: float, spread: float, cutoff: float = CUTOFF) -> bool:
    """Return whether a figure lies too far from the middle of its like to be one of them: |distance| > cutoff * spread.

    Reference: Iglewicz and Hoaglin, How to detect and handle outliers, ASQC (1993): 3.5 for the modified z score.
    """
    return abs(distance) > cutoff * spread


def mean(values: Sequence[float]) -> float:
    """Return the mean, 0 where there is no figure."""
    return math.fsum(values) / len(values) if values else 0.0
