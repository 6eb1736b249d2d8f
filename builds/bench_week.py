"""From rows to the bench's calendar: techs with their hours, tickets with the work that is left, and what is planned.

No price, no cost and no customer comes through here.
"""

import datetime
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Sum

from builds import querysets
from builds.bench import WET
from builds.documents import bench_week as paper
from builds.documents.since import names_of
from builds.models import StepMark, Ticket, WorkEntry
from builds.parts import parts_of
from builds.planner.calendar import Placed, Plan, plan
from builds.planner.reasons import late_in
from builds.planner.words import hour_words, time_words
from builds.planner.workload import BenchTicket, Held, Tech, percentile_factor, stretches_of
from builds.states import BENCH
from catalog import shelf
from catalog.models import ShopRates
from shop import clock
from shop.models import User

DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class BenchNow:
    """All that a plan is made of: techs, tickets as the planner takes them, their rows, the moment, the shop's days."""

    techs: tuple[Tech, ...]
    tickets: tuple[BenchTicket, ...]
    rows: dict[str, Ticket]
    begin: datetime.datetime
    working_days: tuple[int, ...]

    def plan(self) -> Plan:
        return plan(self.techs, self.tickets, self.begin, self.working_days)

    def name_of(self, tech: str) -> str:
        return next((one.name for one in self.techs if one.key == tech), "")


def bench_now() -> BenchNow:
    """Return the bench as it is now, in a fixed number of queries."""
    rates = shelf.rates_on(clock.today())
    rows = list(querysets.for_calendar())
    techs = tuple(tech_of(person, rates) for person in querysets.techs())
    marks = marks_of(rows)
    worked = dict(
        WorkEntry.objects.filter(ticket__in=rows, come_back=None)
        .order_by()
        .values_list("ticket")
        .annotate(minutes=Sum("minutes"))
    )
    stand = parts_of(rows)
    tickets = tuple(
        bench_ticket(row, place, marks.get(row.pk, {}), worked.get(row.pk, 0.0), rates, stand[row.pk].here_on)
        for place, row in enumerate(rows)
    )
    now = naive(clock.now())
    return BenchNow(techs, tickets, {row.number: row for row in rows}, now, tuple(rates.working_days))


def naive(moment: datetime.datetime) -> datetime.datetime:
    """Return a moment on the shop's clock, as the planner counts."""
    return clock.local(moment).replace(tzinfo=None)


def tech_of(person: User, rates: ShopRates) -> Tech:
    """Return a person as the planner takes one; who has no hours written down works the shop's."""
    own = getattr(person, "bench_hours", None)
    shops = tuple(round(rates.bench_hours_per_day * 60) if day in rates.working_days else 0 for day in range(1, 8))
    return Tech(
        key=str(person.pk),
        name=str(person),
        week_min=tuple(own.week_min) if own else shops,
        opens_min=own.opens_min if own else 9 * 60,
        days_off=frozenset(off.day for off in person.days_off.all()),
    )


def marks_of(rows: list[Ticket]) -> dict[int, dict[str, StepMark]]:
    """Return each ticket's latest mark of each step, by the step's name."""
    found: dict[int, dict[str, StepMark]] = {}
    for mark in StepMark.objects.filter(ticket__in=rows):
        found.setdefault(mark.ticket_id, {})[mark.step] = mark
    return found


def bench_ticket(
    row: Ticket,
    place: int,
    marks: dict[str, StepMark],
    worked: float,
    rates: ShopRates,
    parts_on: datetime.date | None,
) -> BenchTicket:
    """Return a ticket as the planner takes it, from the estimate that the customer agreed to.

    `parts_on` is the day on which its last part is here, None where every one is.
    """
    kept = row.agreed_change or row.agreed_quote
    labour = json.loads(kept.estimate_json)["labour"]
    factor = percentile_factor(labour["mean_min"], labour["sd_min"], rates.labour_percentile)
    left, cured = work_left(labour["order"], marks, worked)
    begun = row.state == BENCH and bool(marks or worked)
    asked = getattr(row, "asked_of", None)
    return BenchTicket(
        key=row.number,
        place=place,
        stretches=stretches_of(left, factor),
        parts_on=None if begun else parts_on,
        float_by=asked.float_by if asked else None,
        promised_on=kept.ready_on,
        tech=str(row.tech_id or ""),
        begun=begun,
        cured_at=naive(cured) if cured else None,
        held=held_of(row),
    )


def work_left(order: list[dict], marks: dict[str, StepMark], worked: float):
    """Return the steps that are left, each with minutes, cure and whether it waits for it, and when all is cured.

    Ticks say what is done. Where nobody ticks, the minutes worked are taken off the steps in their order.
    """
    ticked = any(mark.done for mark in marks.values())
    spent = 0.0 if ticked else worked
    left, cured = [], None
    for name, step in zip(names_of(order), order, strict=True):
        mark, cure_h = marks.get(name), step.get("cure_h") or 0
        if mark and mark.done:
            end = mark.at + datetime.timedelta(hours=cure_h)
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


# A week of it, to look at.


def week_of(bench: BenchNow, made: Plan, monday: datetime.date, only: str = "") -> paper.Week:
    """Return one week of a plan: by tech and day; a cure stands on each working day that it lasts, and says so.

    `only` is the key of the one tech who is shown; the late tickets are always all.
    """
    span = [monday + n * DAY for n in range(7)]
    worked = {block.day for block in made.blocks}
    days = tuple(day for day in span if day in worked or any(tech.minutes_on(day) for tech in bench.techs))
    people = tuple(person_of(bench, made, tech, days) for tech in bench.techs if only in ("", tech.key))
    late = tuple(
        paper.LateTicket(
            one.ticket.key,
            bench.rows[one.ticket.key].title,
            one.to_float,
            one.due_on,
            one.ready_on,
            one.days,
            one.why,
        )
        for one in late_in(made, bench.techs, bench.working_days)
    )
    return paper.Week(monday, days or (monday,), people, late, tuple(one.key for one in made.unplaced))


def person_of(bench: BenchNow, made: Plan, tech: Tech, days: Iterable[datetime.date]) -> paper.Person:
    own = [one for one in made.placed if one.tech == tech.key]
    return paper.Person(tech.name, tuple(day_of(bench, tech, own, day) for day in days))


def day_of(bench: BenchNow, tech: Tech, own: list[Placed], day: datetime.date) -> paper.WeekDay:
    minutes = tech.minutes_on(day)
    off = "day off" if day in tech.days_off else "no bench hours"
    entries = sorted((entry for one in own for entry in entries_of(bench, one, day)), key=lambda entry: entry[:2])
    return paper.WeekDay(day, hour_words(minutes) if minutes else off, tuple(entry for *_, entry in entries))


def entries_of(
    bench: BenchNow, one: Placed, day: datetime.date
) -> Iterator[tuple[datetime.datetime, str, paper.Entry]]:
    """Yield what a day shows of a ticket, each with what it is sorted by: work by its begin, a cure by its begin."""
    row = bench.rows[one.ticket.key]
    boat = f"{row.hull.number}, {row.hull.name}"
    for block in one.blocks:
        if block.day == day:
            kind = paper.WET if block.wet else paper.WORK
            said = "After the cure" if block.wet else ""
            when = f"{block.start:%H:%M}–{block.end:%H:%M}"
            yield block.start, row.number, paper.Entry(kind, when, row.number, row.title, boat, said)
    for start, end in one.cures:
        if start.date() <= day <= end.date():
            when = f"from {start:%H:%M}" if start.date() == day else "goes on"
            said = f"Cures until {time_words(end)}. Nobody works on it."
            yield start, row.number, paper.Entry(paper.CURE, when, row.number, row.title, boat, said)
