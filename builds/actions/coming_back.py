"""Boats that come back: opened on the original ticket by cause, given time, worked on, ended with what was done."""

import math
from decimal import Decimal

from django.db.models import Max

from builds.actions.ground import Refused, acting, require
from builds.models import ComeBack, ComeBackEnd, ComeBackTime, Ticket, WorkEntry
from shop import clock

PHASE = "test"
"""Minutes on a boat that came back have no step of the work order; finding out what is wrong is a test."""


def open_come_back(
    actor, ticket: Ticket, *, cause: str, words: str, minutes: float | None = None, revision: int | None = None
) -> ComeBack:
    """Write down that the boat came back, with what, and how long it may take, where somebody can say [min]."""
    require(actor, "open_come_back")
    if cause not in ComeBack.Cause.values:
        raise Refused("The cause is missing. Choose the nearest; what it was is written when it is done.")
    if not words.strip():
        raise Refused("What is wrong is missing. Write it in the customer's words.")
    said = {"cause": cause, "words": words.strip()} | ({"minutes": minutes} if minutes else {})
    with acting(actor, ticket, "open_come_back", "open come-back", revision, said=said) as changed:
        last = ComeBack.objects.filter(ticket=changed).aggregate(Max("n"))["n__max"] or 0
        back = ComeBack.objects.create(
            ticket=changed, n=last + 1, cause=cause, words=words.strip(), opened_at=clock.now(), opened_by=actor
        )
        if minutes:
            ComeBackTime.objects.create(come_back=back, minutes=math.ceil(minutes))
    return back


def estimate_come_back(actor, back: ComeBack, *, minutes: float) -> ComeBackTime:
    """Write down how long a boat that came back may take at the bench [min]; the last word holds."""
    require(actor, "estimate_come_back")
    said = {"come_back": back.n, "minutes": minutes}
    with acting(actor, back.ticket, "estimate_come_back", "estimate come-back", said=said):
        refuse_ended(back)
        time, _ = ComeBackTime.objects.update_or_create(come_back=back, defaults={"minutes": math.ceil(minutes)})
    return time


def work_on(actor, back: ComeBack, *, minutes: float) -> WorkEntry:
    """Write down minutes on a boat that came back."""
    require(actor, "work_come_back")
    said = {"come_back": back.n, "minutes": minutes}
    with acting(actor, back.ticket, "work_come_back", "work on come-back", said=said) as changed:
        refuse_ended(back)
        return WorkEntry.objects.create(
            ticket=changed, tech=actor, at=clock.now(), phase=PHASE, minutes=minutes, come_back=back
        )


def end_come_back(actor, back: ComeBack, *, words: str, parts_cost: Decimal = Decimal(0)) -> ComeBackEnd:
    """Write down what was done about it."""
    require(actor, "end_come_back")
    if not words.strip():
        raise Refused("What was done is missing. Write it in a few words.")
    said = {"come_back": back.n, "words": words.strip()}
    with acting(actor, back.ticket, "end_come_back", "end come-back", said=said):
        refuse_ended(back)
        return ComeBackEnd.objects.create(
            come_back=back, at=clock.now(), by=actor, words=words.strip(), parts_cost=parts_cost
        )


def refuse_ended(back: ComeBack) -> None:
    if ComeBackEnd.objects.filter(come_back=back).exists():
        raise Refused("It is done and closed already. Open another come-back on the ticket.")
