"""Tables of the office: the same for the page, for print and as a file; figures exact in the file."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from django.conf import settings

from builds.earnings.figures import Figures
from builds.earnings.recovery import cost_recovered, hours_recovered, rate_earned
from shop import clock
from shop.money import round_money

TEXT, MONEY, MINUTES, SHARE, COUNT, QUANTITY, SIGNED_MINUTES, SIGNED_MONEY, DATE = (
    "text",
    "money",
    "minutes",
    "share",
    "count",
    "quantity",
    "signed_minutes",
    "signed_money",
    "date",
)

COLUMNS_ON_PAPER = 8


@dataclass(frozen=True)
class Column:
    """A column: its heading, how its cells are written, and whether it is what the eye should meet."""

    label: str
    kind: str = MONEY
    strong: bool = False

    @property
    def is_number(self) -> bool:
        return self.kind not in (TEXT, DATE)


@dataclass(frozen=True)
class Row:
    """A row: its name, where it opens to, and its cells in the columns' order."""

    name: str
    cells: tuple[Any, ...]
    href: str = ""


@dataclass(frozen=True)
class Table:
    caption: str
    first: str
    columns: tuple[Column, ...]
    rows: list[Row] = field(default_factory=list)
    total: Row | None = None

    @property
    def on_paper(self) -> list["Table"]:
        """The table in parts that are no wider than a sheet, each with the rows' names."""
        return [self.part(first) for first in range(0, len(self.columns), COLUMNS_ON_PAPER)]

    def part(self, first: int) -> "Table":
        """Return the table with some of its columns only."""
        some = slice(first, first + COLUMNS_ON_PAPER)
        total = replace(self.total, cells=self.total.cells[some]) if self.total else None
        return replace(
            self,
            caption=f"{self.caption}, part {first // COLUMNS_ON_PAPER + 1}" if first else self.caption,
            columns=self.columns[some],
            rows=[replace(row, cells=row.cells[some]) for row in self.rows],
            total=total,
        )

    def first_rows(self, most: int) -> "Table":
        """Return the table with its first rows only."""
        return replace(self, rows=self.rows[:most])

    @property
    def shown(self) -> list[tuple[Row, list[tuple[Column, Any]]]]:
        """Each row with its cells beside their columns."""
        return [(row, list(zip(self.columns, row.cells, strict=True))) for row in self.rows]

    @property
    def shown_total(self) -> list[tuple[Column, Any]]:
        return list(zip(self.columns, self.total.cells, strict=True)) if self.total else []

    def as_lines(self) -> Iterable[list[Any]]:
        """Yield the table line by line: headings, rows, total."""
        yield [self.first, *(heading(column) for column in self.columns)]
        for row in [*self.rows, *([self.total] if self.total else [])]:
            yield [row.name, *map(exact_cell, row.cells, self.columns)]


def exact_cell(value: Any, column: Column) -> Any:
    """Return a cell for a file: money and minutes as they are, a share to the millionth, a date as in ISO 8601."""
    if column.kind == DATE and value is not None:
        return f"{clock.local(value):%Y-%m-%d}"
    return round(value, 6) if column.kind == SHARE and value is not None else value


def heading(column: Column) -> str:
    """Return the heading of a column in a file, where the unit does not stand in the cell."""
    return f"{column.label}, part of 1" if column.kind == SHARE else column.label


# What each column of a table of figures says.
FIGURES: tuple[tuple[Column, Callable[[Figures], Any]], ...] = (
    (Column("Revenue"), lambda f: f.revenue),
    (Column("Cost"), lambda f: f.cost),
    (Column("Gross profit"), lambda f: f.profit),
    (Column("Margin", SHARE, strong=True), lambda f: f.margin),
    (Column("Estimated, min", MINUTES), lambda f: f.estimated_min),
    (Column("Quoted, min", MINUTES), lambda f: f.quoted_min),
    (Column("Worked, min", MINUTES), lambda f: f.paid_min),
    (Column("Hours recovered", SHARE), hours_recovered),
    (Column("Labour cost recovered", SHARE), cost_recovered),
    (Column("Effective rate per h"), lambda f: to_cent(rate_earned(f))),
    (Column("Parts"), lambda f: f.parts),
    (Column("Labour"), lambda f: f.labour),
    (Column("Operations"), lambda f: f.operations),
    (Column("Consumables"), lambda f: f.consumables),
    (Column("Fees"), lambda f: f.fees),
    (Column("Discount"), lambda f: -f.discount),
    (Column("Parts cost"), lambda f: f.parts_cost),
    (Column("Consumables cost"), lambda f: f.consumables_cost),
    (Column("Labour cost"), lambda f: f.labour_cost),
    (Column("Came back", COUNT), lambda f: f.came_back),
    (Column("Come-backs, min", MINUTES), lambda f: f.come_back_min),
    (Column("Come-back cost"), lambda f: f.come_back_cost),
)
PHASES: tuple[tuple[Column, Callable[[Figures], Any]], ...] = (
    (Column("Estimated, min", MINUTES), lambda f: f.estimated_min),
    (Column("Worked, min", MINUTES), lambda f: f.worked_min),
    (Column("Over, min", SIGNED_MINUTES), lambda f: f.worked_min - f.estimated_min),
    (Column("Worked for each estimated", SHARE, strong=True), lambda f: part(f.worked_min, f.estimated_min)),
    (Column("Gained or lost", SIGNED_MONEY), lambda f: f.why_minutes),
)


def to_cent(amount: Decimal | None) -> Decimal | None:
    return None if amount is None else round_money(amount, settings.CURRENCY)


def part(amount: Decimal, of: Decimal) -> Decimal | None:
    return amount / of if of else None


def cells(some: Figures, said: Iterable[tuple[Column, Callable[[Figures], Any]]]) -> tuple[Any, ...]:
    return tuple(value(some) for _, value in said)


def columns(said: Iterable[tuple[Column, Callable[[Figures], Any]]]) -> tuple[Column, ...]:
    return tuple(column for column, _ in said)
