"""A person's calendar feed: what is worked on when and when it cures. No price, no cost, no customer."""

from collections.abc import Iterator

from django.utils import timezone

from builds.bench_now import BenchNow, bench_now
from builds.planner.calendar import Plan
from builds.planner.ical import Event, stream
from shop import clock
from shop.models import User
from shop.roles import TECH


def feed_of(person: User, host: str) -> bytes:
    """Return the blocks of a tech, or of everyone for who is none, as an iCalendar stream."""
    bench = bench_now()
    only = str(person.pk) if person.role == TECH else ""
    name = f"Bench, {person}" if only else "Bench"
    return stream(name, events_of(bench, bench.plan(), only, host), clock.now())


def events_of(bench: BenchNow, made: Plan, only: str, host: str) -> Iterator[Event]:
    """Yield an event for each block; its UID is the ticket's number and the block's place in it, which stay."""
    for one in made.placed:
        if only not in ("", one.tech):
            continue
        job = bench.jobs[one.ticket.key]
        back = f"-back-{job.back.n}" if job.back else ""
        who = "" if only else f"{bench.name_of(one.tech)}: "
        for n, block in enumerate(one.blocks, start=1):
            yield Event(
                uid=f"{job.number}{back}-{n}@{host}",
                start=timezone.make_aware(block.start),
                end=timezone.make_aware(block.end),
                summary=f"{who}{job.number} {job.title}{', after the cure' if block.wet else ''}",
                description="\n".join(
                    [
                        f"{job.hull.number}, {job.hull.name}",
                        *([job.back.words] if job.back else []),
                        f"Ready {one.ready_on:%a %d %b %Y}",
                    ]
                ),
            )
