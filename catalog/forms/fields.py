"""Form fields of the catalogue's columns: the unit in a column's name says which unit a person may type."""

import re
from decimal import Decimal, InvalidOperation

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.text import capfirst

from catalog.fields import WordListField
from shop.forms import CurrentField, DurationField, LengthField, MassField

# The end of a column's name, its field, and the unit of a bare number.
UNITS = {
    "_mm": (LengthField, {"bare": "mm", "to": "mm"}),
    "_m": (LengthField, {"bare": "m", "to": "m"}),
    "_kg": (MassField, {"bare": "kg", "to": "kg"}),
    "_min": (DurationField, {"bare": "minute", "to": "minute"}),
    "_h": (DurationField, {"bare": "hour", "to": "hour"}),
    "_a": (CurrentField, {"bare": "A", "to": "A"}),
}
SHARES = {"share", "duty", "repeat_ratio", "labour_percentile", "setup_share_max", "margin_floor"} | {
    *("capacity_caution", "capacity_strong", "feed_drop", "labour_correlation", "efficiency", "quote_tolerance")
}
# Lists of few words, which a person ticks.
TICKED = {"craft", "uses"}
# How wide a field is beside others of its row.
NARROW, MIDDLE, WIDE, WIDEST, LONG = "w4", "w7", "w9", "w16", ""


def percent_text(share: float | Decimal) -> str:
    """Return a share as a person reads it, without the noise of a float: 12.4 %."""
    return f"{Decimal(repr(share) if isinstance(share, float) else share) * 100:.6f}".rstrip("0").rstrip(".") + " %"


class ShareField(forms.CharField):
    """A part of a whole: 12 % or 0.12. The cleaned value is a Decimal, or a float with `as_float`."""

    def __init__(self, *, as_float=True, high=1, **kwargs):
        self.as_float, self.high = as_float, high
        super().__init__(**{"empty_value": None, **kwargs})

    def to_python(self, value):
        text = super().to_python(value)
        if text is None:
            return None
        bare, percent = re.fullmatch(r"\s*(.*?)\s*(%?)\s*", text, re.DOTALL).groups()
        try:
            share = Decimal(bare) / (100 if percent else 1)
        except InvalidOperation:
            share = None
        if share is None or not share.is_finite() or not 0 <= share <= self.high:
            raise ValidationError(f"“{text[:60]}” is no part of a whole. Accepted: 12 % or 0.12.")
        return float(share) if self.as_float else share

    def prepare_value(self, value):
        return percent_text(value) if isinstance(value, float | int | Decimal) else value

    def has_changed(self, initial, data):
        return (self.prepare_value(initial) or "") != (data or "").strip()


class NumberField(forms.FloatField):
    """A number shown without the noise of a float."""

    widget = forms.TextInput

    def prepare_value(self, value):
        return f"{value:.12g}" if isinstance(value, float) else value


def label_of(name: str) -> str:
    """Return the label of a column, without the unit that stands in its field."""
    return capfirst(re.sub(r",? (mm|m|kg|min|h|A|a|V)$", "", name))


class CatalogueForm(forms.ModelForm):
    """A form over a row of the catalogue: a field that could not be read is not also told off by the row's rules."""

    def record(self) -> dict:
        """Return the record of the row as it was typed; what belongs to the row is as it was."""
        return self.instance.ledger_record()

    def _update_errors(self, errors):
        if hasattr(errors, "error_dict"):
            for name in [name for name in errors.error_dict if name in self.errors]:
                del errors.error_dict[name]
        super()._update_errors(errors)


def with_units(column: models.Field, **kwargs) -> forms.Field | None:
    """Return the form field of a column: text with a unit in where its name ends in one."""
    options = {
        "label": label_of(column.verbose_name),
        "help_text": column.help_text,
        "required": not (column.blank or column.null),
    }
    if column.name in TICKED and isinstance(column, WordListField):
        ticks = forms.CheckboxSelectMultiple
        field = forms.MultipleChoiceField(choices=column.choices_from.choices, widget=ticks, **options)
        return _sized(field, column)
    if not isinstance(column, models.FloatField):
        field = column.formfield(**{**kwargs, "label": capfirst(column.verbose_name)})
        if isinstance(column, WordListField) and column.choices_from:
            field.help_text += f" Known are {', '.join(column.choices_from.values)}."
        return field and _sized(field, column)
    if column.name in SHARES:
        field = ShareField(**options)
    else:
        ends = [end for end in UNITS if column.name.endswith(end) and "_per_" not in column.name]
        kind, units = UNITS[max(ends, key=len)] if ends else (NumberField, {})
        field = kind(**units, **options)
    field.initial = column.default if column.has_default() else None
    return _sized(field, column)


def _sized(field: forms.Field, column: models.Field) -> forms.Field:
    """Give a field its width beside others; what is longer than a name stands on a line of its own."""
    chars = column.max_length or 0 if isinstance(column, models.CharField) else 0
    words = isinstance(column, WordListField)
    many_words = words and not (column.blank or column.choices_from)
    if isinstance(field.widget, forms.Textarea) or chars > 120 or many_words:
        field.width = LONG
    elif words or chars > 30 or isinstance(field, forms.BooleanField) or isinstance(field.widget, forms.Select):
        field.width = WIDE
    else:
        field.width = MIDDLE
    if isinstance(field.widget, forms.TextInput):
        field.widget.attrs.setdefault("autocomplete", "off")
    return field
