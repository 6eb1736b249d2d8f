"""Rules of the price: what is charged, what is discounted, what is taxed, what is earned."""

from decimal import Decimal

import pytest

from builds.estimator.fitted import fit_lines
from builds.estimator.price_workings import workings_of
from builds.estimator.pricing import cautions_of, markup_factor, unit_price
from builds.estimator.rates import Shop
from tests.estimator.priced import Minutes, part, priced, sheet_of

D = Decimal


def test_a_part_costs_its_price_times_its_quantity():
    found = priced(sheet_of([part("129.50", "70.00")], {"L1": {"quantity": 3}}))
    assert (found.parts, found.lines[0].unit_price, found.lines[0].amount) == (D("388.50"), D("129.50"), D("388.50"))
    assert found.cost == D("210.00")


def test_a_price_typed_on_the_line_goes_before_the_type_s_own():
    sheet = sheet_of([part("129.50", "70.00")], {"L1": {"unit_price": "99.00", "unit_cost": "50.00"}})
    found = priced(sheet)
    assert (found.parts, found.cost) == (D("99.00"), D("50.00"))


def test_a_part_without_a_price_is_priced_from_its_cost_on_the_sliding_scale():
    assert priced(sheet_of([part(None, "40.00")])).parts == D("68.00")  # below 100: 1.7


@pytest.mark.parametrize(
    ("cost", "factor"),
    [("0", "2.5"), ("4.99", "2.5"), ("5", "2.0"), ("24.99", "2.0"), ("25", "1.7"), ("100", "1.4"), ("500", "1.2")],
)
def test_a_cost_on_a_bound_of_the_scale_takes_the_step_above_it(cost, factor):
    assert markup_factor(D(cost), Shop()) == D(factor)


def test_the_line_s_own_cost_is_what_the_scale_marks_up():
    assert priced(sheet_of([part(None, "40.00")], {"L1": {"unit_cost": "4.00"}})).parts == D("10.00")


def test_a_unit_price_is_rounded_before_it_multiplies():
    sheet = sheet_of([part(None, "4.01")], {"L1": {"quantity": 10}})  # 4.01 * 2.5 = 10.025 -> 10.03 each
    assert priced(sheet).parts == D("100.30")


def test_the_cost_of_a_line_is_rounded_once_not_by_unit():
    sheet = sheet_of([part("1.00", "0.335")], {"L1": {"quantity": 3}})  # 1.005 -> 1.01, not 3 * 0.34
    assert priced(sheet).cost == D("1.01")


def test_an_offer_is_priced_without_a_line():
    sheet = sheet_of([part(None, "40.00")])
    assert unit_price(sheet.accessories["L1_type"], sheet.shop) == D("68.00")


@pytest.mark.parametrize("supplied_by", ["customer", "already_fitted"])
def test_a_part_that_is_not_the_shop_s_has_no_price_and_no_cost(supplied_by):
    found = priced(sheet_of([part("50.00", "20.00")], {"L1": {"supplied_by": supplied_by}}))
    assert (found.parts, found.cost, found.lines[0].unit_price, found.margin) == (D("0.00"), D("0.00"), None, None)


def test_labour_is_charged_on_the_minutes_quoted_and_costs_the_minutes_expected():
    found = priced(sheet_of([]), quoted_min=105, mean_min=92.5)
    assert found.labour == D("166.25")  # 1.75 h at 95.00
    assert found.labour_cost == found.cost == D("58.58")  # 92.5 / 60 * 38.00 = 58.583


def test_fees_are_added_as_they_are_and_never_discounted():
    fees = [{"name": "Expedite", "amount": "40.00"}, {"name": "Storage", "amount": "12.50"}]
    found = priced(sheet_of([], fees=fees, discount={"fraction": "0.50"}))
    assert (found.fees, found.discount, found.total) == (D("52.50"), D("0.00"), D("52.50"))


def test_the_discount_comes_off_parts_and_labour_before_tax():
    tax = {"tax": {"parts": "0.10", "labour": "0.10"}}
    sheet = sheet_of([part("100.00", "50.00")], discount={"fraction": "0.10"}, shop=tax)
    found = priced(sheet, quoted_min=60)
    assert (found.discount, found.labour_discount) == (D("19.50"), D("9.50"))
    assert (found.tax.parts, found.tax.labour) == (D("9.00"), D("8.55"))
    assert found.total == D("100.00") + D("95.00") - D("19.50") + D("17.55")


def test_the_discount_is_spread_to_the_cent_by_largest_remainder():
    sheet = sheet_of([part("0.10"), part("0.10"), part("0.10")], discount={"fraction": "0.10"})
    found = priced(sheet)
    assert found.discount == D("0.03")
    assert [line.discount for line in found.lines] == [D("0.01")] * 3
    third = priced(sheet_of([part("1.00"), part("1.00"), part("1.00")], discount={"fraction": "0.333333"}))
    assert [line.discount for line in third.lines] == [D("0.34"), D("0.33"), D("0.33")]


def test_a_customer_s_own_part_takes_no_share_of_the_discount():
    sheet = sheet_of([part("10.00"), part("10.00")], {"L1": {"supplied_by": "customer"}}, discount={"fraction": "0.10"})
    assert [line.discount for line in priced(sheet).lines] == [D("0.00"), D("1.00")]


def test_the_deposit_is_on_parts_and_labour_before_discount_and_tax():
    rules = {"deposit": {"parts": "0.50", "labour": "0.20"}, "tax": {"parts": "0.10"}}
    found = priced(sheet_of([part("100.00")], discount={"fraction": "0.10"}, shop=rules), quoted_min=60)
    assert found.deposit == D("69.00")  # 50.00 + 19.00


def test_a_deposit_never_exceeds_what_is_to_be_paid():
    found = priced(sheet_of([part("100.00")], discount={"fraction": "0.90"}))
    assert (found.total, found.deposit) == (D("10.00"), D("10.00"))


def test_margin_is_the_share_of_revenue_and_markup_the_share_of_cost():
    tax = {"tax": {"parts": "0.25"}}  # tax is no revenue
    found = priced(sheet_of([part("100.00", "60.00")], shop=tax))
    assert (found.gross_profit, found.margin, found.markup) == (D("40.00"), 0.4, pytest.approx(2 / 3))


def test_without_revenue_there_is_no_margin_and_without_cost_no_markup():
    found = priced(sheet_of([]))
    assert (found.margin, found.markup, found.total) == (None, None, D("0.00"))


def test_a_margin_below_the_floor_is_told_to_staff_only_with_what_would_mend_it():
    sheet = sheet_of([part("100.00", "70.00")])
    found = priced(sheet)
    (caution,) = cautions_of(sheet, fit_lines(sheet), found)
    assert (caution.code, caution.severity, caution.figures["staff_only"]) == ("margin_low", "caution", True)
    assert caution.mends == ({"do": "raise_price", "amount": "7.70"},)  # 70 / 0.65 = 107.692...


def test_a_margin_that_meets_the_floor_is_not_below_it():
    sheet = sheet_of([part("100.00", "65.00")])
    assert cautions_of(sheet, fit_lines(sheet), priced(sheet)) == []


def test_a_part_with_neither_price_nor_cost_is_named():
    sheet = sheet_of([part(None, None)])
    found = priced(sheet)
    (caution,) = cautions_of(sheet, fit_lines(sheet), found)
    assert (caution.code, caution.line, found.total, found.lines[0].unit_price) == (
        "price_missing",
        "L1",
        D("0.00"),
        None,
    )


def test_a_part_without_a_cost_is_told_to_staff_since_the_margin_counts_it_as_free():
    sheet = sheet_of([part("10.00", None)])
    (caution,) = cautions_of(sheet, fit_lines(sheet), priced(sheet))
    assert (caution.code, caution.figures["staff_only"]) == ("cost_missing", True)


def test_a_currency_without_minor_units_has_whole_amounts():
    sheet = sheet_of([part("1200.4")], {"L1": {"quantity": 2}}, shop={"currency": "JPY", "tax": {"parts": "0.10"}})
    found = priced(sheet)
    assert (str(found.parts), str(found.tax.parts), str(found.total)) == ("2400", "240", "2640")


def test_every_figure_of_the_price_has_its_working_and_the_workings_agree_with_it():
    sheet = sheet_of([part("100.00", "60.00")], discount={"fraction": "0.10"}, shop={"tax": {"parts": "0.0825"}})
    found = priced(sheet, quoted_min=60, mean_min=50)
    workings = {working.figure: working for working in workings_of(sheet, Minutes(60, 50), found)}
    assert workings["price.labour"].inputs == {"quoted [min]": 60, "rate per h": "95.00"}
    assert workings["price.tax.parts"].inputs == {"rate": "0.0825", "charges": "100.00", "discount": "10.00"}
    inputs = {name: D(value) for name, value in workings["price.total"].inputs.items()}
    assert sum(inputs.values()) - 2 * inputs["discount"] == found.total
