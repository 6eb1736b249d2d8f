"""How often what was promised with a chance held, and how sure that count is."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist


@dataclass(frozen=True)
class Held:
    """Held `k` times of `n`; `low` to `high` is the interval of the share [1], `chance` what was meant."""

    chance: float
    k: int
    n: int
    low: float
    high: float

    @property
    def share(self) -> float | None:
        return self.k / self.n if self.n else None

    @property
    def agrees(self) -> bool:
        """Whether the chance that was meant lies within the interval: nothing speaks against it."""
        return self.low <= self.chance <= self.high


def wilson(k: int, n: int, confidence: float = 0.95) -> tuple[float, float]:
    """Return the Wilson score interval of a share of k in n [1]; (0, 1) where n is 0.

    (p + z^2 / 2n -/+ z sqrt(p (1 - p) / n + z^2 / 4n^2)) / (1 + z^2 / n), p = k / n, z the inverse normal of
    (1 + confidence) / 2. Raises ValueError where k is not from 0 to n.

    References: Wilson, Probable inference, JASA 22 (1927); recommended for small n by Brown, Cai and DasGupta,
    Interval estimation for a binomial proportion, Statistical Science 16 (2001).
    """
    if not 0 <= k <= n:
        raise ValueError("What held is counted from 0 to the number of times.")
    if n == 0:
        return 0.0, 1.0
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share, square = k / n, z * z
    middle = share + square / (2 * n)
    reach = z * math.sqrt(share * (1 - share) / n + square / (4 * n * n))
    scale = 1 + square / n
    return max(0.0, (middle - reach) / scale), min(1.0, (middle + reach) / scale)


def held(promises: Iterable[tuple[float, float]], chance: float) -> Held:
    """Return how often the minutes worked stayed within the minutes promised; pairs of (promised, worked) [min]."""
    kept = [worked <= promised for promised, worked in promises]
    k, n = sum(kept), len(kept)
    low, high = wilson(k, n)
    return Held(chance, k, n, low, high)
