"""One difference between two sheets, and how a document's parts are read when two of them are compared."""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from decimal import Decimal
from functools import cache
from typing import Any

from shop.money import minor_digits
from shop.units import MINUS, THIN, format_minutes, number

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Difference:
    """What differs, in words, and by how much price [money] and mean labour [min] change with it.

    `line` is the id of the line that it is about, or None. Words have no sign and no change of a figure in them, but
    for the load.
    """

    kind: str
    line: str | None
    words: str
    price: Decimal = Decimal(0)
    minutes: float = 0.0


def in_words(difference: Difference, currency: str) -> str:
    """Return a difference as one line: "3 of LED strip instead of 2: + 55.00, + 10 min".

    A figure of nought is left out. Money has the currency's minor digits, minutes are whole; the minus is a real one,
    the spaces in a figure are narrow and do not break.
    """
    price, minutes = float(difference.price), difference.minutes
    shown = [signed(price, number(abs(price), minor_digits(currency)))] if price else []
    if round(minutes):
        shown.append(signed(minutes, format_minutes(abs(minutes))))
    return f"{difference.words}: {', '.join(shown)}" if shown else difference.words


def signed(change: float, figure: str) -> str:
    return f"{MINUS if change < 0 else '+'}{THIN}{figure}"


@cache
def defaults_of(cls: type) -> dict[str, Any]:
    """Return the fields of a part of the build sheet that may be left out, with what they then are."""
    return {
        f.metadata.get("key") or f.name: f.default
        for f in fields(cls)
        if "spec" in f.metadata and f.default is not MISSING
    }


def full(cls: type, record: Document) -> dict[str, Any]:
    """Return a record with what it leaves out, lists as tuples."""
    filled = {**defaults_of(cls), **record}
    return {key: tuple(value) if isinstance(value, list) else value for key, value in filled.items()}


def told(record: Any) -> dict[str, Any]:
    """Return what a record tells: without what is null."""
    return {key: value for key, value in record.items() if value is not None} if isinstance(record, Mapping) else {}


def name_of(sheet: Document, line: Document) -> str:
    """Return the name of a line's accessory type, its id where the sheet no longer has the type."""
    return str(kind_of(sheet, line).get("name") or line["accessory"])


def kind_of(sheet: Document, line: Document) -> Document:
    known: Document = sheet.get("accessories") or {}
    kind: Document = known.get(line["accessory"]) or {}
    return kind
