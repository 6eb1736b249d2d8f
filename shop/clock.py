"""The time of an act: the present, or a moment of the past while an invented year is written down."""

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.utils import timezone

_moment: ContextVar[datetime.datetime | None] = ContextVar("moment", default=None)


def now() -> datetime.datetime:
    """Return the moment that an act is written down with."""
    return _moment.get() or timezone.now()


def today() -> datetime.date:
    """Return the shop's day at that moment."""
    return timezone.localdate(now())


def local(moment: datetime.datetime) -> datetime.datetime:
    """Return a moment on the shop's clock."""
    return timezone.localtime(moment)


def start_of_today() -> datetime.datetime:
    """Return the first moment of the shop's day."""
    return timezone.make_aware(datetime.datetime.combine(today(), datetime.time.min))


@contextmanager
def at(moment: datetime.datetime) -> Iterator[None]:
    """Let acts happen at a moment of the past."""
    token = _moment.set(moment)
    try:
        yield
    finally:
        _moment.reset(token)
