"""A kept estimate at other rates: minutes and consumables as they were, price and quoted minutes anew."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from .accessory import AccessoryType
from .labour import percentile, quoted
from .pricing import Price, price
from .rates import Shop
from .sheet import Discount, Fee, Line
from .specs import ListOf, Record, read

LINES, FEES, DISCOUNT = ListOf(item=Record(cls=Line)), ListOf(item=Record(cls=Fee)), Record(cls=Discount)


@dataclass(frozen=True)
class Part:
    """A line with its type, as the price needs it."""

    line: Line
    kind: AccessoryType

    @property
    def id(self) -> str:
        return self.line.id

    @property
    def quantity(self) -> int:
        return self.line.quantity


@dataclass(frozen=True)
class KeptMinutes:
    """The labour of a kept estimate: mean, sd and quoted minutes [min], and whether there is any work."""

    mean_min: float
    sd_min: float
    quoted_min: float
    is_work: bool


@dataclass(frozen=True)
class KeptConsumable:
    """Price and cost of a consumable as they were [money]."""

    price: Decimal
    cost: Decimal


@dataclass(frozen=True)
class Kept:
    """What a price follows from, of a sheet and its estimate that were kept."""

    shop: Shop
    discount: Discount
    fees: tuple[Fee, ...]
    parts: tuple[Part, ...]
    minutes: KeptMinutes
    consumables: tuple[KeptConsumable, ...]


def kept_of(
    sheet: Mapping[str, Any], estimate: Mapping[str, Any], kinds: Mapping[str, AccessoryType], shop: Shop
) -> Kept:
    """Return what the price needs of a kept sheet (without its catalogue) and of its estimate's document."""
    labour = estimate["labour"]
    return Kept(
        shop=shop,
        discount=read(DISCOUNT, sheet.get("discount", {}), "discount"),
        fees=read(FEES, sheet.get("fees", []), "fees"),
        parts=tuple(Part(line, kinds[line.accessory]) for line in read(LINES, sheet.get("lines", []), "lines")),
        minutes=KeptMinutes(
            mean_min=labour["mean_min"],
            sd_min=labour["sd_min"],
            quoted_min=labour["quoted_min"],
            is_work=any(line["high_min"] > 0 for line in labour["lines"]),
        ),
        consumables=tuple(
            KeptConsumable(Decimal(row["price"]), Decimal(row["cost"])) for row in estimate["consumables"]
        ),
    )


def repriced(kept: Kept, shop: Shop, *, scale_all: bool = False) -> tuple[Price, float]:
    """Return the price of a kept estimate under other rates, and the minutes then quoted [min].

    Mean and sd of the minutes, quantities, costs and the prices of consumables stay. The percentile, the minimum
    charge and the billing step give the quoted minutes anew; rates, tax, deposit and mark-up scale the price. The
    scale prices what has no price of its own; with `scale_all` every type of known cost, a price typed on a line
    excepted. Under the same rates this is the kept price to the minor unit.
    """
    minutes = kept.minutes
    charged = quoted(percentile(minutes.mean_min, minutes.sd_min, shop.labour_percentile), minutes.is_work, shop)
    parts = tuple(unpriced(part) for part in kept.parts) if scale_all else kept.parts
    priced = price(replace(kept, shop=shop), parts, replace(minutes, quoted_min=charged), kept.consumables)
    return priced, charged


def unpriced(part: Part) -> Part:
    """Return a part whose type is priced by the scale, where its cost is known."""
    return part if part.kind.cost is None else Part(part.line, replace(part.kind, price=None))
