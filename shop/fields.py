"""Model fields. Money is a Decimal in Python and whole minor units in the column; minutes and counts likewise.

A decimal column on SQLite is a float, and sums of floats drift; integers do not.
"""

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models

from shop.money import from_minor, round_money, to_minor


class MoneyField(models.Field):
    """An amount in the shop's currency; amounts finer than the minor unit are refused, since rounding is elsewhere."""

    description = "Money"
    default_error_messages = {
        "invalid": "“%(value)s” is not an amount of money.",
        "unrounded": "“%(value)s” has more decimals than %(currency)s has.",
    }

    def get_internal_type(self):
        return "BigIntegerField"

    def to_python(self, value):
        if value is None:
            return None
        if isinstance(value, float):
            raise self._invalid(value)
        try:
            amount = Decimal(value)
            rounded = round_money(amount, settings.CURRENCY)
        except (InvalidOperation, TypeError, ValueError):
            raise self._invalid(value) from None
        if rounded != amount:
            raise ValidationError(
                self.error_messages["unrounded"],
                code="unrounded",
                params={"value": value, "currency": settings.CURRENCY},
            )
        return rounded

    def from_db_value(self, value, expression, connection):
        # An average comes back with a fraction of a minor unit.
        return None if value is None else from_minor(Decimal(str(value)), settings.CURRENCY)

    def get_prep_value(self, value):
        value = super().get_prep_value(value)
        return None if value is None else to_minor(self.to_python(value), settings.CURRENCY)

    def value_to_string(self, obj):
        value = self.value_from_object(obj)
        return None if value is None else str(value)

    def formfield(self, **kwargs):
        from shop import forms

        return super().formfield(**{"form_class": forms.MoneyField, **kwargs})

    def _invalid(self, value):
        return ValidationError(self.error_messages["invalid"], code="invalid", params={"value": value})


class MinutesField(models.Field):
    """Minutes to the hundredth: a Decimal in Python, whole hundredths in the column, so that sums are exact."""

    description = "Minutes"
    HUNDREDTH = Decimal("0.01")

    def get_internal_type(self):
        return "BigIntegerField"

    def to_python(self, value):
        return None if value is None else Decimal(str(value)).quantize(self.HUNDREDTH, ROUND_HALF_UP)

    def from_db_value(self, value, expression, connection):
        return None if value is None else Decimal(str(value)).scaleb(-2)

    def get_prep_value(self, value):
        value = super().get_prep_value(value)
        return None if value is None else int(self.to_python(value).scaleb(2))

    def value_to_string(self, obj):
        value = self.value_from_object(obj)
        return None if value is None else str(value)


class ThousandthsField(models.Field):
    """How much of something there is, in its unit: a Decimal in Python, whole thousandths in the column."""

    description = "A quantity, exact to a thousandth"
    DIGITS = 3

    def get_internal_type(self):
        return "BigIntegerField"

    def to_python(self, value):
        if value is None:
            return None
        try:
            return Decimal(str(value)).quantize(Decimal(1).scaleb(-self.DIGITS))
        except InvalidOperation:
            raise ValidationError(f"“{value}” is not a quantity.", code="invalid") from None

    def from_db_value(self, value, expression, connection):
        return None if value is None else Decimal(str(value)).scaleb(-self.DIGITS)

    def get_prep_value(self, value):
        value = super().get_prep_value(value)
        return None if value is None else int(self.to_python(value).scaleb(self.DIGITS))

    def value_to_string(self, obj):
        value = self.value_from_object(obj)
        return None if value is None else str(value)
