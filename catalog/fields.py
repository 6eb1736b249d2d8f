"""Columns of the catalogue that Django has no field for: exact unit prices, lists of words, folded text."""

import json
import re
import unicodedata
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Lookup

UNIT_PRICE_DIGITS = 4
# Colons stand in `tag:12v_supply`.
WORD = re.compile(r"[a-z0-9_:]+")
LARGEST_UNIT_PRICE = Decimal(99999999)


def fold(text: str) -> str:
    """Return a text in lower case, without accents and with single spaces: what a search compares."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return " ".join(bare.casefold().split())


def is_storable(text: object) -> bool:
    """Whether a value is a text that every database keeps: no NUL, no half of a character."""
    if not isinstance(text, str) or "\x00" in text:
        return False
    return not any("\ud800" <= sign <= "\udfff" for sign in text)


class UnitPriceField(models.Field):
    """A price for one metre, millilitre or piece: Decimal in Python, whole ten-thousandths in the column."""

    description = "Price per unit, exact to 4 digits"

    def get_internal_type(self):
        return "BigIntegerField"

    def to_python(self, value):
        if value is None or isinstance(value, Decimal):
            return value
        try:
            price = Decimal(str(value).strip())
        except InvalidOperation:
            raise ValidationError(f"“{value}” is no amount; write a figure such as 0.08.") from None
        return price

    def validate(self, value, model_instance):
        super().validate(value, model_instance)
        if value is None:
            return
        if not value.is_finite() or not 0 <= value <= LARGEST_UNIT_PRICE:
            raise ValidationError(f"A price per unit lies between 0 and {LARGEST_UNIT_PRICE}.")
        if value != value.quantize(Decimal(1).scaleb(-UNIT_PRICE_DIGITS)):
            raise ValidationError("A price per unit has at most 4 digits after the point.")

    def from_db_value(self, value, expression, connection):
        return None if value is None else Decimal(value).scaleb(-UNIT_PRICE_DIGITS)

    def get_prep_value(self, value):
        if value is None:
            return None
        return int(self.to_python(value).scaleb(UNIT_PRICE_DIGITS).to_integral_value(ROUND_HALF_UP))

    def value_to_string(self, obj):
        return str(self.value_from_object(obj))

    def formfield(self, **kwargs):
        return super().formfield(
            **{"form_class": forms.DecimalField, "decimal_places": UNIT_PRICE_DIGITS, "min_value": 0, **kwargs}
        )


class WordsFormField(forms.CharField):
    """Words separated by commas or spaces; the order is kept. The word `never` stands for an empty list where
    nothing at all means `always`."""

    widget = forms.TextInput

    def __init__(self, *, words=(), empty_means_always=False, **kwargs):
        self.words, self.empty_means_always = tuple(words), empty_means_always
        kwargs.pop("max_length", None)
        super().__init__(**kwargs)

    def prepare_value(self, value):
        if isinstance(value, list | tuple):
            return ", ".join(value) if value or not self.empty_means_always else "never"
        return value

    def to_python(self, value):
        if isinstance(value, list):
            return value
        words = super().to_python(value).replace(",", " ").split()
        if self.empty_means_always:
            return None if not words else [] if words == ["never"] else words
        return words

    def has_changed(self, initial, data):
        return (self.prepare_value(initial) or "") != (self.prepare_value(self.to_python(data)) or "")


class WordListField(models.Field):
    """A list of words such as `canoe`: a list in Python, the words with a space on each side in the column.

    Unlike JSON it can be asked `field__has="canoe"` on every database. None stays None.
    """

    description = "List of words"

    def __init__(self, *args, choices_from=None, **kwargs):
        self.choices_from = choices_from
        super().__init__(*args, **kwargs)

    def deconstruct(self):
        name, path, args, kwargs = super().deconstruct()
        if self.choices_from is not None:
            kwargs["choices_from"] = self.choices_from
        return name, path, args, kwargs

    def get_internal_type(self):
        return "TextField"

    def get_default(self):
        if self.has_default():
            return super().get_default()
        return None if self.null else []

    def to_python(self, value):
        return value.split() if isinstance(value, str) else value

    def from_db_value(self, value, expression, connection):
        return None if value is None else value.split()

    def get_prep_value(self, value):
        if value is None or isinstance(value, str):
            return value
        return f" {' '.join(value)} " if value else ""

    def value_to_string(self, obj):
        return self.get_prep_value(self.value_from_object(obj)) or ""

    def validate(self, value, model_instance):
        if value is None:
            if not self.null:
                raise ValidationError("This list is missing.")
            return
        if not value and not self.blank:
            raise ValidationError("At least one word is needed.")
        known = tuple(self.choices_from.values) if self.choices_from else ()
        for word in value:
            if not isinstance(word, str) or not WORD.fullmatch(word):
                raise ValidationError("A word has small letters, digits, underscores and colons only.")
            if known and word not in known:
                raise ValidationError(f"“{word}” is not known here. Known are {', '.join(known)}.")
        if len(set(value)) < len(value):
            raise ValidationError("A word stands here twice.")

    def formfield(self, **kwargs):
        known = self.choices_from.values if self.choices_from else ()
        options = {"form_class": WordsFormField, "words": known, "empty_means_always": self.null}
        return super().formfield(**{**options, "required": not (self.blank or self.null), **kwargs})


@WordListField.register_lookup
class Has(Lookup):
    """The list holds this word."""

    lookup_name = "has"
    prepare_rhs = False

    def as_sql(self, compiler, connection):
        column, params = self.process_lhs(compiler, connection)
        escaped = self.rhs.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
        return f"{column} LIKE %s ESCAPE '\\'", [*params, f"% {escaped} %"]


class LinesFormField(forms.CharField):
    """One text a line; empty lines are dropped."""

    widget = forms.Textarea(attrs={"rows": 4})

    def prepare_value(self, value):
        return "\n".join(value) if isinstance(value, list | tuple) else value

    def to_python(self, value):
        if isinstance(value, list):
            return value
        return [line.strip() for line in super().to_python(value).splitlines() if line.strip()]

    def has_changed(self, initial, data):
        return list(initial or []) != self.to_python(data)


class TextListField(models.JSONField):
    """A list of sentences, kept as JSON and typed one a line."""

    def __init__(self, *args, **kwargs):
        kwargs.setdefault("default", list)
        kwargs.setdefault("blank", True)
        super().__init__(*args, **kwargs)

    def validate(self, value, model_instance):
        if not isinstance(value, list) or not all(is_storable(text) and text.strip() for text in value):
            raise ValidationError("This is a list of texts, none of them empty.")

    def formfield(self, **kwargs):
        return models.Field.formfield(self, **{"form_class": LinesFormField, "required": False, **kwargs})


class TableField(models.JSONField):
    """A small table of the shop's rules, such as minutes by phase: one value for each of its keys.

    `kind` is `number` (a JSON number) or `decimal` (a JSON text such as "0.50", exact).
    """

    def __init__(self, *args, keys=(), kind="number", largest=None, **kwargs):
        self.keys, self.kind, self.largest = tuple(keys), kind, largest
        super().__init__(*args, **kwargs)

    def deconstruct(self):
        name, path, args, kwargs = super().deconstruct()
        return (name, path, args, {**kwargs, "keys": self.keys, "kind": self.kind, "largest": self.largest})

    def validate(self, value, model_instance):
        if not isinstance(value, dict) or set(value) != set(self.keys):
            raise ValidationError(f"One value is needed for each of {', '.join(self.keys)}.")
        for key, entry in value.items():
            problem = self.problem(entry)
            if problem:
                raise ValidationError(f"{key}: {problem}")

    def problem(self, entry) -> str | None:
        """Return what is wrong with one value of the table, or None."""
        wanted = str if self.kind == "decimal" else (int, float)
        if not isinstance(entry, wanted) or isinstance(entry, bool):
            return 'a number in quotes is needed, such as "0.50".' if wanted is str else "a number is needed."
        try:
            number = Decimal(entry)
        except InvalidOperation:
            return f"“{entry}” is no number."
        if not number.is_finite():
            return "a finite number is needed."
        if number < 0 or (self.largest is not None and number > self.largest):
            return f"between 0 and {self.largest}." if self.largest is not None else "0 or more."
        return None


class FoldedField(models.TextField):
    """Text folded from other columns whenever the row is written, so that a search finds it without accents."""

    def __init__(self, *args, sources=(), **kwargs):
        self.sources = tuple(sources)
        super().__init__(*args, **{"editable": False, "blank": True, "default": "", **kwargs})

    def deconstruct(self):
        name, path, args, kwargs = super().deconstruct()
        return name, path, args, {**kwargs, "sources": self.sources}

    def pre_save(self, model_instance, add):
        texts = (getattr(model_instance, source) for source in self.sources)
        folded = fold(" ".join(texts).replace("_", " "))
        setattr(model_instance, self.attname, folded)
        return folded


def canonical_json(value) -> str:
    """Return a value as JSON in one fixed spelling: sorted keys, no spaces."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
