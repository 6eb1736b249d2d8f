"""Why a job earned what it earned: the way from the estimated to the actual gross profit, exact to the minor unit."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor

from shop.money import from_minor, minor_digits, to_minor

from .facts import Facts, Plan, PlannedLine, Used, exact
from .figures import CHANGE, COME_BACK, DISCOUNT, MINUTES, PARTS_COST, PRICE, QUANTITY, RATE


@dataclass(frozen=True)
class Part:
    """One part of the way [money]: above 0 gained, below 0 lost. `phase` says which steps, where it is minutes."""

    kind: str
    amount: Decimal
    phase: str = ""


@dataclass(frozen=True)
class Way:
    """From the gross profit of the accepted quote, before its discount, to the one that came [money]."""

    planned: Decimal
    parts: tuple[Part, ...]
    actual: Decimal

    def of(self, kind: str) -> Decimal:
        return sum((part.amount for part in self.parts if part.kind == kind), Decimal(0))


def way_of(facts: Facts) -> Way:
    """Return the way from planned to actual profit; its parts add up to the difference exactly.

    planned = revenue of the accepted quote before discount - its cost
    actual = agreed revenue - parts used - consumables - minutes worked * labour cost of the day - come-backs

    price       quantity agreed last * (its unit price - the quoted one); fees; the labour rate, where it changed
    discount    - the discount agreed last
    change      what change orders add or take: (its quantity - quoted) * (unit price - unit cost); work quoted for it
                less what that work was estimated to cost; its consumables
    parts cost  - quantity * (unit cost - the one estimated)
    quantity    - (quantity used - agreed) * unit cost agreed
    minutes     of each phase: - (worked - estimated) / 60 * labour cost estimated
    rate        - minutes worked / 60 * (labour cost of the day - the one estimated)
    come-back   - minutes / 60 * labour cost of the day - parts

    Each part is exact before it is rounded; the minor units that rounding leaves over go by largest remainder.
    References: price, quantity and rate effects as in the variance accounts of any cost accounting textbook; common
    practice, no source.
    """
    currency = facts.agreed.currency
    planned = facts.quoted.revenue + facts.quoted.discount - facts.quoted.cost
    actual = facts.agreed.revenue - actual_cost(facts)
    found = effects(facts)
    minor = 10 ** minor_digits(currency)
    shares = apportion([amount * minor for _, _, amount in found], to_minor(actual - planned, currency))
    parts = [
        Part(kind, from_minor(share, currency), phase) for (kind, phase, _), share in zip(found, shares, strict=True)
    ]
    return Way(planned, tuple(parts), actual)


def effects(facts: Facts) -> list[tuple[str, str, Fraction]]:
    """Return each part of the way before it is rounded: its kind, its phase where it is minutes, the amount [money]."""
    return [
        (PRICE, "", price_effect(facts)),
        (DISCOUNT, "", -exact(facts.agreed.discount)),
        (CHANGE, "", change_effect(facts)),
        (PARTS_COST, "", parts_cost_effect(facts)),
        (QUANTITY, "", quantity_effect(facts)),
        *((MINUTES, phase, amount) for phase, amount in minute_effects(facts).items()),
        (RATE, "", rate_effect(facts)),
        (COME_BACK, "", -come_back_cost(facts)),
    ]


def apportion(shares: Sequence[Fraction], total: int) -> list[int]:
    """Return whole numbers near the shares that add up to the total, the units left over by largest remainder.

    What is whole already keeps its figure unless every share is; nought keeps its figure unless all are nought.
    """
    floors = [floor(share) for share in shares]
    broken = [i for i, share in enumerate(shares) if share != floors[i]]
    moved = broken or [i for i, share in enumerate(shares) if share] or list(range(len(shares)))
    each, rest = divmod(total - sum(floors), len(moved))
    moved.sort(key=lambda i: (floors[i] - shares[i], i))
    for place, i in enumerate(moved):
        floors[i] += each + (place < rest)
    return floors


# What things cost in the end [money, minor unit].


def actual_cost(facts: Facts) -> Decimal:
    return parts_cost(facts) + facts.agreed.consumables_cost + labour_cost(facts) + sum(come_back_costs(facts))


def parts_cost(facts: Facts) -> Decimal:
    """Return what the parts at the bench cost: as used, else as agreed."""
    used = used_by_line(facts)
    lines = {line.key: line.cost for line in facts.agreed.lines}
    rounded = {key: rounded_cost(some, facts) for key, some in used.items()}
    return sum({**lines, **rounded}.values(), Decimal(0))


def labour_cost(facts: Facts) -> Decimal:
    return rounded(sum((one.cost for one in facts.at_the_bench), Fraction(0)), facts)


def come_back_costs(facts: Facts) -> tuple[Decimal, Decimal]:
    """Return what come-backs cost in work and in parts."""
    labour = sum((one.cost for one in facts.on_come_backs), Fraction(0))
    parts = sum((one.cost for one in facts.used if one.come_back), Fraction(0))
    return rounded(labour, facts), rounded(parts, facts)


def rounded_cost(some: Sequence[Used], facts: Facts) -> Decimal:
    return rounded(sum((one.cost for one in some), Fraction(0)), facts)


def rounded(amount: Fraction, facts: Facts) -> Decimal:
    """Return an exact amount rounded half up to the minor unit."""
    minor = 10 ** minor_digits(facts.agreed.currency)
    scaled = amount * minor
    sign = -1 if scaled < 0 else 1
    return from_minor(sign * floor(abs(scaled) + Fraction(1, 2)), facts.agreed.currency)


def used_by_line(facts: Facts) -> dict[str, list[Used]]:
    found: dict[str, list[Used]] = {}
    for one in facts.used:
        if not one.come_back:
            found.setdefault(one.line, []).append(one)
    return found


# What moved the profit, unrounded [money].


def pairs(quoted: Plan, agreed: Plan) -> Iterator[tuple[PlannedLine | None, PlannedLine | None]]:
    """Yield each line as it was quoted and as it was agreed last; one that became another type is gone and new."""
    before = {(line.key, line.accessory): line for line in quoted.lines}
    after = {(line.key, line.accessory): line for line in agreed.lines}
    for key in dict.fromkeys([*before, *after]):
        yield before.get(key), after.get(key)


def price_effect(facts: Facts) -> Fraction:
    quoted, agreed = facts.quoted, facts.agreed
    found = exact(agreed.fees) - exact(quoted.fees) + labour_sold(facts)[0]
    for before, after in pairs(quoted, agreed):
        if before and after:
            found += after.quantity * (exact(after.unit_price) - exact(before.unit_price))
    return found


def change_effect(facts: Facts) -> Fraction:
    quoted, agreed = facts.quoted, facts.agreed
    found = labour_sold(facts)[1] - labour_estimated(facts)[1]
    found += exact(agreed.consumables) - exact(quoted.consumables)
    found -= exact(agreed.consumables_cost) - exact(quoted.consumables_cost)
    for before, after in pairs(quoted, agreed):
        if before and after:
            found += (after.quantity - before.quantity) * (exact(before.unit_price) - exact(before.unit_cost))
        elif after:
            found += exact(after.amount) - exact(after.cost)
        elif before:
            found -= exact(before.amount) - exact(before.cost)
    return found


def parts_cost_effect(facts: Facts) -> Fraction:
    found = Fraction(0)
    for before, after in pairs(facts.quoted, facts.agreed):
        if before and after:
            found -= after.quantity * (exact(after.unit_cost) - exact(before.unit_cost))
    agreed = {line.key: line for line in facts.agreed.lines}
    for key, some in used_by_line(facts).items():
        for one in some:
            found -= one.quantity * (exact(one.unit_cost) - cost_agreed(agreed.get(key), one))
    return found


def quantity_effect(facts: Facts) -> Fraction:
    found = Fraction(0)
    agreed = {line.key: line for line in facts.agreed.lines}
    for key, some in used_by_line(facts).items():
        line = agreed.get(key)
        found += line.quantity * exact(line.unit_cost) if line else 0
        found -= sum((one.quantity * cost_agreed(line, one) for one in some), Fraction(0))
    return found


def cost_agreed(line: PlannedLine | None, used: Used) -> Fraction:
    """Return the unit cost that was agreed on; for a part that nobody planned, what it cost."""
    return exact(line.unit_cost if line else used.unit_cost)


def minute_effects(facts: Facts) -> dict[str, Fraction]:
    """Return what the minutes of each phase gained or lost against the agreed estimate."""
    over = {phase: -minutes for phase, minutes in facts.agreed.by_phase.items()}
    for one in facts.at_the_bench:
        over[one.phase] = over.get(one.phase, Fraction(0)) + one.minutes
    per_min = exact(facts.agreed.labour_cost_per_h) / 60
    return {phase: -minutes * per_min for phase, minutes in over.items()}


def rate_effect(facts: Facts) -> Fraction:
    planned = exact(facts.agreed.labour_cost_per_h)
    over = sum((one.minutes / 60 * (exact(one.cost_per_h) - planned) for one in facts.at_the_bench), Fraction(0))
    return -over - labour_estimated(facts)[0]


def come_back_cost(facts: Facts) -> Fraction:
    labour = sum((one.cost for one in facts.on_come_backs), Fraction(0))
    return labour + sum((one.cost for one in facts.used if one.come_back), Fraction(0))


def labour_sold(facts: Facts) -> tuple[Fraction, Fraction]:
    """Return by how much the labour charged rose with the rate, and with the minutes that change orders quoted."""
    quoted, agreed = facts.quoted, facts.agreed
    rise = exact(agreed.labour) - exact(quoted.labour)
    of_rate = agreed.quoted_min / 60 * (exact(agreed.labour_rate_per_h) - exact(quoted.labour_rate_per_h))
    return of_rate, rise - of_rate


def labour_estimated(facts: Facts) -> tuple[Fraction, Fraction]:
    """Return by how much the estimated labour cost rose with the cost of an hour, and with change orders' minutes."""
    quoted, agreed = facts.quoted, facts.agreed
    rise = exact(agreed.labour_cost) - exact(quoted.labour_cost)
    of_rate = agreed.minutes / 60 * (exact(agreed.labour_cost_per_h) - exact(quoted.labour_cost_per_h))
    return of_rate, rise - of_rate
