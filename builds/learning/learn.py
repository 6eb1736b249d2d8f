"""learn(timed work, the catalogue's minutes) -> what the shop's own work proposes."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist, median

from . import minutes
from .apart import Effects, effects_of, pair_product, rows_of
from .credibility import Figure, buhlmann_straub
from .forgotten import without_forgotten
from .minutes import Minutes
from .timed import Datum, LeftOut, Timed, gather

LEAST_TICKETS = 10
"""With fewer timed tickets nothing is proposed: what varies by chance is not known yet."""
FIRST_GUESS = 25.0
"""So many tickets weigh as much as the belief that lines add up to tickets as they should."""
FAR = 3.0
BELIEVED_FACTOR = 0.5
"""A hull factor is proposed where its tickets weigh at least as much as the catalogue's figure."""


@dataclass(frozen=True)
class Proposal:
    """What is proposed for one accessory type or operation.

    `tickets` is n; `credibility` is Z = weight / (weight + k). `own_ratio` is how many times the catalogue's likely
    minutes the shop's own tickets took (a middle, forgotten timers left out), `ratio` what is believed of it:
    Z parts of it, the rest the shop's own pace over all types. `spread` is the sd of a ticket's minutes on the log
    scale, person and day included. `before` and `after` are low, likely and high minutes [min].
    """

    kind: str
    tickets: int
    left_out: int
    weight: float
    credibility: float
    own_ratio: float
    ratio: float
    spread: float
    before: Minutes
    after: Minutes


@dataclass(frozen=True)
class FactorProposal:
    """What is proposed for a hull factor: `before` and `after` [1], on how many tickets, and how far it is believed."""

    factor: str
    tickets: int
    credibility: float
    before: float
    after: float

    @property
    def is_carried(self) -> bool:
        """Whether the data carry it."""
        return self.credibility >= BELIEVED_FACTOR


@dataclass(frozen=True)
class Person:
    """How a person's minutes lie to everyone's [1], and on how many tickets. No reproach: minutes are not quality."""

    name: str
    tickets: int
    ratio: float


@dataclass(frozen=True)
class Learned:
    """Everything that was learned. `pace` is the shop's over all types, `k` that of the credibility.

    `correlation` is how far the lines of one ticket run long or short together (None: no ticket has two).
    """

    proposals: tuple[Proposal, ...]
    factors: tuple[FactorProposal, ...]
    persons: tuple[Person, ...]
    left_out: tuple[LeftOut, ...]
    tickets: int
    pace: float
    k: float
    within: float
    between: float
    correlation: float | None


NOTHING = Learned((), (), (), (), 0, 1.0, math.inf, 0.0, 0.0, None)


def learn(timed: Iterable[Timed], catalogue: Mapping[str, Minutes], factors: Mapping[str, float]) -> Learned:
    """Return what the timed work proposes for the minutes of each type, the hull factors and the correlation.

    Parameters: the timed phases; the catalogue's minutes by type [min]; the factors in use [1]. Types that the
    catalogue lacks, or that have no likely minutes, are not learned.

    1. One log ratio for each type on each ticket (`timed.gather`). 2. Forgotten timers are left out (`forgotten`).
    3. Type, hull factor, person and day are taken apart, each believed by Z = n / (n + k) (`apart`, `credibility`).
    4. A type's spread, likewise by credibility, and its uncertain middle give its low and high (`minutes.learned`).
    5. Middles and spreads are scaled so that whole tickets come out right (`scales_of`): a quote is for a ticket.
    """
    data, part_timed = gather(one for one in timed if is_known(one.kind, catalogue))
    kept, wild = without_forgotten(data)
    left_out = (*part_timed, *wild)
    tickets = len({one.ticket for one in kept})
    if tickets < LEAST_TICKETS:
        return replace(NOTHING, left_out=left_out, tickets=tickets)
    effects = effects_of(kept)
    correlation = correlation_of(kept, effects)
    spreads = spreads_of(kept, effects)
    middle, wide = scales_of(kept, effects, spreads, correlation or 0.0)
    spreads = {kind: min(wide * spread, minutes.MOST_SD) for kind, spread in spreads.items()}
    return Learned(
        proposals=proposals_of(effects, spreads, middle, left_out, catalogue),
        factors=factor_proposals(kept, effects, factors),
        persons=persons_of(kept, effects),
        left_out=left_out,
        tickets=tickets,
        pace=middle * math.exp(effects.kinds.collective),
        k=effects.kinds.k,
        within=effects.kinds.within,
        between=effects.kinds.between,
        correlation=correlation,
    )


def is_known(kind: str, catalogue: Mapping[str, Minutes]) -> bool:
    return kind in catalogue and catalogue[kind].likely_min > 0


def proposals_of(
    effects: Effects,
    spreads: Mapping[str, float],
    middle: float,
    left_out: Sequence[LeftOut],
    catalogue: Mapping[str, Minutes],
) -> tuple[Proposal, ...]:
    """Return a proposal for each type; `middle` scales all of them."""
    missed = Counter(one.datum.kind for one in left_out)
    return tuple(
        Proposal(
            kind=kind,
            tickets=group.count,
            left_out=missed[kind],
            weight=group.weight,
            credibility=group.credibility,
            own_ratio=middle * math.exp(group.own),
            ratio=middle * math.exp(group.believed),
            spread=spreads[kind],
            before=catalogue[kind],
            after=minutes.rounded(
                minutes.learned(catalogue[kind].likely_min, group.believed + math.log(middle), spreads[kind])
            ),
        )
        for kind, group in effects.kinds.groups.items()
    )


def scales_of(
    kept: Sequence[Datum], effects: Effects, spreads: Mapping[str, float], correlation: float
) -> tuple[float, float]:
    """Return by what all middles and all spreads are multiplied so that whole tickets come out right [1].

    Lines of many minutes weigh as much as short ones in a type's middle, and more in a ticket. With W the minutes
    worked on a ticket, E and D the mean and the sd that its lines were found to have together, n tickets, g
    `FIRST_GUESS`, all over tickets within 3 D of E:

    middle = 1 + n / (n + g) (sum of W / sum of E - 1)
    wide^2 = (g + sum of z^2) / (g + n), z = (W - middle E) / (middle D); then times `skew_factor` of the tickets' D / E
    """
    worked: dict[str, float] = {}
    lines: dict[str, list[tuple[float, float]]] = {}
    for one, residual in zip(kept, effects.residuals, strict=True):
        spread = spreads[one.kind]
        mean = one.planned_min * math.exp(one.log_ratio - residual + spread**2 / 2)
        worked[one.ticket] = worked.get(one.ticket, 0.0) + one.worked_min
        lines.setdefault(one.ticket, []).append((mean, mean * math.sqrt(math.expm1(spread**2))))
    means = {ticket: math.fsum(mean for mean, _ in rows) for ticket, rows in lines.items()}
    sds = {ticket: together([sd for _, sd in rows], correlation) for ticket, rows in lines.items()}
    near = [t for t in worked if sds[t] and abs(worked[t] - means[t]) <= FAR * sds[t]]
    if not near:
        return 1.0, 1.0
    n = len(near)
    middle = 1 + n / (n + FIRST_GUESS) * (math.fsum(worked[t] for t in near) / math.fsum(means[t] for t in near) - 1)
    squares = math.fsum(((worked[t] - middle * means[t]) / (middle * sds[t])) ** 2 for t in near)
    wide = math.sqrt((FIRST_GUESS + squares) / (FIRST_GUESS + n))
    return middle, wide * skew_factor(wide * median(sds[t] / means[t] for t in near))


def skew_factor(relative_sd: float, share: float = 0.8) -> float:
    """Return by what an sd is multiplied so that mean + z sd is the quantile of a log-normal with that relative sd.

    The estimator adds z sd to the mean as if minutes were normal; they are skewed. With s^2 = ln(1 + c^2):
    (exp(z s - s^2 / 2) - 1) / (z c); 1 as c goes to 0.
    """
    if relative_sd <= 0:
        return 1.0
    z, s = NormalDist().inv_cdf(share), math.sqrt(math.log1p(relative_sd**2))
    return math.expm1(z * s - s * s / 2) / (z * relative_sd)


def together(sds: Sequence[float], correlation: float) -> float:
    """Return the sd of a sum of equally correlated parts [same unit]."""
    squares = math.fsum(sd * sd for sd in sds)
    return math.sqrt(squares + correlation * (math.fsum(sds) ** 2 - squares))


def spreads_of(kept: Sequence[Datum], effects: Effects) -> dict[str, float]:
    """Return each type's sd on the log scale: who works and how the day goes are in it, for a quote knows neither.

    The variance is itself a mean, of squared distances, and is believed by credibility: Z of the type's own, the rest
    of everyone's. The uncertainty of the middle, between (1 - Z), is added.
    """
    squares: dict[str, list[Figure]] = {}
    for one, residual in zip(kept, effects.residuals, strict=True):
        squares.setdefault(one.kind, []).append(Figure(residual**2))
    variances = buhlmann_straub(squares).groups
    groups, between = effects.kinds.groups, effects.kinds.between
    return {
        kind: math.sqrt(max(0.0, variances[kind].believed) + between * (1 - groups[kind].credibility))
        for kind in groups
    }


def factor_proposals(
    kept: Sequence[Datum], effects: Effects, factors: Mapping[str, float]
) -> tuple[FactorProposal, ...]:
    proposals = []
    for name, (delta, trust) in effects.factors.items():
        if name in factors:
            tickets = len({one.ticket for one in kept if one.exposed.get(name)})
            after = round(factors[name] * math.exp(delta), 2)
            proposals.append(FactorProposal(name, tickets, trust, factors[name], after))
    return tuple(proposals)


def persons_of(kept: Sequence[Datum], effects: Effects) -> tuple[Person, ...]:
    tickets: dict[str, set[str]] = {}
    for one in kept:
        tickets.setdefault(one.tech, set()).add(one.ticket)
    centre = sum(effects.persons[one.tech].believed for one in kept) / len(kept)
    return tuple(
        Person(name, len(tickets[name]), math.exp(found.believed - centre)) for name, found in effects.persons.items()
    )


def correlation_of(kept: Sequence[Datum], effects: Effects) -> float | None:
    """Return the correlation of two lines of one ticket, person and day together, from 0 to 0.95."""
    rows = rows_of(kept)
    if rows.tickets == len(kept):
        return None
    left = rows.y * 0 + effects.residuals
    whole = float(left @ left) / len(left)
    return round(min(0.95, max(0.0, pair_product(rows, left) / whole)), 2) if whole else 0.0
