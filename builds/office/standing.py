"""What is in the shop now: work in progress, deposits held, the bench's load, quotes that are open."""

import datetime
from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from django.conf import settings
from django.db.models import Count, F, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from builds.bench_now import bench_week_min
from builds.earnings.figures import NAMES, Figures, figures_of
from builds.models import MoneyEntry, Ticket, TicketTotals, WorkEntry
from builds.office import tables
from builds.office.behind import address_of
from builds.office.keeping import kept_figures
from builds.office.tables import Column, Row, Table
from builds.states import ACCEPTED, BENCH, CHECKED, QUOTED, STATE_WORDS
from catalog import shelf
from catalog.models import ShopRates
from shop import clock
from shop.money import round_money

IN_WORK = (ACCEPTED, BENCH, CHECKED)
HOLDS_MONEY = (QUOTED, *IN_WORK)
COLUMNS = (
    Column("Job", tables.TEXT),
    Column("State", tables.TEXT),
    Column("Days since the yes", tables.COUNT, strong=True),
    Column("Agreed, before tax"),
    Column("Worked, min", tables.MINUTES),
    Column("Estimated, min", tables.MINUTES),
    Column("Cost of work so far"),
    Column("Money held"),
)


@dataclass(frozen=True)
class Standing:
    """What is in work: each ticket as a row, the sums, ages and the bench's load."""

    table: Table
    tickets: int
    agreed: Decimal
    spent: Decimal
    held: Decimal
    held_on: int
    middle_days: float | None
    oldest_days: int | None
    queue_min: float
    week_min: float
    quotes_open: int
    quotes_total: Decimal

    @property
    def weeks(self) -> float:
        return self.queue_min / self.week_min


def standing() -> Standing:
    """Return what is in the shop now, in a fixed number of queries.

    Work in progress: tickets that are agreed and not handed over; its money is what was agreed before tax, what went
    in is minutes worked at the labour cost of their day. Deposits held: money received less paid back, on tickets that
    are not handed over. Bench load: minutes agreed and not worked yet / bench minutes of a week. Common practice, no
    source.
    """
    today, rates = clock.today(), shelf.rates_on(clock.today())
    tickets = list(
        Ticket.objects.filter(state__in=IN_WORK, agreed_quote__isnull=False)
        .select_related("totals", "agreed_quote__acceptance")
        .only("number", "title", "state", "totals", "agreed_quote__ticket", "agreed_quote__acceptance__at")
        .order_by("pk")
    )
    spent, held = spent_by_ticket(), held_by_ticket()
    rows, ages, nothing = [], [], round_money(Decimal(0), settings.CURRENCY)
    for ticket in tickets:
        figures = kept_figures(ticket.totals) if hasattr(ticket, "totals") else Figures()
        age = (today - clock.local(ticket.agreed_quote.acceptance.at).date()).days
        minutes, cost = spent.get(ticket.pk, (Decimal(0), nothing))
        ages.append(age)
        figured = (figures.revenue, minutes, figures.estimated_min, cost, held.get(ticket.pk, nothing))
        cells = (ticket.title, STATE_WORDS[ticket.state], age, *figured)
        rows.append(Row(ticket.number, cells, address_of(ticket.number)))
    rows.sort(key=lambda row: -row.cells[2])
    open_quotes = Ticket.objects.filter(state=QUOTED).values_list("quoted_total", flat=True)
    money = [total or Decimal(0) for total in open_quotes]
    return Standing(
        table=Table("Agreed and not handed over", "Ticket", COLUMNS, rows, total_row(rows)),
        tickets=len(tickets),
        agreed=sum((row.cells[3] for row in rows), nothing),
        spent=sum((row.cells[6] for row in rows), nothing),
        held=sum(held.values(), nothing),
        held_on=sum(1 for amount in held.values() if amount),
        middle_days=median(ages) if ages else None,
        oldest_days=max(ages, default=None),
        queue_min=queue_min(),
        week_min=bench_week_min(rates),
        quotes_open=len(money),
        quotes_total=sum(money, nothing),
    )


@dataclass(frozen=True)
class InBrief:
    """The same for the evening page, as sums alone."""

    tickets: int
    agreed: Decimal
    held: Decimal
    weeks: float


def in_brief(rates: ShopRates) -> InBrief:
    """Return work in progress, deposits held and bench load as sums, in four queries."""
    sums = TicketTotals.objects.filter(ticket__state__in=IN_WORK).aggregate(
        count=Count("pk"), **{f"sum_{name}": Sum(name) for name in NAMES}
    )
    nothing = round_money(Decimal(0), settings.CURRENCY)
    return InBrief(
        tickets=sums["count"],
        agreed=nothing + figures_of({name: sums[f"sum_{name}"] for name in NAMES}).revenue,
        held=sum(held_by_ticket().values(), nothing),
        weeks=queue_min() / bench_week_min(rates),
    )


def total_row(rows: list[Row]) -> Row | None:
    if not rows:
        return None
    sums = [sum(row.cells[place] for row in rows) for place in range(3, len(COLUMNS))]
    return Row("All", (f"{len(rows)} tickets", "", None, *sums))


def spent_by_ticket() -> dict[int, tuple[Decimal, Decimal]]:
    """Return the minutes worked on each ticket in work, and what they cost at the rates of their days."""
    minutes: dict[int, Decimal] = defaultdict(Decimal)
    by_hour: dict[int, Decimal] = defaultdict(Decimal)
    rate: dict[datetime.date, Decimal] = {}
    entries = WorkEntry.objects.filter(ticket__state__in=IN_WORK).order_by()
    for ticket, worked, at in entries.values_list("ticket", "minutes", "at"):
        day = clock.local(at).date()
        if day not in rate:
            rate[day] = shelf.rates_on(day).labour_cost_per_h
        exact = Decimal(repr(worked))
        minutes[ticket] += exact
        by_hour[ticket] += exact * rate[day]
    return {ticket: (minutes[ticket], round_money(by_hour[ticket] / 60, settings.CURRENCY)) for ticket in minutes}


def held_by_ticket() -> dict[int, Decimal]:
    """Return the money received less paid back on each ticket that is not handed over."""
    rows = MoneyEntry.objects.filter(ticket__state__in=HOLDS_MONEY).order_by().values("ticket", "kind")
    held: dict[int, Decimal] = defaultdict(Decimal)
    for ticket, kind, amount in rows.annotate(sum=Sum("amount")).values_list("ticket", "kind", "sum"):
        held[ticket] += -amount if kind == MoneyEntry.Kind.REFUND else amount
    return dict(held)


def queue_min() -> float:
    """Return the bench minutes that are agreed and not worked yet; one query."""
    waiting = Ticket.objects.filter(state__in=(ACCEPTED, BENCH), agreed_bench_min__isnull=False)
    worked = WorkEntry.objects.filter(ticket=OuterRef("pk")).order_by().values("ticket").annotate(m=Sum("minutes"))
    left = F("agreed_bench_min") - Coalesce(Subquery(worked.values("m")), 0.0)
    return sum(max(0.0, minutes) for minutes in waiting.values_list(left, flat=True))
