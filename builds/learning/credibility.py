"""How far a group's own figures are believed: credibility Z = n / (n + k), k from the variances themselves."""

import math
from collections.abc import Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

Group = TypeVar("Group", bound=Hashable)


@dataclass(frozen=True)
class Figure:
    """One figure of a group and its weight (exposure), above 0."""

    value: float
    weight: float = 1.0


@dataclass(frozen=True)
class Summary:
    """The figures of a group: how many, their weight, their weighted mean, the weighted squares about it."""

    count: int
    weight: float
    own: float
    squares: float


@dataclass(frozen=True)
class Known:
    """What is known of the collective mean beforehand: a mean, and the variance about it."""

    mean: float
    variance: float


@dataclass(frozen=True)
class Believed:
    """One group: how many figures, their weight n, their own mean, credibility Z, and the mean that is believed."""

    count: int
    weight: float
    own: float
    credibility: float
    believed: float


@dataclass(frozen=True)
class Credibility(Generic[Group]):
    """All groups together.

    `within` is the expected process variance v, `between` the variance of hypothetical means a, `k` = v / a (infinite
    where the groups do not differ by more than chance), `collective` the mean that fills up what is not believed.
    """

    groups: Mapping[Group, Believed]
    within: float
    between: float
    k: float
    collective: float


def credibility_of(weight: float, k: float) -> float:
    """Return Z = n / (n + k) [1]; 0 where k is infinite."""
    return 0.0 if math.isinf(k) else weight / (weight + k) if weight else 0.0


def buhlmann_straub(figures: Mapping[Group, Sequence[Figure]], known: Known | None = None) -> Credibility[Group]:
    """Return the credibility of each group by the empirical Bayes method of Bühlmann and Straub.

    With figures x_ij of weight m_ij in group i, m_i = sum over j of m_ij, m = sum of m_i, X_i the group's weighted
    mean, X the weighted mean of all, r groups, n_i figures in group i:

    v = sum over i, j of m_ij (x_ij - X_i)^2 / sum of (n_i - 1)
    a = (sum of m_i (X_i - X)^2 - v (r - 1)) / (m - sum of m_i^2 / m), at least 0
    k = v / a, Z_i = m_i / (m_i + k), collective = sum of Z_i X_i / sum of Z_i (X where no Z is above 0)
    believed mean = Z_i X_i + (1 - Z_i) collective

    What is `known` of the collective beforehand is credibility once more, a storey higher: C of the figures' own mean
    and 1 - C of the known one, C = A / (A + s^2), A the known variance, s^2 = a / sum of Z_i (v / m where a is 0).

    Groups without a figure are left out. Without a group that has two figures v is 0 and every group is believed in
    full; the caller decides whether that is enough. Raises ValueError for a weight that is not above 0.

    References: Bühlmann and Straub, Glaubwürdigkeit für Schadensätze, Mitteilungen VSVM 70 (1970); Klugman, Panjer and
    Willmot, Loss Models, chapter on empirical Bayes credibility, nonparametric estimation; storeys: Jewell, The use of
    collateral data in credibility theory: a hierarchical model, Giornale dell'Istituto Italiano degli Attuari 38
    (1975).
    """
    if any(row.weight <= 0 for rows in figures.values() for row in rows):
        raise ValueError("A figure's weight lies above 0.")
    return credibility({group: summary_of(rows) for group, rows in figures.items() if rows}, known)


def summary_of(figures: Sequence[Figure]) -> Summary:
    """Return the summary of one group's figures, of which there is one at least."""
    weight = math.fsum(row.weight for row in figures)
    own = math.fsum(row.weight * row.value for row in figures) / weight
    return Summary(len(figures), weight, own, math.fsum(row.weight * (row.value - own) ** 2 for row in figures))


def credibility(groups: Mapping[Group, Summary], known: Known | None = None) -> Credibility[Group]:
    """Return what `buhlmann_straub` does, from the summaries of groups."""
    weight = {group: one.weight for group, one in groups.items()}
    own = {group: one.own for group, one in groups.items()}
    within = within_variance(groups.values())
    between = between_variance(weight, own, within)
    k = within / between if between > 0 else math.inf
    belief = {group: credibility_of(weight[group], k) for group in groups}
    trust = math.fsum(belief.values())
    collective = weighted_mean(own, belief if trust else weight)
    if known:
        unsure = between / trust if trust else within / math.fsum(weight.values())
        share = known.variance / (known.variance + unsure)
        collective = share * collective + (1 - share) * known.mean
    believed = {
        group: Believed(
            count=one.count,
            weight=one.weight,
            own=one.own,
            credibility=belief[group],
            believed=belief[group] * one.own + (1 - belief[group]) * collective,
        )
        for group, one in groups.items()
    }
    return Credibility(believed, within, between, k, collective)


def within_variance(groups: Collection[Summary]) -> float:
    """Return the expected process variance v: the weighted variance within the groups, 0 where none has two figures."""
    freedom = sum(one.count - 1 for one in groups)
    return math.fsum(one.squares for one in groups) / freedom if freedom else 0.0


def between_variance(weight: Mapping[Group, float], own: Mapping[Group, float], within: float) -> float:
    """Return the variance of hypothetical means a, unbiased, and 0 where chance alone would do as much."""
    total = math.fsum(weight.values())
    if len(weight) < 2:
        return 0.0
    mean = weighted_mean(own, weight)
    squares = math.fsum(weight[group] * (own[group] - mean) ** 2 for group in weight)
    scale = total - math.fsum(one * one for one in weight.values()) / total
    return max(0.0, (squares - within * (len(weight) - 1)) / scale)


def weighted_mean(values: Mapping[Group, float], weights: Mapping[Group, float]) -> float:
    """Return the weighted mean over the groups, 0 where there is no weight."""
    total = math.fsum(weights.values())
    return math.fsum(weights[group] * values[group] for group in weights) / total if total else 0.0
