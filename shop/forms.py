"""Form fields that take text with a unit and hand back a canonical value; what was typed is shown again as typed."""

import re
from decimal import Decimal

from django import forms
from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError

from shop import units
from shop.money import minor_digits, round_money

LARGEST_AMOUNT = Decimal(1_000_000_000)


class QuantityField(forms.CharField):
    """A quantity of `dimension`: a bare number is in `bare`, the cleaned value is a float in `to`.

    `low` and `high` are limits of the cleaned value, both inclusive.
    """

    dimension: units.Dimension

    def __init__(self, *, bare=None, to=None, low=None, high=None, **kwargs):
        self.to = to or self.dimension.canonical
        self.bare = bare or self.to
        self.low, self.high = low, high
        super().__init__(**{"empty_value": None, **kwargs})

    def to_python(self, value):
        text = super().to_python(value)
        if text is None:
            return None
        try:
            quantity = units.parse(text, self.dimension, self.bare, self.to)
        except units.UnitError as error:
            raise ValidationError(str(error), code="invalid") from None
        if self.low is not None and quantity < self.low:
            raise ValidationError(f"“{text}” is too little. The least is {self._shown(self.low)}.", code="low")
        if self.high is not None and quantity > self.high:
            raise ValidationError(f"“{text}” is too much. The most is {self._shown(self.high)}.", code="high")
        return quantity

    def prepare_value(self, value):
        return value if value is None or isinstance(value, str) else self._shown(value)

    def has_changed(self, initial, data):
        return (self.prepare_value(initial) or "") != (data or "").strip()

    def _shown(self, quantity):
        return f"{quantity:.12g} {units.UNIT_MARKS.get(self.to, self.to)}"


class LengthField(QuantityField):
    dimension = units.LENGTH


class MassField(QuantityField):
    dimension = units.MASS


class CurrentField(QuantityField):
    dimension = units.CURRENT


class TemperatureField(QuantityField):
    dimension = units.TEMPERATURE


class DurationField(QuantityField):
    """Minutes; bare="hour" for a field where people think in hours, to="hour" where the column holds them."""

    dimension = units.DURATION


class MoneyField(forms.CharField):
    """An amount in the shop's currency: 1234.50, 1,234.50 or with the currency's sign or code; a Decimal comes back."""

    AMOUNT = re.compile(r"(?P<sign>-?)(?P<digits>[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?P<decimals>\.[0-9]+)?|-?\.[0-9]+")

    def __init__(self, *, low=Decimal(0), high=LARGEST_AMOUNT, **kwargs):
        self.low, self.high = low, high
        super().__init__(**{"empty_value": None, **kwargs})

    def to_python(self, value):
        text = super().to_python(value)
        if text is None:
            return None
        bare = text.replace("\u2212", "-").replace(settings.CURRENCY, "").strip(" \u00a0\u202f$£€¥")
        if not self.AMOUNT.fullmatch(bare) or len(bare) > units.LONGEST_TEXT:
            raise ValidationError(f"“{text[:60]}” is not an amount. Accepted: {self._example()}.", code="invalid")
        amount = Decimal(bare.replace(",", ""))
        if (self.low is not None and amount < self.low) or (self.high is not None and amount > self.high):
            raise ValidationError(f"“{text}” is out of range. Accepted: {self._range()}.", code="range")
        if round_money(amount, settings.CURRENCY) != amount:
            raise ValidationError(f"“{text}” is too fine. Accepted: {self._example()}.", code="unrounded")
        return round_money(amount, settings.CURRENCY)

    def prepare_value(self, value):
        return f"{value:f}" if isinstance(value, Decimal) else value

    def has_changed(self, initial, data):
        try:
            return initial != self.to_python(data)
        except ValidationError:
            return True

    def _example(self):
        return f"an amount such as {Decimal('129.5'):.{minor_digits(settings.CURRENCY)}f} {settings.CURRENCY}"

    def _range(self):
        low = "any amount" if self.low is None else f"{self.low:,}"
        return low if self.high is None else f"{low} to {self.high:,}"


class OwnSettingsForm(forms.ModelForm):
    """What a person sets for herself."""

    class Meta:
        model = get_user_model()
        fields = ["units", "slash_key"]
