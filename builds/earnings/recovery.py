"""Labour recovery, in the three ways in which shops speak of it. Common practice, no source."""

from dataclasses import dataclass
from decimal import Decimal

from .figures import Figures, part_of


@dataclass(frozen=True)
class Recovery:
    """One way to say it: name, formula in words, the same with its numbers' names, and the figure or None."""

    key: str
    name: str
    formula: str
    value: Decimal | None
    is_share: bool = True


def hours_recovered(some: Figures) -> Decimal | None:
    """Return minutes quoted / minutes worked, come-backs among the worked [1]. Common practice, no source."""
    return part_of(some.quoted_min, some.paid_min)


def cost_recovered(some: Figures) -> Decimal | None:
    """Return labour revenue after discount / labour cost, come-back minutes in it [1]. Common practice, no source."""
    return part_of(some.labour_sold, some.labour_cost + some.come_back_labour_cost)


def rate_earned(some: Figures) -> Decimal | None:
    """Return labour revenue after discount / hours worked [money per h]. Common practice, no source."""
    return part_of(some.labour_sold * 60, some.paid_min)


def rate_posted(some: Figures) -> Decimal | None:
    """Return labour revenue before discount / hours quoted [money per h]: the mean of the rates that were charged."""
    return part_of((some.labour + some.operations) * 60, some.quoted_min)


def recoveries(some: Figures) -> list[Recovery]:
    """Return the three definitions with their figures, and the posted rate that the third is read against."""
    return [
        Recovery(
            "hours",
            "Hours recovered",
            "minutes quoted ÷ minutes worked, come-backs included",
            hours_recovered(some),
        ),
        Recovery(
            "cost",
            "Labour cost recovered",
            "labour revenue after discount ÷ cost of the minutes worked, come-backs included",
            cost_recovered(some),
        ),
        Recovery(
            "rate",
            "Effective rate",
            "labour revenue after discount ÷ hours worked, come-backs included",
            rate_earned(some),
            is_share=False,
        ),
        Recovery(
            "posted",
            "Posted rate",
            "labour revenue before discount ÷ hours quoted",
            rate_posted(some),
            is_share=False,
        ),
    ]
