"""The tickets behind a figure: those of a view and a period, in the order of what they earned."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from builds.earnings.earned import PHASE
from builds.models import TicketShare, TicketTotals
from builds.office import tables
from builds.office.keeping import COUNTER, DAYS, HULL, MONTH, OUTCOME, kept_figures
from builds.office.periods import Period
from builds.office.tables import Column, Row, Table

A_PAGE = 50
LEAST, MOST = "least", "most"
TICKET = "ticket__number", "ticket__title", "ticket__state_at", "ticket__state", "ticket__quoted_total"
JOB = (Column("Job", tables.TEXT), Column("Handed over", tables.DATE))
OF_A_TICKET = (*tables.FIGURES[:4], (Column("Planned profit"), lambda f: f.planned), *tables.FIGURES[4:])
OF_A_QUOTE = (
    Column("Job", tables.TEXT),
    Column("Ended", tables.TEXT),
    Column("In", tables.TEXT),
    Column("Days to the yes", tables.COUNT),
    Column("Last total"),
)


@dataclass(frozen=True)
class Behind:
    """One page of the tickets behind a figure, and the mark from which the next page goes on."""

    table: Table
    after: str
    ranked: tuple[tuple[str, str, float], ...] = ()
    """Number, job and margin of each of them."""


def rows_of(by: str, key: str, period: Period) -> QuerySet:
    """Return the kept rows of a view: whole tickets, or the shares that a type, bundle, tech or step has of them."""
    months = Q(month__gte=period.first, month__lte=period.last)
    if by == MONTH:
        rows = TicketTotals.objects.filter(months)
    elif by == HULL:
        rows = TicketTotals.objects.filter(months, hull_type=key)
    elif by == COUNTER:
        rows = TicketTotals.objects.filter(months, counter=int(key) if key.isdigit() else None)
    else:
        rows = TicketShare.objects.filter(months, by=by, key=key)
    return rows.select_related("ticket").only("rank", *figure_names(rows.model), *TICKET)


def figure_names(model: type) -> list[str]:
    return [field.name for field in model._meta.fields if field.name not in ("counter", "hull_type", "by")]


def page_of(by: str, key: str, period: Period, order: str = LEAST, after: str = "", most: int = A_PAGE) -> Behind:
    """Return a page of the tickets, least margin first or greatest first; of a step, what was lost most first."""
    rows = rows_of(by, key, period)
    if mark := read_mark(after):
        rank, ticket = mark
        later = {"rank__gt": rank} if order == LEAST else {"rank__lt": rank}
        same = {"ticket__gt": ticket} if order == LEAST else {"ticket__lt": ticket}
        rows = rows.filter(Q(**later) | Q(rank=rank, **same))
    found = list(rows.order_by(*sorting(order))[: most + 1])
    more = len(found) > most
    found = found[:most]
    ranked = tuple((one.ticket.number, one.ticket.title, one.rank) for one in found)
    return Behind(table_of(by, found), f"{found[-1].rank!r}_{found[-1].ticket_id}" if more else "", ranked)


def sorting(order: str) -> tuple[str, str]:
    return ("rank", "ticket_id") if order == LEAST else ("-rank", "-ticket_id")


def read_mark(text: str) -> tuple[float, int] | None:
    """Return where the page before ended, or None where an address says nothing that can be read."""
    rank, _, ticket = text.partition("_")
    try:
        return float(rank), int(ticket)
    except ValueError:
        return None


def said_of(by: str):
    return tables.PHASES if by == PHASE else OF_A_TICKET


def table_of(by: str, found: list[Any]) -> Table:
    said = said_of(by)
    return Table(
        caption="Tickets handed over",
        first="Ticket",
        columns=(*JOB, *tables.columns(said)),
        rows=[row_of(one, said) for one in found],
    )


def row_of(one: TicketTotals | TicketShare, said) -> Row:
    ticket = one.ticket
    named = (ticket.title, ticket.state_at, *tables.cells(kept_figures(one), said))
    return Row(ticket.number, named, address_of(ticket.number))


def address_of(number: str) -> str:
    return f"/office/ticket/{number}/"


def as_lines(by: str, key: str, period: Period) -> Iterator[list[Any]]:
    """Yield every ticket behind a figure, for a file."""
    table = table_of(by, [])
    yield from table.as_lines()
    for one in rows_of(by, key, period).order_by(*sorting(LEAST)).iterator(500):
        row = row_of(one, said_of(by))
        yield [row.name, *map(tables.exact_cell, row.cells, table.columns)]


# Behind a figure of quotes.


def quotes_behind(by: str, key: str, period: Period, after: str = "") -> Behind:
    """Return the tickets whose quotes ended in one way, or took so many days to the yes; the latest first."""
    rows = TicketTotals.objects.filter(outcome_month__gte=period.first, outcome_month__lte=period.last)
    if by == OUTCOME:
        rows = rows.filter(outcome=key)
    elif by == DAYS and key.isdigit():
        rows = rows.filter(days_to_yes=int(key))
    else:
        rows = rows.none()
    if after.isdigit():
        rows = rows.filter(ticket_id__lt=int(after))
    names = ("outcome", "outcome_month", "days_to_yes")
    found = list(rows.select_related("ticket").only(*names, *TICKET).order_by("-ticket_id")[: A_PAGE + 1])
    more = len(found) > A_PAGE
    found = found[:A_PAGE]
    cells = [
        (
            one.ticket.title,
            one.get_outcome_display(),
            f"{one.outcome_month:%B %Y}",
            one.days_to_yes,
            one.ticket.quoted_total,
        )
        for one in found
    ]
    numbers = [one.ticket.number for one in found]
    listed = [Row(n, row, address_of(n)) for n, row in zip(numbers, cells, strict=True)]
    return Behind(Table("Quotes", "Ticket", OF_A_QUOTE, listed), str(found[-1].ticket_id) if more else "")
