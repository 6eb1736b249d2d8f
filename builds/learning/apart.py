"""Takes apart what a ticket's minutes come from: the type, the hull, the person, the day.

The log ratio y of a type t on a ticket j, worked by u, is read as

    y = theta_t + sum over factors f of s_f delta_f + c_u + b_j + e

theta is the type's own, delta the factor's (s the share of the minutes that it lengthens), c the person's, b the
ticket's or the day's, e the rest. All are random with variances that the data give; types, factors and persons are
believed by credibility. Taking each in turn while the others are held is Gauss and Seidel's way through Henderson's
mixed-model equations.

References: Henderson, Best linear unbiased estimation and prediction under a selection model, Biometrics 31 (1975);
Bühlmann and Straub 1970 (`credibility`). How a ticket's minutes hang together is the shop's matter: no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .credibility import Believed, Credibility, Known, Summary, credibility
from .timed import Datum

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
ROUNDS = 60
SETTLED = 1e-5
BOOK = Known(0.0, 0.25**2)
"""Before anything is timed: a shop takes what the catalogue says, give or take a quarter (policy, no source)."""
LEAST_REST = 0.05
"""The rest is never less than this part of the whole variance: two lines alike by chance prove nothing."""


@dataclass(frozen=True)
class Effects:
    """What was found, on the log scale; variances: `rest` of e, `ticket` of b, `person` of c.

    `kinds` holds each type with its credibility; `factors` each factor's delta and how far it is believed; `residuals`
    what is left of each datum without its type and its hull: person, day and rest.
    """

    kinds: Credibility[str]
    factors: Mapping[str, tuple[float, float]]
    persons: Mapping[str, Believed]
    rest: float
    ticket: float
    person: float
    residuals: tuple[float, ...] = field(repr=False)


@dataclass
class Rows:
    """The data in columns: y, the places of type, ticket and person, the shares of the factors."""

    y: Floats
    kind: Ints
    ticket: Ints
    person: Ints
    shares: Floats
    kinds: list[str]
    persons: list[str]
    factors: list[str]
    tickets: int

    @cached_property
    def lines(self) -> Floats:
        """How many data each datum's ticket has."""
        return self.per_ticket(np.ones_like(self.y))[self.ticket]

    def per_ticket(self, values: Floats) -> Floats:
        found: Floats = np.bincount(self.ticket, values, self.tickets).astype(np.float64)
        return found


def rows_of(data: Sequence[Datum]) -> Rows:
    kinds = sorted({one.kind for one in data})
    persons = sorted({one.tech for one in data})
    factors = sorted({factor for one in data for factor in one.exposed})
    tickets = {name: i for i, name in enumerate(dict.fromkeys(one.ticket for one in data))}
    kind_at, person_at = ({name: i for i, name in enumerate(names)} for names in (kinds, persons))
    return Rows(
        y=np.array([one.log_ratio for one in data]),
        kind=np.array([kind_at[one.kind] for one in data], dtype=np.intp),
        ticket=np.array([tickets[one.ticket] for one in data], dtype=np.intp),
        person=np.array([person_at[one.tech] for one in data], dtype=np.intp),
        shares=np.array([[one.exposed.get(factor, 0.0) for factor in factors] for one in data]).reshape(len(data), -1),
        kinds=kinds,
        persons=persons,
        factors=factors,
        tickets=len(tickets),
    )


def effects_of(data: Sequence[Datum]) -> Effects:
    """Return the effects of types, factors, persons and tickets. Raises ValueError without data."""
    if not data:
        raise ValueError("There is nothing to learn from.")
    rows = rows_of(data)
    theta, delta, person = np.zeros(len(rows.kinds)), np.zeros(len(rows.factors)), np.zeros(len(rows.persons))
    whole = float(np.var(rows.y)) or 1e-6
    rest, ticket = 0.75 * whole, 0.25 * whole
    for _ in range(ROUNDS):
        before = theta
        hull = rows.shares @ delta
        day = days_of(rows, rows.y - theta[rows.kind] - hull - person[rows.person], rest, ticket)
        kinds = kinds_of(rows, rows.y - hull - person[rows.person] - day, rest, ticket)
        theta = np.array([kinds.groups[name].believed for name in rows.kinds])
        delta, trust = factors_of(rows, rows.y - person[rows.person], rest, ticket, kinds.between)
        hull = rows.shares @ delta
        persons = persons_of(rows, rows.y - theta[rows.kind] - hull, rest, ticket)
        person = np.array([persons.groups[name].believed for name in rows.persons])
        person = person - float(person[rows.person].mean())
        left = rows.y - theta[rows.kind] - hull - person[rows.person]
        rest, ticket = variances_of(rows, left, sum(one.credibility for one in kinds.groups.values()))
        if np.abs(theta - before).max() < SETTLED:
            break
    return Effects(
        kinds=kinds,
        factors={name: (float(delta[i]), float(trust[i])) for i, name in enumerate(rows.factors)},
        persons=persons.groups,
        rest=rest,
        ticket=ticket,
        person=float(np.mean(person[rows.person] ** 2)),
        residuals=tuple((rows.y - theta[rows.kind] - rows.shares @ delta).tolist()),
    )


def days_of(rows: Rows, left: Floats, rest: float, ticket: float) -> Floats:
    """Return b as the ticket's other lines tell it: their sum / (their number + rest / ticket).

    A line does not judge its own day, so that a type that is alone on its ticket keeps all of its ratio.
    """
    if ticket <= 0:
        return np.zeros_like(left)
    others = rows.per_ticket(left)[rows.ticket] - left
    found: Floats = others / (rows.lines - 1 + rest / ticket)
    return found


def kinds_of(rows: Rows, cleared: Floats, rest: float, ticket: float) -> Credibility[str]:
    """Return the types by credibility; a line with company on its ticket weighs more, for its day is better known.

    weight = (rest + ticket) / (rest + ticket * rest / (rest + (m - 1) ticket)), m the lines of the ticket; 1 alone.
    """
    lines = rows.lines
    known = rest + ticket * rest / (rest + (lines - 1) * ticket)
    weight = (rest + ticket) / known
    return credibility(summaries(rows.kinds, rows.kind, cleared, weight), BOOK)


def summaries(names: Sequence[str], group: Ints, values: Floats, weights: Floats) -> dict[str, Summary]:
    """Return the summaries of groups, from figures with the place of their group among the names."""
    size = len(names)
    counts, weight = np.bincount(group, minlength=size), np.bincount(group, weights, size)
    own = np.bincount(group, weights * values, size) / np.where(weight > 0, weight, 1.0)
    squares = np.bincount(group, weights * (values - own[group]) ** 2, size)
    return {
        name: Summary(int(counts[i]), float(weight[i]), float(own[i]), float(squares[i]))
        for i, name in enumerate(names)
        if counts[i]
    }


def persons_of(rows: Rows, left: Floats, rest: float, ticket: float) -> Credibility[str]:
    """Return the persons by credibility: one figure a ticket, the mean of what is left on its lines.

    weight = (rest + ticket) / (ticket + rest / m): lines of one ticket are no independent witnesses.
    """
    places = rows.ticket * len(rows.persons) + rows.person
    size = rows.tickets * len(rows.persons)
    counts, sums = np.bincount(places, minlength=size), np.bincount(places, left, size)
    told = np.flatnonzero(counts)
    weights = (rest + ticket) / (ticket + rest / counts[told])
    return credibility(summaries(rows.persons, told % len(rows.persons), sums[told] / counts[told], weights))


def factors_of(rows: Rows, y: Floats, rest: float, ticket: float, prior: float) -> tuple[Floats, Floats]:
    """Return delta of each factor and how far it is believed, from tickets with and without it, type by type.

    Within types, S the shares and r the ratios less their type's mean, V the variance of a ticket's lines:
    A = S' V^-1 S, delta = (A + I / prior)^-1 S' V^-1 r, believed = 1 - diag((A + I / prior)^-1) / prior, which is
    n / (n + k) where there is one factor. `prior` is how far types differ from the catalogue: a factor of the
    catalogue may be as wrong. A type that is always fitted under a factor says nothing of it.
    """
    count = len(rows.factors)
    if not count or prior <= 0:
        return np.zeros(count), np.zeros(count)
    shares = np.column_stack([within_kind(rows, rows.shares[:, f]) for f in range(count)])
    ratios = within_kind(rows, y)
    lines = np.bincount(rows.ticket, minlength=rows.tickets)
    pull = ticket / (rest + lines * ticket)
    sums = np.column_stack([rows.per_ticket(shares[:, f]) for f in range(count)])
    precision = (shares.T @ shares - sums.T @ (pull[:, None] * sums)) / rest
    towards = (shares.T @ ratios - sums.T @ (pull * rows.per_ticket(ratios))) / rest
    spread = np.linalg.inv(precision + np.eye(count) / prior)
    return spread @ towards, 1 - np.diag(spread) / prior


def within_kind(rows: Rows, values: Floats) -> Floats:
    counts = np.bincount(rows.kind)
    found: Floats = values - (np.bincount(rows.kind, values) / counts)[rows.kind]
    return found


def variances_of(rows: Rows, left: Floats, spent: float) -> tuple[float, float]:
    """Return the variance of the rest and of the ticket: of all, and the mean product of two lines of one ticket."""
    whole = float(left @ left) / max(1.0, len(left) - spent)
    ticket = pair_product(rows, left)
    ticket = min(max(0.0, ticket), (1 - LEAST_REST) * whole)
    return max(whole - ticket, 1e-9), ticket


def pair_product(rows: Rows, left: Floats) -> float:
    """Return the mean product of two different lines of one ticket, 0 where no ticket has two."""
    pairs = float(np.sum(rows.lines - 1))
    products = float(np.sum(rows.per_ticket(left) ** 2) - left @ left)
    return products / pairs if pairs else 0.0
