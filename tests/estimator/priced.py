"""Small sheets for the tests of money: parts with a price and a cost, minutes given, consumables given."""

from dataclasses import dataclass
from decimal import Decimal

from builds.estimator.consumables import ConsumableLine
from builds.estimator.document import read_sheet
from builds.estimator.fitted import fit_lines
from builds.estimator.pricing import price

HULL = {
    "name": "Test hull",
    "craft": "sit_on_top_kayak",
    "material": "polyethylene",
    "length_m": 3.7,
    "beam_m": 0.84,
    "depth_m": 0.36,
    "mass_kg": 34,
    "waterplane_exponent": 2.6,
    "section_exponent": 4.0,
}


@dataclass(frozen=True)
class Minutes:
    quoted_min: float = 0.0
    mean_min: float = 0.0


def part(price=None, cost=None, **changes):
    """An accessory type that takes no time, at a price and a cost."""
    return {
        "name": "Part",
        "category": "test",
        "craft": [],
        "mass_kg": 0,
        "mountings": ["drop_in"],
        "labour": {"low_min": 0, "likely_min": 0, "high_min": 0},
        "price": price,
        "cost": cost,
        **changes,
    }


def sheet_of(parts, lines=None, **changes):
    """A sheet with one line of each part in order, L1, L2 and so on; `lines` changes them by id."""
    accessories = {f"part_{i}": {**record, "id": f"part_{i}"} for i, record in enumerate(parts, 1)}
    document = {
        "format": "hullbench-build-sheet/1",
        "hull": HULL,
        "lines": [
            {"id": f"L{i}", "accessory": f"part_{i}", **(lines or {}).get(f"L{i}", {})}
            for i in range(1, len(parts) + 1)
        ],
        "accessories": accessories,
        **changes,
    }
    return read_sheet(document)


def priced(sheet, quoted_min=0.0, mean_min=0.0, consumables=()):
    return price(sheet, fit_lines(sheet), Minutes(quoted_min, mean_min), consumables)


def used(amount, cost="0.00", item="item"):
    """A consumable that comes to this price and cost."""
    return ConsumableLine(item, 1.0, "each", Decimal(amount), Decimal(cost), item, Decimal(amount), Decimal(cost), True)
