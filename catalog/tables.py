"""Catalogue records as a table for a spreadsheet, and back: one row a record, one column a key.

RFC 4180 with a header, UTF-8. A cell that a spreadsheet would take for a formula carries an apostrophe before it, which
is taken off again when the table is read. What has parts of its own (steps, openings) stands in its cell as JSON.
"""

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator

from django.db import models

from catalog.fields import UnitPriceField, WordListField
from catalog.records import Group, Many, One, Problem, Unusable, printable
from shop.fields import MoneyField

MARK = "\ufeff"
"""At the start of the file: by it a spreadsheet knows that the text is UTF-8."""
DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "'")
NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][-+]?\d+)?")
BETWEEN = "; "
MOST_ROWS = 20_000
LONGEST_CELL = 200_000
YES, NO = "yes", "no"


def columns_of(model: type[models.Model]) -> dict:
    """Return the keys of a model's records in the order of the columns, each with its part of the shape."""
    return model.SHAPE | model.LEDGER


def to_csv(model: type[models.Model], records: Iterable[dict]) -> str:
    """Return records, with the shop's own keys, as a table."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    keys = list(columns_of(model))
    writer.writerow(keys)
    writer.writerows([cell_of(record.get(key)) for key in keys] for record in records)
    return MARK + out.getvalue()


def cell_of(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, int | float):
        return json.dumps(value)
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, list) and all(is_word(entry) for entry in value):
        return guarded(BETWEEN.join(value))
    return guarded(json.dumps(value, ensure_ascii=False))


def is_word(entry: object) -> bool:
    return isinstance(entry, str) and entry == entry.strip() != "" and ";" not in entry and not entry.startswith("[")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula; a plain number is none."""
    return f"'{text}" if text.startswith(DANGEROUS) and not NUMBER.fullmatch(text) else text


def unguarded(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(DANGEROUS) else cell


def from_csv(model: type[models.Model], text: str) -> list[dict]:
    """Return the records of a table. Raises Unusable with every cell that cannot be read, by row and column."""
    rows = rows_of(text)
    header = next(rows, None)
    if header is None:
        raise Unusable([Problem("row 1", "the file is empty; a header with the names of the columns is needed.")])
    known, problems = columns_of(model), []
    keys = [name.strip() for name in header]
    for name in dict.fromkeys(keys):
        if name not in known:
            accepted = ", ".join(known)
            problems.append(Problem(f"row 1, column {printable(name)}", f"is not known; known are {accepted}."))
        elif keys.count(name) > 1:
            problems.append(Problem(f"row 1, column {name}", "stands here twice."))
    if problems:
        raise Unusable(problems)
    records = []
    for number, row in enumerate(rows, 2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(keys):
            problems.append(Problem(f"row {number}", f"has {len(row)} cells; the header has {len(keys)}."))
            continue
        records.append(dict(read_row(model, keys, row, number, problems)))
    if problems:
        raise Unusable(problems[:200])
    return records


def rows_of(text: str) -> Iterator[list[str]]:
    """Yield the rows of a table; a table that is cut by semicolons is read too."""
    text = text.removeprefix(MARK)
    first = text.partition("\n")[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    csv.field_size_limit(LONGEST_CELL)
    number = 0
    try:
        for number, row in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True), 1):
            if number > MOST_ROWS:
                raise Unusable([Problem(f"row {number}", f"the file has more than {MOST_ROWS:,} rows.")])
            yield row
    except csv.Error as error:
        raise Unusable([Problem(f"row {number + 1}", f"this is no table: {error}.")]) from None


def read_row(
    model: type[models.Model], keys: list[str], row: list[str], number: int, problems: list[Problem]
) -> Iterator[tuple[str, object]]:
    """Yield the keys of one row with their values; an empty cell of a key that may be left out is left out."""
    for key, cell in zip(keys, row, strict=True):
        try:
            if cell == "" and key in model.LEFT_OUT:
                continue
            yield key, value_of(model, columns_of(model)[key], unguarded(cell))
        except ValueError as error:
            problems.append(Problem(f"row {number}, column {key}", str(error)))


def value_of(model: type[models.Model], part: object, cell: str) -> object:
    """Return what a cell says, as its part of the shape has it; what is wrong with the value is found by the record."""
    if isinstance(part, Many | One | Group):
        return json_of(cell) if cell else ([] if isinstance(part, Many) else None)
    column = model._meta.get_field(part)
    kind = column.get_internal_type()
    if isinstance(column, WordListField) or kind == "JSONField":
        if cell.startswith("["):
            return json_of(cell)
        return [word.strip() for word in cell.split(";") if word.strip()]
    if isinstance(column, MoneyField | UnitPriceField):
        return cell.strip() or None
    if kind == "BooleanField":
        return {YES: True, NO: False}.get(cell.strip().lower(), cell)
    if kind == "FloatField" or kind.endswith("IntegerField"):
        return json.loads(cell) if NUMBER.fullmatch(cell.strip()) else (cell.strip() or None)
    if cell == "" and (kind not in ("CharField", "TextField") or column.null or part in model.EMPTY_IS_NULL):
        return None
    return cell


def json_of(cell: str) -> object:
    try:
        return json.loads(cell)
    except (ValueError, RecursionError):
        raise ValueError("this is not JSON; take a cell of the exported table as the example.") from None
