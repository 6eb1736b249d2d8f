"""One week of the bench's plan, as the screen and the paper show it. No price and no customer comes through."""

import datetime
from collections.abc import Iterable, Iterator

from builds.bench_now import BenchNow
from builds.documents import bench_week as paper
from builds.planner.calendar import Placed, Plan
from builds.planner.reasons import late_in
from builds.planner.words import hour_words, time_words
from builds.planner.workload import DAY, Tech


def week_of(bench: BenchNow, made: Plan, monday: datetime.date, only: str = "") -> paper.Week:
    """Return what is left of one week of a plan: by tech and day; a cure stands on each working day that it lasts.

    `only` is the key of the one tech who is shown; the late tickets are always all.
    """
    span = [day for n in range(7) if (day := monday + n * DAY) >= bench.begin.date()]
    worked = {block.day for block in made.blocks}
    days = tuple(day for day in span if day in worked or any(tech.minutes_on(day) for tech in bench.techs))
    people = tuple(person_of(bench, made, tech, days) for tech in bench.techs if days and only in ("", tech.key))
    late = tuple(
        paper.LateTicket(
            one.ticket.key,
            bench.jobs[one.ticket.key].title,
            one.to_float,
            one.due_on,
            one.ready_on,
            one.days,
            one.why,
        )
        for one in late_in(made, bench.techs, bench.working_days)
    )
    return paper.Week(monday, days, people, late, tuple(one.key for one in made.unplaced))


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
    job = bench.jobs[one.ticket.key]
    boat = f"{job.hull.number}, {job.hull.name}"
    back = job.back.n if job.back else None
    for block in one.blocks:
        if block.day == day:
            kind = paper.WET if block.wet else paper.WORK
            said = "After the cure" if block.wet else job.back.words if job.back else ""
            when = f"{block.start:%H:%M}–{block.end:%H:%M}"
            yield block.start, job.number, paper.Entry(kind, when, job.number, job.title, boat, said, back)
    for start, end in one.cures:
        if start.date() <= day <= end.date():
            when = f"from {start:%H:%M}" if start.date() == day else "goes on"
            said = f"Cures until {time_words(end)}. Nobody works on it."
            yield start, job.number, paper.Entry(paper.CURE, when, job.number, job.title, boat, said)
