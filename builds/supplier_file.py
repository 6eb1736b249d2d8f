"""A supplier's price list as a file: its columns by the words that suppliers use, each fault by its row and column."""

import datetime
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.conf import settings

from catalog.records import Problem, Unusable, printable
from catalog.tables import rows_of, unguarded

PART_NUMBER, COST, PER, HOLDS_FROM, DESCRIPTION = "part number", "unit cost", "per", "holds from", "description"
HEADINGS = {
    PART_NUMBER: ("part number", "part no", "part", "item number", "item no"),
    COST: ("unit cost", "cost", "cost each", "net cost", "net price", "trade price"),
    PER: ("per", "cost per", "priced per"),
    HOLDS_FROM: ("holds from", "from", "valid from", "date", "price date"),
    DESCRIPTION: ("description", "name", "item"),
}
NEEDED = (PART_NUMBER, COST)
LONGEST_PART_NUMBER, LONGEST_SHOWN, MOST_PROBLEMS = 60, 120, 200
AMOUNT = re.compile(r"[0-9]{1,8}(\.[0-9]{1,6})?")
QUANTITY = re.compile(r"[0-9]{1,6}(\.[0-9]{1,3})?")


@dataclass(frozen=True)
class ListRow:
    """One row: what one piece or unit costs [money, not rounded], and the day it holds from where the list says it."""

    number: int
    part_number: str
    cost: Decimal
    holds_from: datetime.date | None
    description: str


@dataclass(frozen=True)
class SupplierFile:
    rows: tuple[ListRow, ...]
    not_read: tuple[str, ...]


def part_key(part_number: str) -> str:
    """Return a part number as it is compared: case and spaces aside."""
    return "".join(part_number.split()).casefold()


def read_file(text: str, today: datetime.date) -> SupplierFile:
    """Return the rows of a price list. Raises Unusable with every problem, by row and column."""
    table = rows_of(text)
    header = next(table, None)
    if header is None:
        raise Unusable([Problem("row 1", "the file is empty; a row with the names of the columns comes first.")])
    places, not_read = columns_in(header)
    rows: list[ListRow] = []
    problems: list[Problem] = []
    first_at: dict[str, int] = {}
    for number, cells in enumerate(table, 2):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            problems.append(Problem(f"row {number}", f"has {len(cells)} cells; the header has {len(header)}."))
            continue
        row = read_row(number, {name: unguarded(cells[at]).strip() for name, at in places.items()}, today, problems)
        if row is None:
            continue
        earlier = first_at.setdefault(part_key(row.part_number), number)
        if earlier != number:
            message = f"“{printable(row.part_number)}” stands in row {earlier} already; it has one cost."
            problems.append(Problem(f"row {number}, column {PART_NUMBER}", message))
        rows.append(row)
    if not rows and not problems:
        problems.append(Problem("row 2", "is missing: the file has no rows below its header."))
    if problems:
        raise Unusable(problems[:MOST_PROBLEMS])
    return SupplierFile(tuple(rows), not_read)


def columns_in(header: list[str]) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return where each column stands, and the headings that are not read."""
    known = {heading: name for name, headings in HEADINGS.items() for heading in headings}
    places: dict[str, int] = {}
    problems, not_read = [], []
    for at, heading in enumerate(header):
        name = known.get(" ".join(unguarded(heading).replace("_", " ").casefold().split()).strip(" .:"))
        if name is None:
            not_read.append(printable(heading.strip()) or f"column {at + 1}, without a heading")
        elif name in places:
            message = f"says the same as “{printable(header[places[name]].strip())}”: {name}. One of them is needed."
            problems.append(Problem(f"row 1, column {printable(heading.strip())}", message))
        else:
            places[name] = at
    for name in NEEDED:
        if name not in places:
            accepted = ", ".join(HEADINGS[name])
            problems.append(Problem("row 1", f"the column {name} is missing; its heading is one of: {accepted}."))
    if problems:
        raise Unusable(problems)
    return places, tuple(not_read)


def read_row(number: int, said: dict[str, str], today: datetime.date, problems: list[Problem]) -> ListRow | None:
    """Return a row from its cells, or None with what does not fit added to the problems."""
    readers: dict[str, Callable[[str], Any]] = {
        PART_NUMBER: part_number_of,
        COST: cost_of,
        PER: quantity_of,
        HOLDS_FROM: lambda cell: day_of(cell, today),
    }
    values: dict[str, Any] = {}
    for name, reader in readers.items():
        try:
            values[name] = reader(said.get(name, ""))
        except ValueError as error:
            problems.append(Problem(f"row {number}, column {name}", str(error)))
    if len(values) < len(readers):
        return None
    cost = values[COST] / values[PER]
    description = printable(said.get(DESCRIPTION, ""))
    return ListRow(number, values[PART_NUMBER], cost, values[HOLDS_FROM], description)


def part_number_of(cell: str) -> str:
    if not cell:
        raise ValueError("is missing.")
    if len(cell) > LONGEST_PART_NUMBER or not cell.isprintable():
        raise ValueError(f"is no part number: at most {LONGEST_PART_NUMBER} letters, digits and signs.")
    return cell


def cost_of(cell: str) -> Decimal:
    bare = cell.replace(settings.CURRENCY, "").strip(" \u00a0\u202f$£€¥")
    if not bare:
        raise ValueError("is missing; leave the row out where the supplier names no cost.")
    if "," in bare:
        raise ValueError(f"“{printable(cell)}” has a comma, which may mean thousands or decimals; write 1234.50.")
    if not AMOUNT.fullmatch(bare) or not Decimal(bare):
        raise ValueError(f"“{printable(cell)}” is no cost; write an amount above 0 such as 12.50.")
    return Decimal(bare)


def quantity_of(cell: str) -> Decimal:
    """Return for how many pieces or units the cost is; 1 where nothing is said."""
    if cell.casefold() in ("", "each", "piece"):
        return Decimal(1)
    if not QUANTITY.fullmatch(cell) or not Decimal(cell):
        raise ValueError(f"“{printable(cell)}” is no quantity; write how many the cost is for, such as 10.")
    return Decimal(cell)


def day_of(cell: str, today: datetime.date) -> datetime.date | None:
    if not cell:
        return None
    try:
        day = datetime.date.fromisoformat(cell)
    except ValueError:
        raise ValueError(f"“{printable(cell)}” is no date; write it as 2026-03-31.") from None
    if day > today:
        raise ValueError(f"{day} is still to come; take the list in from that day on.")
    return day
