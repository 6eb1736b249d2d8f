"""The bench as it is now, from rows to what the planner takes: techs with their hours, work that is left, what is held.

No price, no cost and no customer comes through here.
"""

import datetime
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Sum

from builds import querysets
from builds.bench import WET
from builds.documents.since import names_of
from builds.models import ComeBack, HullRecord, StepMark, Ticket, WorkEntry
from builds.parts import parts_of
from builds.planner.calendar import Plan, plan
from builds.planner.workload import DAY_MIN, BenchTicket, Held, Stretch, Tech, percentile_factor, stretches_of
from builds.states import BENCH
from catalog import shelf
from catalog.models import ShopRates
from shop import clock

OPENS_MIN = 9 * 60


@dataclass(frozen=True)
class Job:
    """What a page says of one piece of work: of a ticket, or of a boat that came back."""

    ticket: Ticket
    title: str
    back: ComeBack | None = None

    @property
    def number(self) -> str:
        return self.ticket.number

    @property
    def hull(self) -> HullRecord:
        return self.ticket.hull


@dataclass(frozen=True)
class Progress:
    """How far the bench is with a ticket: the latest mark of each step by its name, and the minutes worked [min]."""

    marks: Mapping[str, StepMark]
    worked_min: float = 0.0


@dataclass(frozen=True)
class BenchNow:
    """All that a plan is made of, and what is shown of it: jobs and progress by the key of the planner's ticket."""

    techs: tuple[Tech, ...]
    tickets: tuple[BenchTicket, ...]
    jobs: Mapping[str, Job]
    progress: Mapping[str, Progress]
    begin: datetime.datetime
    working_days: tuple[int, ...]

    def plan(self) -> Plan:
        return plan(self.techs, self.tickets, self.begin, self.working_days)

    def name_of(self, tech: str) -> str:
        return next((one.name for one in self.techs if one.key == tech), "")

    @property
    def rows(self) -> dict[str, Ticket]:
        """The tickets that may be moved, by their number."""
        return {key: job.ticket for key, job in self.jobs.items() if job.back is None}


def bench_now() -> BenchNow:
    """Return the bench as it is now, in a fixed number of queries.

    Work stands in the order of the customers' yes; a boat that came back has its turn by the day on which it came.
    """
    rates = shelf.rates_on(clock.today())
    rows, backs = list(querysets.for_calendar()), list(querysets.come_backs_with_time())
    progress, stand = progress_of(rows), parts_of(rows)
    turns: list[Ticket | ComeBack] = [*rows, *backs]
    turns.sort(key=lambda one: one.opened_at if isinstance(one, ComeBack) else one.agreed_quote.acceptance.at)
    tickets, jobs = [], {}
    for place, one in enumerate(turns):
        if isinstance(one, ComeBack):
            ticket, job = came_back(one, place), Job(one.ticket, f"Came back: {one.get_cause_display()}", one)
        else:
            ticket = agreed_ticket(one, place, progress[one.number], rates, stand[one.pk].here_on)
            job = Job(one, one.title)
        tickets.append(ticket)
        jobs[ticket.key] = job
    now = naive(clock.now())
    return BenchNow(techs(rates), tuple(tickets), jobs, progress, now, tuple(rates.working_days))


def naive(moment: datetime.datetime) -> datetime.datetime:
    """Return a moment on the shop's clock, as the planner counts."""
    return clock.local(moment).replace(tzinfo=None)


# Techs.


def techs(rates: ShopRates) -> tuple[Tech, ...]:
    """Return who works at the bench from today on, by name; one query."""
    found: dict[int, tuple[str, list[int] | None, int | None]] = {}
    off: dict[int, set[datetime.date]] = {}
    for key, name, week_min, opens_min, day in querysets.techs_in_rows(clock.today()):
        found[key] = name, week_min, opens_min
        off.setdefault(key, set()).update([day] if day else [])
    return tuple(tech_of(key, *found[key], off[key], rates) for key in found)


def tech_of(
    key: int,
    name: str,
    week_min: Sequence[int] | None,
    opens_min: int | None,
    days_off: set[datetime.date],
    rates: ShopRates,
) -> Tech:
    """Return a person as the planner takes one; who has no hours written down works the shop's."""
    shops = shop_tech(rates)
    return Tech(
        key=str(key),
        name=name,
        week_min=tuple(week_min) if week_min else shops.week_min,
        opens_min=shops.opens_min if opens_min is None else opens_min,
        days_off=frozenset(days_off),
    )


def shop_tech(rates: ShopRates) -> Tech:
    """Return one tech of the shop's own hours: who has none written down, and the bench before anyone works at it."""
    day_min = round(rates.bench_hours_per_day * 60)
    week_min = tuple(day_min if day in rates.working_days else 0 for day in range(1, 8))
    return Tech("", "The bench", week_min, min(OPENS_MIN, DAY_MIN - day_min))


def bench_week_min(rates: ShopRates) -> int:
    """Return what everyone at the bench works in a week together, days off aside [min, above 0]; one query.

    Where nobody has hours, it is one tech of the shop's own.
    """
    return sum(sum(tech.week_min) for tech in techs(rates)) or sum(shop_tech(rates).week_min)


# Tickets.


def progress_of(rows: Sequence[Ticket]) -> dict[str, Progress]:
    """Return how far the bench is with each ticket, by its number. Two queries."""
    marks: dict[int, dict[str, StepMark]] = {}
    for mark in StepMark.objects.filter(ticket__in=rows):
        marks.setdefault(mark.ticket_id, {})[mark.step] = mark
    entries = WorkEntry.objects.filter(ticket__in=rows, come_back=None).order_by()
    worked = dict(entries.values_list("ticket").annotate(minutes=Sum("minutes")))
    return {row.number: Progress(marks.get(row.pk, {}), worked.get(row.pk, 0.0)) for row in rows}


def agreed_ticket(
    row: Ticket, place: int, progress: Progress, rates: ShopRates, parts_on: datetime.date | None
) -> BenchTicket:
    """Return a ticket as the planner takes it, from the estimate that the customer agreed to.

    `parts_on` is the day on which its last part is here, None where every one is.
    """
    kept = row.agreed_change or row.agreed_quote
    labour = json.loads(kept.estimate_json)["labour"]
    left, cured_at = work_left(labour["order"], progress)
    begun = row.state == BENCH and bool(progress.marks or progress.worked_min)
    asked = getattr(row, "asked_of", None)
    return BenchTicket(
        key=row.number,
        place=place,
        stretches=stretches_of(left, factor_of(labour["mean_min"], labour["sd_min"], rates)),
        parts_on=None if begun else parts_on,
        float_by=asked.float_by if asked else None,
        promised_on=kept.ready_on,
        agreed_on=naive(row.agreed_quote.acceptance.at).date(),
        tech=str(row.tech_id or ""),
        begun=begun,
        cured_at=cured_at,
        held=held_of(row),
    )


def factor_of(mean_min: float, sd_min: float, rates: ShopRates) -> float:
    """Return by what the steps' mean minutes are multiplied, so that they suffice as often as the shop quotes for."""
    return percentile_factor(mean_min, sd_min, rates.labour_percentile)


def work_left(
    order: Sequence[Mapping[str, Any]], progress: Progress
) -> tuple[list[tuple[float, float, bool]], datetime.datetime | None]:
    """Return the steps that are left, each with minutes, cure and whether it waits for it, and when all is cured.

    Ticks say what is done. Where nobody ticks, the minutes worked are taken off the steps in their order.
    """
    ticked = any(mark.done for mark in progress.marks.values())
    spent = 0.0 if ticked else progress.worked_min
    names = names_of(order) if progress.marks else [""] * len(order)
    left, cured = [], None
    for name, step in zip(names, order, strict=True):
        mark, cure_h = progress.marks.get(name), step.get("cure_h") or 0
        if mark and mark.done:
            if cure_h:
                end = naive(mark.at + datetime.timedelta(hours=cure_h))
                cured = max(cured, end) if cured else end
            continue
        off = min(spent, step["minutes"])
        spent -= off
        left.append((step["minutes"] - off, cure_h, bool(step.get("waits_cure")) or step["line"] in WET))
    return left, cured


def held_of(row: Ticket) -> Held:
    held = getattr(row, "held_place", None)
    if held is None:
        return Held()
    before, after = (other.number if other else "" for other in (held.before, held.after))
    return Held(tech=str(held.tech_id or ""), day=held.day, before=before, after=after)


def came_back(back: ComeBack, place: int) -> BenchTicket:
    """Return a boat that came back as the planner takes it: what is left of its time; whoever began it ends it."""
    left = max(0, math.ceil(back.time.minutes - back.worked_min))
    begun = back.last_tech is not None
    return BenchTicket(
        key=f"{back.ticket.number} come-back {back.n}",
        place=place,
        stretches=(Stretch(left),),
        tech=str(back.last_tech or ""),
        begun=begun,
    )
