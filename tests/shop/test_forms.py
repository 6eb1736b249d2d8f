from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError

from shop.forms import CurrentField, DurationField, LengthField, MassField, MoneyField, TemperatureField


class HullForm(forms.Form):
    length_m = LengthField(low=1.0, high=8.0)
    hole_mm = LengthField(bare="mm", to="mm", required=False)
    mass_kg = MassField()
    current_a = CurrentField(required=False)
    air_c = TemperatureField(required=False)
    minutes = DurationField(required=False)
    price = MoneyField(required=False)


def test_text_with_units_goes_in_and_canonical_values_come_out():
    typed = {"length_m": "12' 2", "hole_mm": "1/4 in", "mass_kg": "75 lb", "minutes": "1:15", "price": "1,234.50"}
    form = HullForm(typed)
    assert form.is_valid(), form.errors
    assert form.cleaned_data == {
        "length_m": pytest.approx(146 * 0.0254),
        "hole_mm": 6.35,
        "mass_kg": pytest.approx(34.01942775),
        "current_a": None,
        "air_c": None,
        "minutes": 75,
        "price": Decimal("1234.50"),
    }


def test_what_was_typed_is_shown_again_as_typed_beside_what_is_wrong():
    form = HullForm({"length_m": "twelve feet", "mass_kg": "75 lb"})
    assert form["length_m"].value() == "twelve feet"
    assert form["mass_kg"].value() == "75 lb"
    assert form.errors["length_m"] == ["“twelve feet” is not a length. Accepted: 41 mm, 3.7 m, 1 5/8 in or 12 ft 6 in."]


def test_limits_are_told_in_the_units_of_the_field():
    form = HullForm({"length_m": "9 m", "mass_kg": "30"})
    assert form.errors["length_m"] == ["“9 m” is too much. The most is 8 m."]
    assert HullForm({"length_m": "80 cm"}).errors["length_m"] == ["“80 cm” is too little. The least is 1 m."]


def test_a_stored_value_is_shown_with_its_unit_and_reads_back_as_the_same():
    stored = {"length_m": 3.7, "hole_mm": 6.35, "mass_kg": 34.01942775, "air_c": -4.5, "minutes": 75.0}
    stored |= {"price": Decimal("1234.50"), "current_a": 0.35}
    form = HullForm(initial=stored)
    shown = {name: form[name].value() for name in form.fields}
    assert shown["length_m"] == "3.7 m"
    assert shown["air_c"] == "-4.5 °C"
    again = HullForm(shown, initial=stored)
    assert again.is_valid(), again.errors
    assert again.cleaned_data == stored
    assert again.changed_data == []


def test_the_same_length_in_other_words_counts_as_changed_only_when_the_text_differs():
    assert HullForm({"length_m": "370 cm", "mass_kg": "1"}, initial={"length_m": 3.7}).changed_data[0] == "length_m"


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("650", "650.00"),
        ("$129.50", "129.50"),
        ("129.5 USD", "129.50"),
        ("1,234,567.89", "1234567.89"),
        (".50", "0.50"),
    ],
)
def test_amounts_of_money_as_people_write_them(typed, amount):
    value = MoneyField().clean(typed)
    assert (value, str(value)) == (Decimal(amount), amount)


@pytest.mark.parametrize(
    "typed", ["12,5", "1,23", "abc", "NaN", "Infinity", "1e5", "12.345", "-1", "9" * 30, "$", "1 2", "٣", "--1"]
)
def test_what_is_no_amount_is_refused(typed):
    with pytest.raises(ValidationError, match="Accepted"):
        MoneyField().clean(typed)


def test_a_field_may_take_amounts_below_nothing_such_as_a_correction():
    assert MoneyField(low=None).clean("\u221212.50") == Decimal("-12.50")


def test_a_currency_without_minor_units_takes_whole_amounts_only(settings):
    """ISO 4217: the yen has no minor unit in use, the Bahraini dinar three decimals."""
    settings.CURRENCY = "JPY"
    assert MoneyField().clean("¥1,500") == 1500
    with pytest.raises(ValidationError, match="too fine"):
        MoneyField().clean("1500.50")
    settings.CURRENCY = "BHD"
    assert str(MoneyField().clean("1.5")) == "1.500"
