"""Money as Decimal, the minor units of a currency, and the one rounding rule: half up, once, at the minor unit."""

from decimal import ROUND_HALF_UP, Decimal

# ISO 4217 minor-unit digits; every currency that is not named here has two.
MINOR_DIGITS = {
    **dict.fromkeys(("JPY", "KRW", "ISK", "CLP", "VND", "PYG", "XOF", "XAF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}


def minor_digits(currency: str) -> int:
    """Return the digits after the decimal point of a currency [count, 0 to 3] (ISO 4217)."""
    return MINOR_DIGITS.get(currency, 2)


def round_money(amount: Decimal, currency: str = "USD") -> Decimal:
    """Return the amount rounded half up to the currency's minor unit, with all its minor digits."""
    return amount.quantize(Decimal(1).scaleb(-minor_digits(currency)), rounding=ROUND_HALF_UP)


def to_minor(amount: Decimal, currency: str = "USD") -> int:
    """Return the amount in whole minor units [count], rounded half up."""
    return int(round_money(amount, currency).scaleb(minor_digits(currency)))


def from_minor(minor: int, currency: str = "USD") -> Decimal:
    """Return whole minor units as an amount with all its minor digits."""
    return Decimal(minor).scaleb(-minor_digits(currency))


def spread(total: Decimal, weights: list[Decimal], currency: str = "USD") -> list[Decimal]:
    """Return shares of a total in proportion to weights, in whole minor units that add up to the rounded total.

    Largest remainder: each share is cut down to the minor unit, and the units left over go to the largest
    remainders, the earlier share first where two are equal. No weight at all: the first share takes everything.
    """
    minor_total = to_minor(total, currency)
    weight_sum = sum(weights, Decimal(0))
    if not weights:
        return []
    if weight_sum == 0:
        return [from_minor(minor_total if i == 0 else 0, currency) for i in range(len(weights))]
    exact = [Decimal(minor_total) * weight / weight_sum for weight in weights]
    floors = [int(share) for share in exact]
    by_remainder = sorted(range(len(weights)), key=lambda i: (floors[i] - exact[i], i))
    for i in by_remainder[: minor_total - sum(floors)]:
        floors[i] += 1
    return [from_minor(share, currency) for share in floors]
