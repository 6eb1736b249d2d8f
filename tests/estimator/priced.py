"""Small sheets for the tests of money: parts with a price and a cost, minutes given, consumables given."""

from dataclasses import dataclass
from decimal import Decimal

from builds.estimator.consumables import ConsumableLine
from builds.estimator.fitted import fit_lines
from builds.estimator.pricing import price
from tests.estimator.electrics import kind
from tests.estimator.electrics import sheet_of as sheet_by_id


@dataclass(frozen=True)
class Minutes:
    quoted_min: float = 0.0
    mean_min: float = 0.0


def part(price=None, cost=None, **changes):
    """An accessory type that takes no time, at a price and a cost."""
    return kind(price=price, cost=cost, **changes)


def sheet_of(parts, lines=None, **changes):
    """A sheet with one line of each part in order, L1, L2 and so on; `lines` changes them by id."""
    return sheet_by_id({f"L{i}": record for i, record in enumerate(parts, 1)}, lines, **changes)


def priced(sheet, quoted_min=0.0, mean_min=0.0, consumables=()):
    return price(sheet, fit_lines(sheet), Minutes(quoted_min, mean_min), consumables)


def used(amount, cost="0.00", item="item"):
    """A consumable that comes to this price and cost."""
    return ConsumableLine(item, 1.0, "each", Decimal(amount), Decimal(cost), item, Decimal(amount), Decimal(cost), True)
