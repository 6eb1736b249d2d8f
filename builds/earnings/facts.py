"""The facts of one ticket: what was quoted, what was agreed, what was worked and used."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

ZERO = Decimal(0)
NO_STEP = ""
"""The phase of minutes that the estimate gives to no step."""


def exact(number: Any) -> Fraction:
    """Return a number as it is written, without a float's rounding: 0.1 is one tenth."""
    if isinstance(number, Fraction):
        return number
    return Fraction(repr(number) if isinstance(number, float) else number)


@dataclass(frozen=True)
class PlannedLine:
    """A line as it was estimated, or an operation (no accessory type). `phases`: mean minutes of each phase [min].

    Amounts and costs are of the whole line [money]; `unit_price` and `unit_cost` are 0 for what the shop does not sell.
    """

    key: str
    accessory: str
    bundle: str = ""
    category: str = ""
    quantity: int = 1
    unit_price: Decimal = ZERO
    amount: Decimal = ZERO
    discount: Decimal = ZERO
    unit_cost: Decimal = ZERO
    cost: Decimal = ZERO
    phases: Mapping[str, Fraction] = field(default_factory=dict)

    @property
    def minutes(self) -> Fraction:
        return sum(self.phases.values(), Fraction(0))


@dataclass(frozen=True)
class Plan:
    """One kept estimate: revenue before tax and cost by kind [money], minutes [min], and the rates it was made with."""

    lines: tuple[PlannedLine, ...]
    parts: Decimal
    labour: Decimal
    consumables: Decimal
    fees: Decimal
    discount: Decimal
    labour_discount: Decimal
    parts_cost: Decimal
    consumables_cost: Decimal
    labour_cost: Decimal
    quoted_min: Fraction
    labour_rate_per_h: Decimal
    labour_cost_per_h: Decimal
    currency: str = "USD"

    @property
    def revenue(self) -> Decimal:
        return self.parts + self.labour + self.consumables + self.fees - self.discount

    @property
    def cost(self) -> Decimal:
        return self.parts_cost + self.consumables_cost + self.labour_cost

    @property
    def minutes(self) -> Fraction:
        return sum((line.minutes for line in self.lines), Fraction(0))

    @property
    def by_phase(self) -> dict[str, Fraction]:
        """The mean minutes of each phase, over all lines [min]."""
        found: dict[str, Fraction] = {}
        for line in self.lines:
            for phase, minutes in line.phases.items():
                found[phase] = found.get(phase, Fraction(0)) + minutes
        return found


@dataclass(frozen=True)
class Worked:
    """Minutes that one tech worked in one phase, for a line or an operation, and what an hour cost on that day.

    `come_back`: worked after the hand-over, on what came back.
    """

    line: str
    accessory: str
    phase: str
    minutes: Fraction
    tech: str
    cost_per_h: Decimal
    come_back: bool = False

    @property
    def cost(self) -> Fraction:
        """What the minutes cost, unrounded [money]."""
        return self.minutes / 60 * exact(self.cost_per_h)


@dataclass(frozen=True)
class Used:
    """Parts that were used for a line, and what one of them cost."""

    line: str
    accessory: str
    quantity: Fraction
    unit_cost: Decimal | Fraction
    come_back: bool = False

    @property
    def cost(self) -> Fraction:
        return self.quantity * exact(self.unit_cost)


@dataclass(frozen=True)
class Facts:
    """Everything that the margin of a ticket follows from. A line without `used` cost what was estimated."""

    quoted: Plan
    agreed: Plan
    worked: tuple[Worked, ...] = ()
    used: tuple[Used, ...] = ()
    came_back: bool = False

    @property
    def at_the_bench(self) -> list[Worked]:
        return [one for one in self.worked if not one.come_back]

    @property
    def on_come_backs(self) -> list[Worked]:
        return [one for one in self.worked if one.come_back]
