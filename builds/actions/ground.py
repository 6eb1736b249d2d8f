"""What every action stands on: who may, in which state, on which revision, and the journal entry at the end."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction

from builds.content import content_of
from builds.models import Ticket
from builds.states import ACTS, STATE_WORDS, is_open, state_after
from shop import clock, journal, roles


class Refused(Exception):
    """An act that cannot be done now, with the sentence that says why."""


class Outdated(Refused):
    """Someone else changed the ticket since this page was shown."""

    def __init__(self, ticket: Ticket):
        self.ticket = ticket
        super().__init__("Someone else changed this ticket in the meantime. Nothing of yours was saved over it.")


def require(actor, act: str) -> None:
    if not roles.may(actor, ACTS[act][2]):
        raise PermissionDenied


@contextmanager
def acting(
    actor,
    ticket: Ticket,
    act: str,
    name: str,
    revision: int | None = None,
    why: str = "",
    said: dict[str, Any] | None = None,
) -> Iterator[Ticket]:
    """Lock the ticket, check the act, hand it out to be changed, then save, move its state and write the journal.

    `name` is what the journal calls the change. `revision` is the one that the page showed, where it matters.
    The journal keeps the ticket's content before and after; of an act that leaves it alone it keeps what was `said`.
    Raises PermissionDenied, Refused (wrong state) or Outdated.
    """
    require(actor, act)
    with transaction.atomic():
        locked = Ticket.objects.select_for_update().get(pk=ticket.pk)
        if revision is not None and revision != locked.revision:
            raise Outdated(locked)
        if not is_open(act, locked.state):
            raise Refused(f"The ticket is {STATE_WORDS[locked.state]}; that cannot be done now.")
        before = {"state": locked.state, **(content_of(locked) if said is None else {})}
        yield locked
        now = clock.now()
        if (state := state_after(act, locked.state)) != locked.state:
            locked.state, locked.state_at = state, now
        locked.revision += 1
        locked.changed_at = now
        locked.save()
        after = {"state": locked.state, **(content_of(locked) if said is None else said)}
        journal.record(actor, name, locked, before, after, why)
