"""The bench's week: per tech and day what is worked on and what cures meanwhile, for the screen and as a paper."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .figures import for_right_edge, moment

WORK, WET, CURE = "work", "wet", "cure"


@dataclass(frozen=True)
class Entry:
    """One block of a day: of which kind, when, which ticket on which boat, and what has to be said of it.

    `back` is the number of the come-back, where the boat came back.
    """

    kind: str
    when: str
    number: str
    title: str
    boat: str
    said: str = ""
    back: int | None = None


@dataclass(frozen=True)
class WeekDay:
    """One day of a tech; `hours` says how long the tech is here, or that it is a day off."""

    date: datetime.date
    hours: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Person:
    name: str
    days: tuple[WeekDay, ...]


@dataclass(frozen=True)
class LateTicket:
    """A ticket that is ready after the day that was given, and why."""

    number: str
    title: str
    to_float: bool
    due_on: datetime.date
    ready_on: datetime.date
    days: int
    why: str


@dataclass(frozen=True)
class Week:
    """A week from its Monday on; late tickets of all weeks come first, tickets that found no time last."""

    monday: datetime.date
    days: tuple[datetime.date, ...]
    people: tuple[Person, ...]
    late: tuple[LateTicket, ...]
    without_time: tuple[str, ...]

    @property
    def last_day(self) -> datetime.date:
        return self.days[-1] if self.days else self.monday + datetime.timedelta(days=6)


def bench_week_context(week: Week, shop_name: str, at: datetime.datetime) -> Mapping[str, Any]:
    """Return what the printed week shows. No price and no customer is among it."""
    span = f"{week.monday.day} {week.monday:%b} to {week.last_day.day} {week.last_day:%b %Y}"
    return {
        "week": week,
        "span": span,
        "shop_name": shop_name,
        "left": for_right_edge("The bench's week"),
        "right": for_right_edge(span),
        "foot": f"The bench's week as it stood on {moment(at)}. It moves with the work.",
    }
