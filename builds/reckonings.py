"""Reckonings go on whenever somebody looks at them: a few slices at each look, so that no page stands still."""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from builds.models import Reckoning, ReckoningSlice
from shop import clock

SLICE_TICKETS = 40
LOOK_S = 0.4
LONG_LOOK_S = 5.0
"""Without scripts a person presses a link to go on, and rather waits than presses often."""
Found = dict[str, Any]


@dataclass(frozen=True)
class Work:
    """How one kind of reckoning is done: what a slice of tickets comes to, and what all slices come to.

    `keeps_slices` says whether they are needed once the reckoning has ended.
    """

    of_slice: Callable[[Reckoning, list[int]], Found]
    of_all: Callable[[Reckoning, Iterable[Found]], Found]
    keeps_slices: bool


@dataclass(frozen=True)
class Progress:
    """How many tickets of how many are done."""

    done: int
    of: int

    @property
    def share(self) -> float:
        return self.done / self.of if self.of else 1.0


def latest(kind: str, *, ended: bool) -> Reckoning | None:
    """Return the latest reckoning of a kind that has ended, or that has not."""
    return Reckoning.objects.filter(kind=kind, ended_at__isnull=not ended).order_by("-id").first()


def go_on(reckoning: Reckoning, work: Work, seconds: float = LOOK_S) -> Progress:
    """Do slices that are not done yet for about so long, end the reckoning after the last, and return how far it is.

    Looking is enough: what a slice comes to follows from what is kept, and whoever else looks does it but once.
    """
    if reckoning.ended_at:
        return Progress(len(reckoning.tickets), len(reckoning.tickets))
    until = time.monotonic() + seconds
    done = set(reckoning.slices.values_list("n", flat=True))
    waiting = [n for n in range(slices_in(reckoning)) if n not in done]
    for n in waiting:
        found = work.of_slice(reckoning, reckoning.tickets[n * SLICE_TICKETS : (n + 1) * SLICE_TICKETS])
        ReckoningSlice.objects.bulk_create(
            [ReckoningSlice(reckoning=reckoning, n=n, found=found)], ignore_conflicts=True
        )
        done.add(n)
        if time.monotonic() > until:
            break
    if len(done) == slices_in(reckoning) and time.monotonic() <= until:
        end(reckoning, work)
    return Progress(min(len(done) * SLICE_TICKETS, len(reckoning.tickets)), len(reckoning.tickets))


def slices_in(reckoning: Reckoning) -> int:
    return -(-len(reckoning.tickets) // SLICE_TICKETS)


def end(reckoning: Reckoning, work: Work) -> None:
    """Write down what all slices come to."""
    found = work.of_all(reckoning, reckoning.slices.values_list("found", flat=True).iterator())
    with transaction.atomic():
        ended = Reckoning.objects.filter(pk=reckoning.pk, ended_at__isnull=True)
        if ended.update(found=found, ended_at=clock.now()) and not work.keeps_slices:
            reckoning.slices.all().delete()
    reckoning.refresh_from_db()
