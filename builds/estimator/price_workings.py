"""How each figure of the price comes about, for whoever opens it."""

from collections.abc import Mapping
from decimal import Decimal

from shop.money import from_minor

from .pricing import Minutes, Price
from .rates import Shop
from .sheet import BuildSheet
from .working import Working

KINDS = ("parts", "labour", "consumables", "fees")
OWNER_FIGURES = ("price.cost", "price.gross_profit", "price.margin", "price.markup")


def workings_of(sheet: BuildSheet, labour: Minutes, price: Price) -> tuple[Working, ...]:
    """Return the working of each figure of the price, from the numbers that made it."""
    shop = sheet.shop
    basis = "each line" if shop.tax_rounding == "line" else "the ticket's total"
    return (
        working(
            "parts",
            "sum of unit price * quantity",
            {f"{line.line}: {line.unit_price} * {line.quantity}": line.amount for line in price.lines if line.sold},
            "sheet",
            "catalogue",
        ),
        working(
            "labour",
            "quoted minutes / 60 * rate",
            {"quoted [min]": labour.quoted_min, "rate per h": shop.labour_rate_per_h},
            "shop_policy",
        ),
        working(
            "discount",
            "fraction * (parts + labour), spread by largest remainder",
            {"fraction": sheet.discount.fraction, "parts": price.parts, "labour": price.labour},
            "sheet",
        ),
        *(tax_working(kind, shop, price, basis) for kind in KINDS),
        working(
            "total",
            "parts + labour + consumables + fees - discount + tax",
            {**{kind: getattr(price, kind) for kind in KINDS}, "discount": price.discount, "tax": price.tax.total},
            "iso_4217",
        ),
        working(
            "deposit",
            "share of parts * parts + share of labour * labour, before discount and tax, at most the total",
            {
                "share of parts": shop.deposit.parts,
                "parts": price.parts,
                "share of labour": shop.deposit.labour,
                "labour": price.labour,
            },
            "shop_policy",
        ),
        *owner_workings(shop, labour, price),
    )


def owner_workings(shop: Shop, labour: Minutes, price: Price) -> tuple[Working, ...]:
    """Return the workings that only the owner sees: cost, gross profit, margin, markup."""
    earned = {"revenue before tax": price.revenue, "cost": price.cost}
    return (
        working(
            "cost",
            "parts cost + consumables cost + mean minutes / 60 * labour cost",
            {
                "parts cost": price.parts_cost,
                "consumables cost": price.consumables_cost,
                "mean [min]": labour.mean_min,
                "labour cost per h": shop.labour_cost_per_h,
                "labour cost": price.labour_cost,
            },
            "shop_policy",
        ),
        working("gross_profit", "revenue before tax - cost", earned),
        working("margin", "(revenue before tax - cost) / revenue before tax", earned),
        working("markup", "(revenue before tax - cost) / cost", earned),
    )


def tax_working(kind: str, shop: Shop, price: Price, basis: str) -> Working:
    less = {"parts": price.discount - price.labour_discount, "labour": price.labour_discount}
    return working(
        f"tax.{kind}",
        f"rate * (charges - discount), rounded half up on {basis}",
        {
            "rate": getattr(shop.tax, kind),
            "charges": getattr(price, kind),
            "discount": less.get(kind, from_minor(0, price.currency)),
        },
        "ssuta_324",
        "shop_policy",
    )


def working(figure: str, formula: str, inputs: Mapping[str, Decimal | float], *sources: str) -> Working:
    shown = {name: str(value) if isinstance(value, Decimal) else value for name, value in inputs.items()}
    return Working(f"price.{figure}", formula, shown, sources)
