"""The figures that add up over tickets, and what follows from their sums."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from .facts import ZERO

# The parts of the way from the estimated to the actual profit, in their order.
PRICE, DISCOUNT, CHANGE, PARTS_COST, QUANTITY, MINUTES, RATE, COME_BACK = (
    "price",
    "discount",
    "change",
    "parts_cost",
    "quantity",
    "minutes",
    "rate",
    "come_back",
)
WHY = (PRICE, DISCOUNT, CHANGE, PARTS_COST, QUANTITY, MINUTES, RATE, COME_BACK)


@dataclass(frozen=True)
class Figures:
    """What a ticket, a share of it or many tickets came to: money [currency], minutes with two decimals [min].

    Revenue is before tax. `labour` is what lines were charged for work, `operations` what shop operations were; the
    discount is the whole one, `labour_discount` what of it fell on work. `planned` is the gross profit of the accepted
    quote before its discount; the eight `why_` amounts lead from it to the gross profit that came.
    """

    parts: Decimal = ZERO
    labour: Decimal = ZERO
    operations: Decimal = ZERO
    consumables: Decimal = ZERO
    fees: Decimal = ZERO
    discount: Decimal = ZERO
    labour_discount: Decimal = ZERO
    parts_cost: Decimal = ZERO
    consumables_cost: Decimal = ZERO
    labour_cost: Decimal = ZERO
    come_back_labour_cost: Decimal = ZERO
    come_back_parts_cost: Decimal = ZERO
    agreed_cost: Decimal = ZERO
    planned: Decimal = ZERO
    why_price: Decimal = ZERO
    why_discount: Decimal = ZERO
    why_change: Decimal = ZERO
    why_parts_cost: Decimal = ZERO
    why_quantity: Decimal = ZERO
    why_minutes: Decimal = ZERO
    why_rate: Decimal = ZERO
    why_come_back: Decimal = ZERO
    estimated_min: Decimal = ZERO
    quoted_min: Decimal = ZERO
    worked_min: Decimal = ZERO
    come_back_min: Decimal = ZERO
    came_back: int = 0

    @property
    def revenue(self) -> Decimal:
        return self.parts + self.labour + self.operations + self.consumables + self.fees - self.discount

    @property
    def come_back_cost(self) -> Decimal:
        return self.come_back_labour_cost + self.come_back_parts_cost

    @property
    def cost(self) -> Decimal:
        return self.parts_cost + self.consumables_cost + self.labour_cost + self.come_back_cost

    @property
    def profit(self) -> Decimal:
        """Gross profit: revenue before tax less what parts, consumables, work and come-backs cost."""
        return self.revenue - self.cost

    @property
    def margin(self) -> Decimal | None:
        return part_of(self.profit, self.revenue)

    @property
    def agreed_margin(self) -> Decimal | None:
        """The margin that the agreed estimate said."""
        return part_of(self.revenue - self.agreed_cost, self.revenue)

    @property
    def paid_min(self) -> Decimal:
        """All minutes that the shop paid for: at the bench and on come-backs."""
        return self.worked_min + self.come_back_min

    @property
    def over_min(self) -> Decimal:
        """Minutes worked above the estimate; below nought, under it."""
        return self.paid_min - self.estimated_min

    @property
    def labour_sold(self) -> Decimal:
        """What was charged for work, after its discount."""
        return self.labour + self.operations - self.labour_discount


NAMES = tuple(field.name for field in fields(Figures))
MINUTE_NAMES = tuple(name for name in NAMES if name.endswith("_min"))
COUNT_NAMES = ("came_back",)
MONEY_NAMES = tuple(name for name in NAMES if name not in (*MINUTE_NAMES, *COUNT_NAMES))


def figures_of(row: Mapping[str, Any]) -> Figures:
    """Return the figures that a row of names and values holds; what is missing or null is nought."""
    return Figures(**{name: row[name] for name in NAMES if row.get(name) is not None})


def total_of(some: Iterable[Figures]) -> Figures:
    """Return the sum of figures."""
    sums: dict[str, Any] = {}
    for one in some:
        for name in NAMES:
            sums[name] = sums.get(name, 0) + getattr(one, name)
    return Figures(**sums)


def part_of(amount: Decimal, whole: Decimal) -> Decimal | None:
    """Return amount / whole, or None where there is no whole."""
    return amount / whole if whole else None
