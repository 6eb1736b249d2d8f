"""Rates and rules: dated, with the defaults that the build sheet names, and fixed once a quote used them."""

import datetime
import json
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from catalog import actions, exchange, models, rules
from catalog.records import Unusable
from shop.models import JournalEntry
from tests.catalog.factories import ShopRatesFactory

TODAY = datetime.date(2026, 3, 31)


def test_the_shipped_rates_are_the_defaults_of_the_build_sheet():
    # The figures are those of the build sheet's own page; the estimator has them a second time, for a bare sheet.
    from builds.estimator.rates import Shop
    from builds.estimator.specs import Record, read

    shipped = json.loads((exchange.CATALOGUE / "rates.json").read_text())
    assert read(Record(cls=Shop), shipped, "shop") == Shop()
    assert models.ShopRates().record() == shipped


def test_rates_come_back_from_the_database_as_they_were(db):
    record = exchange.first_rates()
    kept = actions.save_record(None, models.ShopRates, record, TODAY)
    assert models.ShopRates.objects.get(pk=kept.pk).ledger_record() == record
    assert kept.address_lines[0] == "Unit 0, Slipway Lane"


def test_rates_that_a_quote_was_made_with_stay_as_they_are(db, owner):
    rates = ShopRatesFactory(holds_from=TODAY, first_quoted_on=TODAY)
    record = rates.ledger_record() | {"billing_step_min": 5}
    with pytest.raises(ValidationError, match="Add new ones with a later date"):
        actions.save_record(owner, models.ShopRates, record, TODAY)
    with pytest.raises(ValidationError, match="Add new ones with a later date"):
        actions.remove_rates(owner, rates)
    later = actions.save_record(owner, models.ShopRates, record | {"holds_from": "2026-05-01"}, TODAY)
    assert [kept.billing_step_min for kept in models.ShopRates.objects.all()] == [5, 15]
    assert JournalEntry.objects.get().subject_name == str(later)


def test_unused_rates_can_be_removed_but_not_the_last_ones(db, owner):
    first, second = ShopRatesFactory(), ShopRatesFactory()
    actions.remove_rates(owner, first)
    with pytest.raises(ValidationError, match="the only ones"):
        actions.remove_rates(owner, second)
    assert JournalEntry.objects.get().before["holds_from"] == first.holds_from.isoformat()


@pytest.mark.parametrize(
    ("key", "value", "sentence"),
    [
        ("labour_rate_per_h", "-1.00", "An hour does not cost less than nothing."),
        ("labour_percentile", 1, "The figure lies between 0.01 and 0.99."),
        ("insulation_c", 70, "The figure is one of 60, 75, 80, 90, 105, 125, 200 °C."),
        ("phase_setup_min", {"check": 4}, "One value is needed for each of check, mark"),
        ("factors", {"no_hand_reach": -1, "laminate": 1, "old_hull": 1, "salt_corroded": 1}, "no_hand_reach: between"),
        ("tax", {"parts": 0.06, "labour": "0", "consumables": "0", "fees": "0"}, "parts: a number in quotes"),
        ("tax", {"parts": "NaN", "labour": "0", "consumables": "0", "fees": "0"}, "parts: a finite number is needed."),
        ("tax", {"parts": "6", "labour": "0", "consumables": "0", "fees": "0"}, "parts: between 0 and 1."),
        ("capacity_caution", 0.9, "The caution comes no later than the strong caution."),
        ("working_days", [], "At least one day is needed; days are 1 (Monday) to 7 (Sunday)."),
        ("working_days", [5, 1], "Days stand in their order, each once."),
        ("quote_rule", "never", "“never” is not known here. Known are not_to_exceed, tolerance."),
        ("quote_tolerance", 0.51, "The figure lies between 0 and 0.5."),
        ("signature_link_days", 91, "The figure lies between 1 and 90 days."),
        ("signature_link_days", 0, "The figure lies between 1 and 90 days."),
        ("mail_from", "the counter", "Enter a valid email address."),
        ("tax_rounding", "never", "“never” is not known here. Known are ticket, line."),
        ("holds_from", "31.3.2026", "a date is needed, such as 2026-03-31."),
        ("markup_scale", [{"below": "5", "factor": "2"}], "The last step of a mark-up scale is for everything above"),
    ],
)
def test_rules_that_make_no_sense_are_refused_with_a_sentence(db, key, value, sentence):
    with pytest.raises(Unusable) as refused:
        actions.save_record(None, models.ShopRates, exchange.first_rates() | {key: value}, TODAY)
    assert sentence in str(refused.value)


@pytest.mark.parametrize(
    ("scale", "sentence"),
    [
        ([], "list of steps"),
        ([{"below": None}], "“below” and “factor”, nothing else"),
        ([{"below": None, "factor": 2.0}, {"below": None, "factor": "x"}], "numbers in quotes"),
        ([{"below": "25", "factor": "2"}, {"below": "5", "factor": "2"}, {"below": None, "factor": "1"}], "rise"),
        ([{"below": None, "factor": "0.9"}], "at least 1"),
        ([{"below": None, "factor": "Infinity"}], "finite"),
    ],
)
def test_a_markup_scale_rises_and_never_sells_below_cost(scale, sentence):
    assert sentence in rules.markup_problem(scale)


def test_a_quote_that_is_not_exceeded_comes_to_its_total_at_most():
    total = Decimal("3369.89")
    assert rules.most_of(total, "not_to_exceed", 0.10, "USD") == total


@pytest.mark.parametrize(
    ("total", "tolerance", "currency", "most"),
    [
        # By hand: 3369.89 + 336.989 = 3706.879, half up.
        ("3369.89", 0.10, "USD", "3706.88"),
        ("3369.89", Decimal("0.10"), "USD", "3706.88"),
        # 0.05 x 1.10 = 0.055: the half goes up.
        ("0.05", 0.10, "USD", "0.06"),
        ("3369.89", 0, "USD", "3369.89"),
        # The yen has no minor unit (ISO 4217).
        ("1005", 0.10, "JPY", "1106"),
    ],
)
def test_a_tolerance_is_added_to_the_total_and_rounded_half_up(total, tolerance, currency, most):
    assert str(rules.most_of(Decimal(total), "tolerance", tolerance, currency)) == most


def test_what_a_quote_promises_stays_with_the_shop_and_out_of_the_estimate(db):
    own = {"quote_rule", "quote_tolerance", "signature_link_days", "mail_from"}
    rates = ShopRatesFactory()
    assert own <= set(rates.ledger_record())
    assert own.isdisjoint(rates.record())
    assert (rates.quote_rule, rates.quote_tolerance, rates.signature_link_days) == ("not_to_exceed", 0.10, 14)


def test_money_of_the_rates_has_all_its_minor_digits(db):
    rates = ShopRatesFactory(labour_rate_per_h=Decimal("95.5"))
    rates.refresh_from_db()
    assert rates.record()["labour_rate_per_h"] == "95.50"
