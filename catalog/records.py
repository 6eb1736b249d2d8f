"""Rows as the JSON records of the build sheet, and records back as rows.

A model names its `SHAPE`: for each key of its record, in order, the column (a text), a `Group` of columns that
stand in an object of their own, or the rows that belong to it (`One`, `Many`). From that one description follow
the record of a row, the row of a record and every problem of a record, each with its path.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import models

from catalog.fields import UnitPriceField, WordListField, is_storable
from shop.fields import MoneyField

LARGEST_NUMBER = 1e12
LONGEST_AMOUNT = 40


@dataclass(frozen=True)
class Group:
    """Columns that stand together in an object; the object is null where all of them are empty."""

    columns: dict[str, str]
    optional: bool = False


@dataclass(frozen=True)
class One:
    """At most one row of another model."""

    model: type[models.Model]


@dataclass(frozen=True)
class Many:
    """The rows of another model, in the order of their place."""

    model: type[models.Model]


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with a record: where (a path such as `steps[2].share`) and what is accepted."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message


class Unusable(ValueError):
    """Records that the catalogue cannot take, with every problem found in them."""

    def __init__(self, problems: list[Problem]):
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in problems))


@dataclass
class Draft:
    """A row that is not saved yet, the rows that belong to it by their key, and where its record stands."""

    row: models.Model
    parts: dict[str, list[models.Model]] = field(default_factory=dict)
    path: str = ""


def plain(number: float) -> float | int:
    """Return a whole number as an int, so that a record has one spelling: 24, not 24.0."""
    return int(number) if number == int(number) else number


def price_text(price: Decimal) -> str:
    """Return a price per unit with two digits, and more only where it has more: 0.08, 0.045."""
    exact = price.normalize()
    return str(exact if exact.as_tuple().exponent < -2 else price.quantize(Decimal("0.01")))


def record_of(row: models.Model, ledger: bool = False, parts: dict[str, list[models.Model]] | None = None) -> dict:
    """Return the record of a row: exactly the keys of the build sheet, with `ledger` also the shop's own keys.

    `parts` gives the rows that belong to a row which is not saved yet.
    """
    record = {}
    for key, part in row.SHAPE.items():
        if isinstance(part, Group):
            values = {name: _value(row, column) for name, column in part.columns.items()}
            record[key] = values if not part.optional or any(v is not None for v in values.values()) else None
        elif isinstance(part, One | Many):
            rows = _rows_of(row, part) if parts is None else parts[key]
            records = [record_of(kept) for kept in rows]
            record[key] = records if isinstance(part, Many) else next(iter(records), None)
        else:
            value = _value(row, part)
            if value is not None or key not in row.LEFT_OUT:
                record[key] = value
    if ledger:
        record |= {key: _value(row, column) for key, column in row.LEDGER.items()}
    return record


def _rows_of(row: models.Model, part: One | Many) -> list[models.Model]:
    if row.pk is None:
        return []
    if isinstance(part, Many):
        return list(getattr(row, part.model.RELATED).all())
    kept = getattr(row, part.model.RELATED, None)
    return [kept] if kept is not None else []


def _value(row: models.Model, column: str):
    column_field, value = row._meta.get_field(column), getattr(row, column)
    if value is None:
        return None
    if isinstance(value, Decimal):
        return price_text(value) if isinstance(column_field, UnitPriceField) else str(value)
    if isinstance(value, float):
        return plain(value)
    if isinstance(value, datetime.date):
        return value.isoformat()
    return None if value == "" and column in row.EMPTY_IS_NULL else value


def read(model: type[models.Model], record: object, path: str, problems: list[Problem]) -> Draft | None:
    """Return the rows of a record, or None where it has a problem; every problem is added to the list."""
    before = len(problems)
    if not isinstance(record, dict):
        problems.append(Problem(path, "an object is needed here."))
        return None
    draft, columns = Draft(model(), path=path), {}
    known = model.SHAPE | model.LEDGER
    for key in record:
        if key not in known:
            problems.append(Problem(at(path, printable(key)), f"is not known; known are {', '.join(known)}."))
    for key, part in known.items():
        place = at(path, key)
        if isinstance(part, One | Many):
            draft.parts[key] = list(_read_parts(part, record.get(key), place, problems))
        elif isinstance(part, Group):
            columns |= _read_group(draft.row, part, record.get(key), place, problems)
        else:
            columns |= _read_column(draft.row, part, record, key, place, problems)
    _check_columns(draft.row, columns, problems)
    if len(problems) == before:
        _check_rules(draft, columns, path, problems)
    return draft if len(problems) == before else None


def _read_parts(part: One | Many, value: object, place: str, problems: list[Problem]) -> Iterator[models.Model]:
    if value is None:
        return
    many = isinstance(part, Many)
    if many and not isinstance(value, list):
        problems.append(Problem(place, "a list is needed here."))
        return
    for number, entry in enumerate(value if many else [value]):
        draft = read(part.model, entry, f"{place}[{number}]" if many else place, problems)
        if draft is not None:
            if many:
                draft.row.place = number + 1
            yield draft.row


def _read_group(row, group: Group, value: object, place: str, problems: list[Problem]) -> dict[str, str]:
    if value is None and group.optional:
        return {}
    if value is not None and not isinstance(value, dict):
        problems.append(Problem(place, "an object is needed here."))
        return {}
    value, columns = value or {}, {}
    for key in value:
        if key not in group.columns:
            problems.append(Problem(at(place, printable(key)), f"is not known; known are {', '.join(group.columns)}."))
    for key, column in group.columns.items():
        columns |= _read_column(row, column, value, key, at(place, key), problems)
    return columns


def _read_column(row, column: str, record: dict, key: str, place: str, problems: list[Problem]) -> dict[str, str]:
    """Set one column from a record; return {column: place}, by which a later problem finds its path, if it is set."""
    column_field, value = row._meta.get_field(column), record.get(key)
    try:
        if value is None:
            _allow_nothing(row, column_field, key in record)
        else:
            setattr(row, column, _typed(column_field, value))
    except ValueError as problem:
        problems.append(Problem(place, str(problem)))
        return {}
    return {column: place}


def _allow_nothing(row, column_field: models.Field, told: bool) -> None:
    """Refuse null, or a key that is left out, where the column needs a value."""
    if told and not column_field.null and column_field.name not in row.EMPTY_IS_NULL:
        raise ValueError("may not be null.")
    if not told and not (column_field.has_default() or column_field.null or column_field.blank):
        raise ValueError("is missing.")


def _typed(column_field: models.Field, value: object) -> object:
    """Return a value of a record as its column keeps it; refuse one of the wrong kind."""
    kind = column_field.get_internal_type()
    if isinstance(column_field, UnitPriceField | MoneyField):
        if not is_storable(value) or len(value) > LONGEST_AMOUNT:
            raise ValueError('an amount in quotes is needed, such as "129.50".')
        try:
            return column_field.to_python(value)
        except ValidationError as refused:
            raise ValueError(" ".join(refused.messages)) from None
    if kind == "FloatField":
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < LARGEST_NUMBER:
            raise ValueError("a number is needed.")
        return float(value)
    if kind.endswith("IntegerField"):
        if isinstance(value, bool) or not isinstance(value, int) or not abs(value) < 2**31:
            raise ValueError("a whole number is needed.")
    elif kind == "BooleanField":
        if not isinstance(value, bool):
            raise ValueError("true or false is needed.")
    elif kind == "DateField":
        return _date(value)
    elif isinstance(column_field, WordListField):
        if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
            raise ValueError("a list of words is needed.")
    elif isinstance(column_field, models.CharField | models.TextField | models.ForeignKey) and not is_storable(value):
        raise ValueError("a text is needed.")
    return value


def _date(value: object) -> datetime.date:
    try:
        return datetime.date.fromisoformat(value)
    except (TypeError, ValueError):
        raise ValueError("a date is needed, such as 2026-03-31.") from None


def _check_columns(row: models.Model, columns: dict[str, str], problems: list[Problem]) -> None:
    """Add what the columns that could be read refuse."""
    others = [column.name for column in row._meta.fields if column.name not in columns]
    try:
        row.clean_fields(exclude=others)
    except ValidationError as refused:
        for column, errors in refused.error_dict.items():
            problems.extend(Problem(columns[column], _sentence(row, column, error)) for error in errors)


def _sentence(row: models.Model, column: str, error: ValidationError) -> str:
    if error.code != "invalid_choice":
        return " ".join(error.messages)
    accepted = ", ".join(word for word, _ in row._meta.get_field(column).flatchoices)
    return f"“{getattr(row, column)}” is not known here. Known are {accepted}."


def _check_rules(draft: Draft, columns: dict[str, str], path: str, problems: list[Problem]) -> None:
    """Add what the rules of the model refuse."""
    try:
        draft.row.clean()
        draft.row.clean_parts(draft.parts)
    except ValidationError as refused:
        if hasattr(refused, "error_dict"):
            for column, messages in refused.message_dict.items():
                problems.extend(Problem(columns.get(column, path), message) for message in messages)
        else:
            problems.extend(Problem(path, message) for message in refused.messages)


def printable(key: object) -> str:
    """Return a text of a record as a sentence about it may show it."""
    return "".join(sign if sign.isprintable() else "?" for sign in str(key)[:60])


def at(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key
