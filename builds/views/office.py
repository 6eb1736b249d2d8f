"""The owner's office: what earned and what did not, by every view; the tickets behind each figure; one ticket."""

from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from builds import querysets
from builds.earnings.earned import PHASE
from builds.earnings.figures import total_of
from builds.earnings.recovery import recoveries
from builds.estimator.accessory import PHASES
from builds.models import TicketTotals
from builds.office import behind, charts, sums, tables, used_up
from builds.office.evening import evening
from builds.office.keeping import DAYS, MONTH, OUTCOME
from builds.office.periods import Asked, asked
from builds.office.standing import standing
from builds.office.sums import BY_WORDS
from builds.office.tables import Column, Row, Table
from builds.office.ticket import one_ticket
from catalog import shelf
from shop import clock
from shop.csv_out import csv_response
from shop.roles import OWNER, allow

TICKETS = Column("Tickets", tables.COUNT)
OUTCOMES = dict(TicketTotals.Outcome.choices)


def page(request: HttpRequest, template: str, asked_for: Asked | None = None, **context: Any) -> HttpResponse:
    """Return a page of the office, on screen or for print, with its period."""
    rest = request.GET.copy()
    rest.pop("as", None)
    shared = {
        "door": "office",
        "views": BY_WORDS,
        "asked": asked_for,
        "period": asked_for.period if asked_for else None,
        "paper": is_for_print(request),
        "base": "office/paper.html" if is_for_print(request) else "office/base.html",
        "here": rest.urlencode(),
        "currency": settings.CURRENCY,
    }
    status = 422 if asked_for and asked_for.trouble else 200
    return render(request, template, {**shared, **context}, status=status)


def is_for_print(request: HttpRequest) -> bool:
    return request.GET.get("as") == "print"


def is_for_file(request: HttpRequest) -> bool:
    return request.GET.get("as") == "csv"


@require_GET
@allow(OWNER)
def office(request: HttpRequest) -> HttpResponseBase:
    """What earned in a period, what did not, and why."""
    months = sums.by_month()
    asked_for, paper = asked(request.GET, months), is_for_print(request)
    try:
        rates = shelf.rates_on(clock.today())
    except LookupError as error:
        return render(request, "office/not_yet.html", {"door": "office", "trouble": str(error)})
    found = evening(asked_for.period, rates, months)
    if is_for_file(request):
        return csv_response(found.least.table.as_lines(), f"margins-{asked_for.period.first:%Y-%m}")
    figures = found.figures
    steps = charts.steps_of_sums(figures, found.phases)
    named = [(f"{number} {title}".strip(), margin) for number, title, margin in found.ends if margin > -1000]
    return page(
        request,
        "office/evening.html",
        asked_for,
        found=found,
        figures=figures,
        floor=rates.margin_floor,
        recoveries=recoveries(figures),
        way=charts.way_chart(steps, figures.planned, figures.profit, rates.currency, paper),
        minutes=charts.minutes_chart(figures, paper),
        phases=charts.phases_chart(found.phases, PHASES, paper),
        earned=charts.tickets_chart(named, rates.margin_floor, paper),
        trend=charts.trend_chart(found.trend.months, found.months, rates.margin_floor, paper),
        outcome_words=[(key, words, found.outcomes.get(key, 0)) for key, words in OUTCOMES.items()],
    )


@require_GET
@allow(OWNER)
def by_view(request: HttpRequest, by: str) -> HttpResponseBase:
    """The figures of a period by month, hull type, accessory type, category, bundle, tech, counter person or step."""
    if by not in BY_WORDS:
        raise Http404
    asked_for = asked(request.GET)
    table = table_by(by, asked_for)
    if is_for_file(request):
        return csv_response(table.as_lines(), f"margins-by-{by}")
    _, whole = sums.whole(asked_for.period)
    return page(
        request,
        "office/by.html",
        asked_for,
        by=by,
        by_words=BY_WORDS[by],
        table=table,
        recoveries=recoveries(whole) if by != PHASE else [],
    )


def table_by(by: str, asked_for: Asked) -> Table:
    said = tables.PHASES if by == PHASE else tables.FIGURES
    grouped, names = sums.grouped(by, asked_for.period), sums.names_of(by)
    rows = [
        Row(sums.name_of(by, key, names), (count, *tables.cells(figures, said)), address(by, key, asked_for))
        for key, (count, figures) in sorted(grouped.items(), key=lambda one: place_in_list(by, *one))
    ]
    whole = total_of(figures for _, figures in grouped.values())
    count, _ = sums.whole(asked_for.period)
    total = Row("All", (count, *tables.cells(whole, said)), address(MONTH, "", asked_for)) if rows else None
    name = BY_WORDS[by]
    return Table(
        f"By {name}, {asked_for.period.words}", name.capitalize(), (TICKETS, *tables.columns(said)), rows, total
    )


def place_in_list(by: str, key: str, counted: sums.Counted) -> tuple:
    """Return what rows are sorted by: months and steps by their order, the others by margin, what is left over last."""
    if by == MONTH:
        return (key,)
    if by == PHASE:
        return key == "", PHASES.index(key) if key in PHASES else len(PHASES)
    margin = counted[1].margin
    return key == "", margin is None, margin or 0, key


def address(by: str, key: str, asked_for: Asked) -> str:
    """Return where a figure opens to: the tickets behind it."""
    if by == MONTH and key:
        return f"{reverse('builds:behind')}?{urlencode({'by': MONTH, 'from': key, 'to': key})}"
    return f"{reverse('builds:behind')}?{urlencode({'by': by, 'key': key})}&{asked_for.period.query}"


@require_GET
@allow(OWNER)
def tickets(request: HttpRequest) -> HttpResponseBase:
    """The tickets behind a figure."""
    asked_for = asked(request.GET)
    by, key = request.GET.get("by", MONTH), request.GET.get("key", "")[:60]
    order = behind.MOST if request.GET.get("order") == behind.MOST else behind.LEAST
    after = request.GET.get("after", "")
    if by in (OUTCOME, DAYS):
        found = behind.quotes_behind(by, key, asked_for.period, after)
        named = f"quotes {OUTCOMES.get(key, key)}" if by == OUTCOME else f"yes after {key} days"
    elif by in BY_WORDS:
        if is_for_file(request):
            return csv_response(behind.as_lines(by, key, asked_for.period), "tickets")
        found = behind.page_of(by, key, asked_for.period, order, after)
        named = "all" if by == MONTH else f"{BY_WORDS[by]}: {sums.name_of(by, key, sums.names_of(by))}"
    else:
        raise Http404
    if is_for_file(request):
        return csv_response(found.table.as_lines(), "quotes")
    more = request.GET.copy()
    more["after"] = found.after
    fields = {"by": by, "key": key, "order": order}
    return page(
        request,
        "office/tickets.html",
        asked_for,
        table=found.table,
        more=more.urlencode() if found.after else "",
        begun=bool(after),
        named=named,
        fields=fields,
        orders=by not in (OUTCOME, DAYS),
        order=order,
        turned=urlencode({**fields, "order": behind.MOST if order == behind.LEAST else behind.LEAST}),
    )


@require_GET
@allow(OWNER)
def ticket(request: HttpRequest, number: str) -> HttpResponseBase:
    """One ticket: what it earned, why, and the entries behind it."""
    row = get_object_or_404(querysets.in_brief(), number=number)
    found = one_ticket(row)
    if found and is_for_file(request):
        named = {
            "steps": found.steps,
            "kinds": found.kinds,
            "parts": found.parts,
            "entries": found.entries,
            "way": found.way_table,
        }
        which = request.GET.get("table", "way")
        if which not in named:
            raise Http404
        return csv_response(named[which].as_lines(), f"{number}-{which}")
    paper = is_for_print(request)
    rates = shelf.rates_on(clock.today())
    more: dict[str, Any] = {}
    if found:
        steps, way = charts.steps_of_way(found.way), found.way
        more = {
            "way": charts.way_chart(steps, way.planned, way.actual, rates.currency, paper),
            "minutes": charts.minutes_chart(found.figures, paper),
            "recoveries": recoveries(found.figures),
            "figures": found.figures,
        }
    return page(request, "office/ticket.html", ticket=row, found=found, floor=rates.margin_floor, **more)


@require_GET
@allow(OWNER)
def consumables(request: HttpRequest) -> HttpResponseBase:
    """What was used of each consumable against what was estimated, on the tickets handed over in a period."""
    asked_for = asked(request.GET)
    table = used_up.table_of(asked_for.period)
    if is_for_file(request):
        return csv_response(table.as_lines(), f"consumables-{asked_for.period.first:%Y-%m}")
    return page(request, "office/consumables.html", asked_for, table=table, least=used_up.LEAST_TICKETS)


@require_GET
@allow(OWNER)
def now(request: HttpRequest) -> HttpResponseBase:
    """Work in progress, deposits held, bench load and open quotes."""
    found = standing()
    if is_for_file(request):
        return csv_response(found.table.as_lines(), "work-in-progress")
    return page(request, "office/now.html", found=found)


@require_GET
@allow(OWNER)
def quotes(request: HttpRequest) -> HttpResponseBase:
    """Quotes won, lost and lapsed, and the days from quote to yes."""
    asked_for = asked(request.GET)
    found = sums.of_views((OUTCOME, DAYS), asked_for.period)
    days = sums.days_of(found[DAYS])
    counts = {key: found[OUTCOME].get(key, (0, None))[0] for key in OUTCOMES}
    all_ended = sum(counts.values())
    ended = Table(
        f"How quotes ended, {asked_for.period.words}",
        "Ended",
        (Column("Quotes", tables.COUNT), Column("Part of all", tables.SHARE)),
        [
            Row(words, (counts[key], counts[key] / all_ended if all_ended else None), address(OUTCOME, key, asked_for))
            for key, words in OUTCOMES.items()
        ],
        Row("All", (all_ended, 1.0 if all_ended else None)),
    )
    waited = Table(
        "Days from quote to yes",
        "Days",
        (Column("Quotes", tables.COUNT),),
        [Row(str(day), (count,), address(DAYS, str(day), asked_for)) for day, count in days.items()],
    )
    if is_for_file(request):
        table = waited if request.GET.get("table") == "days" else ended
        return csv_response(table.as_lines(), "quotes")
    return page(
        request,
        "office/quotes.html",
        asked_for,
        ended=ended,
        waited=waited,
        chart=charts.days_chart(days, is_for_print(request)),
        half=sums.days_by(0.5, days),
        quarters=(sums.days_by(0.25, days), sums.days_by(0.75, days)),
        nine=sums.days_by(0.9, days),
    )
