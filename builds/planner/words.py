"""Days, hours and lists as the calendar says them."""

import datetime
from collections.abc import Sequence


def day_words(day: datetime.date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def time_words(moment: datetime.datetime) -> str:
    return f"{day_words(moment.date())}, {moment:%H:%M}"


def hour_words(minutes: float) -> str:
    return f"{int(minutes // 60)}\u202fh\u202f{int(minutes % 60):02d}"


def listed(names: Sequence[str], others: str = "") -> str:
    """Return names as a sentence says them; `others` stands at the end."""
    if others or len(names) < 2:
        return ", ".join(names) + others
    return f"{', '.join(names[:-1])} and {names[-1]}"
