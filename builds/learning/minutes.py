"""Low, likely and high minutes that give the estimator the middle and the spread which the shop has."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Minutes:
    """Low, likely and high minutes of a type [min]."""

    low_min: float
    likely_min: float
    high_min: float


def learned(likely_min: float, log_ratio: float, log_sd: float) -> Minutes:
    """Return the minutes of a type whose work takes exp(log_ratio) times its likely minutes, give or take log_sd.

    Work is read as log-normal: mean E = likely exp(r + s^2 / 2), sd D = E sqrt(exp(s^2) - 1), most frequent
    M = likely exp(r - s^2). The three minutes are those whose PERT mean (a + 4m + b) / 6 is E and whose PERT sd
    (b - a) / 6 is D, with m = M: a = 3E - 2M - 3D, b = a + 6D. Where a would fall below 0, a = 0, b = 6D,
    m = 1.5 (E - D).

    Parameters: `likely_min` above 0 [min], `log_ratio`, `log_sd` 0 or above (up to 0.8, beyond which three minutes
    cannot say it). Raises ValueError outside these.

    References: log-normal moments, Johnson, Kotz and Balakrishnan, Continuous univariate distributions 1 (1994),
    chapter 14; PERT, Malcolm et al. 1959.
    """
    if likely_min <= 0 or not 0 <= log_sd <= MOST_SD:
        raise ValueError("Likely minutes lie above 0 and their spread from 0 to 0.8.")
    mean = likely_min * math.exp(log_ratio + log_sd**2 / 2)
    sd = mean * math.sqrt(math.expm1(log_sd**2))
    most_frequent = likely_min * math.exp(log_ratio - log_sd**2)
    low = 3 * mean - 2 * most_frequent - 3 * sd
    if low < 0:
        return Minutes(0.0, 1.5 * (mean - sd), 6 * sd)
    return Minutes(low, most_frequent, low + 6 * sd)


MOST_SD = 0.8


def rounded(minutes: Minutes) -> Minutes:
    """Return the minutes as a catalogue writes them: to the half minute, to the tenth where likely is below 10."""
    step = 0.1 if minutes.likely_min < 10 else 0.5
    low, likely, high = (round(round(one / step) * step, 1) for one in vars(minutes).values())
    return Minutes(min(low, likely), likely, max(high, likely))
