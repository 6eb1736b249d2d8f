"""What a ticket costs the customer and the shop: parts, labour, consumables, fees, discount, tax, deposit, margin."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Protocol

from shop.money import from_minor, round_money, spread

from .accessory import AccessoryType
from .cautions import CAUTION, Caution
from .consumables import decimal_of
from .fitted import Fitted
from .rates import Shop
from .sheet import BuildSheet, Discount, Fee, Line

SLACK = 1e-9


class Minutes(Protocol):
    """What the price needs of the labour: minutes quoted and minutes expected [min]."""

    @property
    def quoted_min(self) -> float: ...

    @property
    def mean_min(self) -> float: ...


class Charged(Protocol):
    """What the price needs of the sheet: the shop's rates, the discount and the fees."""

    @property
    def shop(self) -> Shop: ...

    @property
    def discount(self) -> Discount: ...

    @property
    def fees(self) -> Sequence[Fee]: ...


class Sold(Protocol):
    """What the price needs of a line: its id, the line as it was written, its type, how many."""

    @property
    def id(self) -> str: ...

    @property
    def line(self) -> Line: ...

    @property
    def kind(self) -> AccessoryType: ...

    @property
    def quantity(self) -> int: ...


class Consumed(Protocol):
    """What the price needs of a consumable: its price and its cost [money]."""

    @property
    def price(self) -> Decimal: ...

    @property
    def cost(self) -> Decimal: ...


@dataclass(frozen=True)
class LinePrice:
    """Price and cost of one line [money]; a part that is not the shop's has no unit price and an amount of 0.

    `amount` is before discount and tax; `discount` is the line's share of the ticket's. `unit_cost` null: not known.
    """

    line: str
    quantity: int
    unit_price: Decimal | None
    amount: Decimal
    unit_cost: Decimal | None
    cost: Decimal
    discount: Decimal
    sold: bool


@dataclass(frozen=True)
class TaxByKind:
    """Tax on each kind of charge [money]."""

    parts: Decimal
    labour: Decimal
    consumables: Decimal
    fees: Decimal

    @property
    def total(self) -> Decimal:
        return self.parts + self.labour + self.consumables + self.fees


@dataclass(frozen=True)
class Price:
    """The price of a ticket [money, minor unit]; `margin` and `markup` are fractions.

    Parts and labour are before the discount. `lines` are in the sheet's order. The costs add to `cost`.
    """

    parts: Decimal
    labour: Decimal
    consumables: Decimal
    fees: Decimal
    discount: Decimal
    tax: TaxByKind
    total: Decimal
    deposit: Decimal
    cost: Decimal
    gross_profit: Decimal
    margin: float | None
    markup: float | None
    currency: str
    revenue: Decimal
    labour_discount: Decimal
    parts_cost: Decimal
    consumables_cost: Decimal
    labour_cost: Decimal
    lines: tuple[LinePrice, ...]


def unit_cost(kind: AccessoryType, line: Line | None = None) -> Decimal | None:
    """Return what one unit costs the shop [money]: the line's figure, else the type's, else None (not known)."""
    return line.unit_cost if line and line.unit_cost is not None else kind.cost


def unit_price(kind: AccessoryType, shop: Shop, line: Line | None = None) -> Decimal | None:
    """Return the price of one unit [money, minor unit], or None where neither a price nor a cost is known.

    The line's price, else the type's, else cost * the scale's factor; rounded half up before anything multiplies it.

    References: the sliding scale is the shop's own rule.
    """
    price = line.unit_price if line and line.unit_price is not None else kind.price
    if price is not None:
        return round_money(price, shop.currency)
    cost = unit_cost(kind, line)
    return None if cost is None else price_by_scale(cost, shop)


def price_by_scale(cost: Decimal, shop: Shop) -> Decimal:
    """Return cost * the scale's factor [money, minor unit]: the price of what has none of its own."""
    return round_money(cost * markup_factor(cost, shop), shop.currency)


def markup_factor(cost: Decimal, shop: Shop) -> Decimal:
    """Return the factor of the sliding scale [1] for a cost: the first step whose bound lies above the cost."""
    return next(step.factor for step in shop.markup_scale if step.below is None or cost < step.below)


def price(sheet: Charged, fitted: Sequence[Sold], labour: Minutes, consumables: Sequence[Consumed]) -> Price:
    """Return the price of the ticket.

    Parameters: the sheet, its lines resolved, labour with `quoted_min` and `mean_min` [min], the consumables.

    amount = unit price * quantity, for parts that the shop supplies
    labour = quoted_min / 60 * labour rate
    discount = fraction * (parts + labour), spread over the part lines and labour by largest remainder
    tax of a kind = rate * (its charges less their discount), rounded on the ticket's total or on each line
    total = parts + labour + consumables + fees - discount + tax
    deposit = share of parts * parts + share of labour * labour, before discount and tax, at most the total
    cost = parts cost + consumables cost + mean_min / 60 * labour cost
    gross profit = total - tax - cost; margin = gross profit / (total - tax); markup = gross profit / cost

    Every amount is rounded once, half up, to the currency's minor unit. Margin is None where there is no revenue,
    markup where there is no cost.

    References: rounding and the choice of ticket or line: Streamlined Sales and Use Tax Agreement s.324; the rest is
    the shop's own rule.
    """
    shop = sheet.shop
    charges = charges_of(sheet, fitted, labour, consumables)
    tax = tax_of(charges, shop)
    revenue, total = charges.revenue, charges.revenue + tax.total
    zero = round_money(Decimal(0), shop.currency)
    parts_cost = sum((line.cost for line in charges.lines), zero)
    consumables_cost = sum((line.cost for line in consumables), zero)
    labour_cost = hours_at(labour.mean_min, shop.labour_cost_per_h, shop.currency)
    cost = parts_cost + consumables_cost + labour_cost
    deposit = shop.deposit.parts * charges.parts + shop.deposit.labour * charges.labour
    return Price(
        parts=charges.parts,
        labour=charges.labour,
        consumables=sum(charges.consumables, zero),
        fees=sum(charges.fees, zero),
        discount=charges.discount,
        tax=tax,
        total=total,
        deposit=min(round_money(deposit, shop.currency), total),
        cost=cost,
        gross_profit=revenue - cost,
        margin=float((revenue - cost) / revenue) if revenue else None,
        markup=float((revenue - cost) / cost) if cost else None,
        currency=shop.currency,
        revenue=revenue,
        labour_discount=charges.labour_discount,
        parts_cost=parts_cost,
        consumables_cost=consumables_cost,
        labour_cost=labour_cost,
        lines=charges.lines,
    )


@dataclass(frozen=True)
class Charges:
    """What the customer is charged before tax [money], line by line."""

    lines: tuple[LinePrice, ...]
    parts: Decimal
    labour: Decimal
    labour_discount: Decimal
    consumables: tuple[Decimal, ...]
    fees: tuple[Decimal, ...]
    discount: Decimal

    @property
    def revenue(self) -> Decimal:
        return self.parts + self.labour + sum(self.consumables) + sum(self.fees) - self.discount


def charges_of(sheet: Charged, fitted: Sequence[Sold], labour: Minutes, consumables: Sequence[Consumed]) -> Charges:
    """Return the charges of a ticket with the discount spread over the part lines and labour."""
    shop = sheet.shop
    lines = [line_price(one, shop) for one in fitted]
    sold = [line for line in lines if line.sold]
    parts = sum((line.amount for line in sold), round_money(Decimal(0), shop.currency))
    labour_amount = hours_at(labour.quoted_min, shop.labour_rate_per_h, shop.currency)
    discount = round_money(sheet.discount.fraction * (parts + labour_amount), shop.currency)
    *of_parts, of_labour = spread(discount, [*(line.amount for line in sold), labour_amount], shop.currency)
    share = {line.line: part for line, part in zip(sold, of_parts, strict=True)}
    return Charges(
        lines=tuple(replace(line, discount=share[line.line]) if line.sold else line for line in lines),
        parts=parts,
        labour=labour_amount,
        labour_discount=of_labour,
        consumables=tuple(line.price for line in consumables),
        fees=tuple(round_money(fee.amount, shop.currency) for fee in sheet.fees),
        discount=discount,
    )


def line_price(one: Sold, shop: Shop) -> LinePrice:
    """Return price and cost of a line before the discount; nothing for what the customer brings or has fitted."""
    zero = round_money(Decimal(0), shop.currency)
    sold = one.line.supplied_by == "shop"
    each = unit_price(one.kind, shop, one.line) if sold else None
    each_cost = unit_cost(one.kind, one.line) if sold else None
    return LinePrice(
        line=one.id,
        quantity=one.quantity,
        unit_price=each,
        amount=zero if each is None else each * one.quantity,
        unit_cost=each_cost,
        cost=zero if each_cost is None else round_money(each_cost * one.quantity, shop.currency),
        discount=zero,
        sold=sold,
    )


def hours_at(minutes: float, rate_per_h: Decimal, currency: str) -> Decimal:
    """Return minutes / 60 * rate [money, minor unit]."""
    return round_money(decimal_of(minutes) * rate_per_h / 60, currency)


def tax_of(charges: Charges, shop: Shop) -> TaxByKind:
    """Return the tax on each kind of charge, after the discount."""
    return TaxByKind(
        parts=tax_on([line.amount - line.discount for line in charges.lines], shop.tax.parts, shop),
        labour=tax_on([charges.labour - charges.labour_discount], shop.tax.labour, shop),
        consumables=tax_on(charges.consumables, shop.tax.consumables, shop),
        fees=tax_on(charges.fees, shop.tax.fees, shop),
    )


def tax_on(amounts: Sequence[Decimal], rate: Decimal, shop: Shop) -> Decimal:
    """Return the tax on amounts of one kind: rounded on their sum, or on each where the shop rounds by line.

    References: Streamlined Sales and Use Tax Agreement s.324: to the third decimal, up where that is above four; the
    seller chooses item or invoice.
    """
    zero = round_money(Decimal(0), shop.currency)
    if shop.tax_rounding == "line":
        return sum((round_money(amount * rate, shop.currency) for amount in amounts), zero)
    return round_money(sum(amounts, zero) * rate, shop.currency)


# What the section says


def cautions_of(sheet: BuildSheet, fitted: Sequence[Fitted], price: Price) -> list[Caution]:
    """Return a caution for parts without a price or a cost, and for a margin below the shop's floor.

    Those about costs are for the owner only: their `figures["staff_only"]` is true.
    """
    found = []
    for one, line in zip(fitted, price.lines, strict=True):
        if line.sold and line.unit_price is None:
            found.append(no_price(one))
        elif line.sold and line.unit_cost is None:
            found.append(no_cost(one))
    floor = sheet.shop.margin_floor
    if price.margin is not None and price.margin < floor - SLACK * abs(floor):
        found.append(low_margin(price, floor))
    return found


def no_price(one: Fitted) -> Caution:
    return Caution(
        code="price_missing",
        severity=CAUTION,
        sentence=f"{one.kind.name} has neither a price nor a cost. It counts as nothing until a price is typed.",
        figures={"quantity": one.quantity},
        source="catalogue",
        mends=({"do": "set_price", "line": one.id},),
        line=one.id,
    )


def no_cost(one: Fitted) -> Caution:
    return Caution(
        code="cost_missing",
        severity=CAUTION,
        sentence=f"{one.kind.name} has no cost. The margin counts it as free.",
        figures={"quantity": one.quantity, "staff_only": True},
        source="catalogue",
        mends=({"do": "set_cost", "line": one.id},),
        line=one.id,
    )


def low_margin(price: Price, floor: float) -> Caution:
    """Return the caution for a low margin; what would mend it is the revenue that reaches the floor."""
    assert price.margin is not None
    short = price.cost / (1 - decimal_of(floor)) - price.revenue if floor < 1 else None
    mends = () if short is None else ({"do": "raise_price", "amount": str(round_up(short, price.currency))},)
    return Caution(
        code="margin_low",
        severity=CAUTION,
        sentence=f"The margin is {100 * price.margin:.1f} %, below the shop's floor of {100 * floor:.1f} %.",
        figures={"margin": price.margin, "floor": floor, "staff_only": True},
        source="shop_policy",
        mends=mends,
    )


def round_up(amount: Decimal, currency: str) -> Decimal:
    """Return the least whole number of minor units that is at least the amount [money]."""
    rounded = round_money(amount, currency)
    return rounded if rounded >= amount else rounded + from_minor(1, currency)
