"""The price held to figures from outside: rounding rules of sales tax, markup tables, ISO 4217, exact fractions."""

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.money import minor_digits, round_money, spread
from tests.estimator.electrics import reference_rows
from tests.estimator.priced import part, priced, sheet_of, used

D = Decimal


def half_up(amount: Fraction, digits: int = 2) -> Fraction:
    """Round as the agreement says it: look at the next digit, up where it is above four. Fractions only."""
    return Fraction(floor(amount * 10**digits + Fraction(1, 2)), 10**digits)


# Tax: Streamlined Sales and Use Tax Agreement s.324, tax_rounding_examples.csv and tax_rounding_rules.csv


@pytest.mark.parametrize("row", reference_rows("tax_rounding_examples"), ids=lambda row: row["id"])
def test_tax_is_rounded_on_each_line_or_on_the_ticket_as_the_agreement_allows(row):
    parts = [part(amount.strip()) for amount in row["line_amounts"].split(";")]
    for rounding, expected in (("line", row["tax_rounded_per_line"]), ("ticket", row["tax_rounded_on_invoice"])):
        shop = {"tax": {"parts": row["rate"]}, "tax_rounding": rounding}
        assert priced(sheet_of(parts, shop=shop)).tax.parts == D(expected)


@pytest.mark.parametrize(
    ("third_decimal", "cents"), [("0.104", "0.10"), ("0.105", "0.11"), ("0.1049", "0.10"), ("0.1051", "0.11")]
)
def test_a_third_decimal_above_four_goes_up(third_decimal, cents):
    # SSUTA s.324 (a): carried to the third decimal, rounded up where that is greater than four.
    assert round_money(D(third_decimal)) == D(cents)


@pytest.mark.parametrize("kind", ["parts", "labour", "consumables", "fees"])
def test_each_kind_of_charge_is_taxed_at_its_own_rate_and_no_other(kind):
    sheet = sheet_of([part("10.00")], fees=[{"name": "Fee", "amount": "10.00"}], shop={"tax": {kind: "0.10"}})
    tax = priced(sheet, quoted_min=60, consumables=[used("10.00")]).tax
    expected = {"parts": "1.00", "labour": "9.50", "consumables": "1.00", "fees": "1.00"}[kind]
    assert (getattr(tax, kind), tax.total) == (D(expected), D(expected))


# Markup and margin: markup_examples.csv, markup_vs_margin.csv


def scale_of(markup_pct: str):
    return {"markup_scale": [{"below": None, "factor": str(1 + D(markup_pct) / 100)}]}


@pytest.mark.parametrize("row", reference_rows("markup_examples"), ids=lambda row: row["id"])
def test_a_cost_with_its_markup_makes_the_price_profit_and_margin_of_the_examples(row):
    found = priced(sheet_of([part(None, row["cost"])], shop=scale_of(row["markup_pct"])))
    assert found.parts == D(row["price"])
    assert found.gross_profit == D(row["gross_profit"])
    assert 100 * found.margin == pytest.approx(float(row["margin_pct"]), abs=0.005)
    assert 100 * found.markup == pytest.approx(float(row["markup_pct"]), abs=0.01)


@pytest.mark.parametrize("row", reference_rows("markup_vs_margin"), ids=lambda row: row["markup_pct"])
def test_a_markup_is_not_a_margin(row):
    found = priced(sheet_of([part(None, "100.00")], shop=scale_of(row["markup_pct"])))
    assert 100 * found.margin == pytest.approx(float(row["margin_calc_pct"]), abs=0.005)
    # The published column is in whole percent; 40 % there is cut down to 28, not rounded.
    assert abs(100 * found.margin - float(row["published_margin_pct"])) < 1
    assert 100 * found.markup == pytest.approx(float(row["markup_pct"]))


# Minor units: iso4217_minor_units.csv


@pytest.mark.parametrize("row", reference_rows("iso4217_minor_units"), ids=lambda row: row["currency"])
def test_every_currency_is_rounded_to_its_minor_unit(row):
    digits = int(row["minor_unit_digits"])
    assert minor_digits(row["currency"]) == digits
    found = priced(sheet_of([part("1234.567891")], shop={"currency": row["currency"]}))
    assert -found.parts.as_tuple().exponent == digits
    assert Fraction(found.parts) == half_up(Fraction("1234.567891"), digits)


# The same ticket computed in exact fractions, by the rules as the method states them

amounts = st.decimals(0, 5000, places=2).map(str)
fractions = st.decimals(0, 1, places=4).map(str)
rates = st.decimals(0, D("0.25"), places=4).map(str)


@given(
    prices=st.lists(st.tuples(amounts, amounts, st.integers(1, 9)), max_size=6),
    quarters=st.integers(0, 80),
    mean_min=st.integers(0, 1200),
    fees=st.lists(amounts, max_size=2),
    consumables=st.lists(st.tuples(amounts, amounts), max_size=3),
    discount=fractions,
    tax=st.fixed_dictionaries(dict.fromkeys(("parts", "labour", "consumables", "fees"), rates)),
    rounding=st.sampled_from(["ticket", "line"]),
    deposit=st.fixed_dictionaries({"parts": fractions, "labour": fractions}),
)
def test_a_ticket_in_decimals_is_the_same_ticket_in_exact_fractions(
    prices, quarters, mean_min, fees, consumables, discount, tax, rounding, deposit
):
    sheet = sheet_of(
        [part(price, cost) for price, cost, _ in prices],
        {f"L{i}": {"quantity": quantity} for i, (_, _, quantity) in enumerate(prices, 1)},
        discount={"fraction": discount},
        fees=[{"name": "Fee", "amount": fee} for fee in fees],
        shop={"tax": tax, "tax_rounding": rounding, "deposit": deposit},
    )
    found = priced(sheet, 15.0 * quarters, float(mean_min), [used(price, cost) for price, cost in consumables])

    lines = [Fraction(price) * quantity for price, _, quantity in prices]
    labour = half_up(Fraction(15 * quarters, 60) * 95)
    off = half_up(Fraction(discount) * (sum(lines) + labour))
    shares = largest_remainder(off, [*lines, labour])
    charged = {
        "parts": [line - share for line, share in zip(lines, shares[:-1], strict=True)],
        "labour": [labour - shares[-1]],
        "consumables": [Fraction(price) for price, _ in consumables],
        "fees": [Fraction(fee) for fee in fees],
    }
    taxes = {
        kind: sum((half_up(Fraction(tax[kind]) * one) for one in charges), Fraction(0))
        if rounding == "line"
        else half_up(Fraction(tax[kind]) * sum(charges))
        for kind, charges in charged.items()
    }
    revenue = sum(sum(charges) for charges in charged.values())
    cost = sum(Fraction(cost) * quantity for _, cost, quantity in prices)
    cost += sum(Fraction(cost) for _, cost in consumables) + half_up(Fraction(mean_min, 60) * 38)

    assert {kind: Fraction(getattr(found.tax, kind)) for kind in taxes} == taxes
    assert Fraction(found.total) == revenue + sum(taxes.values())
    assert Fraction(found.revenue) == revenue
    assert Fraction(found.gross_profit) == revenue - cost
    due = half_up(Fraction(deposit["parts"]) * sum(lines) + Fraction(deposit["labour"]) * labour)
    assert Fraction(found.deposit) == min(due, revenue + sum(taxes.values()))
    assert found.margin == (pytest.approx(float((revenue - cost) / revenue)) if revenue else None)


def largest_remainder(total: Fraction, weights: list[Fraction]) -> list[Fraction]:
    """Hare's method in whole cents: floors first, then one cent each to the largest remainders, the first on a tie."""
    if not sum(weights):
        return [total if i == 0 else Fraction(0) for i in range(len(weights))]
    exact = [total * 100 * weight / sum(weights) for weight in weights]
    cents = [floor(share) for share in exact]
    places = sorted(range(len(weights)), key=lambda i: exact[i] - cents[i], reverse=True)
    for i in places[: int(total * 100) - sum(cents)]:
        cents[i] += 1
    return [Fraction(cent, 100) for cent in cents]


@given(st.decimals(0, 10**6, places=2), st.lists(st.decimals(0, 10**5, places=2), min_size=1, max_size=12))
def test_a_discount_is_spread_without_losing_or_gaining_a_cent(total, weights):
    shares = spread(total, weights)
    assert sum(shares) == total
    assert [Fraction(share) for share in shares] == largest_remainder(Fraction(total), list(map(Fraction, weights)))


@given(st.decimals(0, 1, places=3), st.lists(st.decimals(0, 10**4, places=2), min_size=1, max_size=12))
def test_no_line_is_discounted_by_more_than_it_costs(fraction, prices):
    sheet = sheet_of([part(str(price)) for price in prices], discount={"fraction": str(fraction)})
    found = priced(sheet)
    assert all(0 <= line.discount <= line.amount for line in found.lines)
    assert sum(line.discount for line in found.lines) == found.discount
