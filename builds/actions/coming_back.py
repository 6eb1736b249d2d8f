"""Boats that come back: opened on the original ticket by cause, worked on, ended with what was done."""

from decimal import Decimal

from django.db.models import Max

from builds.actions.ground import Refused, acting, require
from builds.models import ComeBack, ComeBackEnd, Ticket, WorkEntry
from shop import clock

PHASE = "test"
"""Minutes on a boat that came back have no step of the work order; finding out what is wrong is a test."""


def open_come_back(actor, ticket: Ticket, *, cause: str, words: str, revision: int | None = None) -> ComeBack:
    """Write down that the boat came back, and with what."""
    require(actor, "open_come_back")
    if cause not in ComeBack.Cause.values:
        raise Refused("The cause is missing. Choose the nearest; what it was is written when it is done.")
    if not words.strip():
        raise Refused("What is wrong is missing. Write it in the customer's words.")
    said = {"cause": cause, "words": words.strip()}
    with acting(actor, ticket, "open_come_back", "open come-back", revision, said=said) as changed:
        last = ComeBack.objects.filter(ticket=changed).aggregate(Max("n"))["n__max"] or 0
        return ComeBack.objects.create(
            ticket=changed, n=last + 1, cause=cause, words=words.strip(), opened_at=clock.now(), opened_by=actor
        )


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
