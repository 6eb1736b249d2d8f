"""What every action stands on: who may, in which state, on which revision, and the journal entry at the end."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction

from builds import personal
from builds.content import content_of, differences
from builds.models import Ticket
from builds.office.keeping import keep_after
from builds.querysets import whole_tickets
from builds.states import ACCEPTED, ACTS, BENCH, NOT_WHILE_CHANGING, STATE_WORDS, is_open, state_after
from catalog.models import CatalogueVersion, version
from shop import clock, journal, once, roles
from shop.journal import history


class Refused(Exception):
    """An act that cannot be done now, with the sentence that says why."""


class Outdated(Refused):
    """Someone else changed the ticket since this page was shown."""

    def __init__(self, ticket: Ticket):
        self.ticket = ticket
        who = history(ticket).order_by("-number").values_list("actor_name", flat=True).first() or "Someone else"
        super().__init__(
            f"{who} changed this ticket in the meantime. Nothing of yours was saved over it. "
            "What you typed is still here; save it over theirs, or go back to theirs."
        )

    @property
    def ticket_now(self) -> Ticket:
        """The ticket as it is, with what belongs to it."""
        return whole_tickets().get(pk=self.ticket.pk)


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
    The journal keeps what changed of the ticket's content, before and after, and what was `said` beside it. A form
    that was sent twice does its work once. Raises PermissionDenied, Refused (wrong state) or Outdated.
    """
    require(actor, act)
    with transaction.atomic():
        locked = Ticket.objects.select_for_update().get(pk=ticket.pk)
        once.spend()
        if revision is not None and revision != locked.revision:
            raise Outdated(locked)
        if act == "change" and locked.changing:
            act = "change_agreed"
        if not is_open(act, locked.state, locked.changing):
            raise Refused(closed_words(act, locked))
        state, content = locked.state, content_of(locked) if act in CHANGE_CONTENT else {}
        yield locked
        now = clock.now()
        if (after_state := state_after(act, locked.state)) != locked.state:
            locked.state, locked.state_at = after_state, now
        locked.revision += 1
        locked.changed_at = now
        locked.save()
        keep_after(act, locked)
        if act in MOVE_BENCH or {state, locked.state} & {ACCEPTED, BENCH}:
            CatalogueVersion.move_on(version.BENCH)
        before, after = differences(content, content_of(locked) if content else {})
        before = personal.put_away(locked, content.get("customer_id"), before)
        after = personal.put_away(locked, locked.customer_id, after | (said or {}))
        journal.record(actor, name, locked, {"state": state, **before}, {"state": locked.state, **after}, why)


# What the bench's calendar is made of changes with every act on agreed work, and with these.
MOVE_BENCH = ("open_come_back", "estimate_come_back", "work_come_back", "end_come_back")
# The acts that change what a ticket says; the others leave its content alone and need not look at it.
CHANGE_CONTENT = ("change", "change_agreed", "drop_change", "accept", "sign", "reopen")


def closed_words(act: str, ticket: Ticket) -> str:
    """Return why an act is not open now."""
    if ticket.changing and act in NOT_WHILE_CHANGING:
        return "A change order is being written. Record the customer's consent or drop the change first."
    if act == "change_agreed" or (act == "change" and ticket.state in ACTS["change_agreed"][0]):
        return f"The ticket is {STATE_WORDS[ticket.state]}. Write a change order to change it."
    return f"The ticket is {STATE_WORDS[ticket.state]}; that cannot be done now."
