"""Exporting and erasing what is on record about a customer, and the papers whose time has ended.

What the law needs stays until the owner's years are over: the papers as they were handed over, with the name on them.
Emptied, a paper keeps its number, its date, its amounts and the hash of its bytes; the bytes and the name are gone.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import connection, models, transaction
from django.db.models import Max

from builds import about_customer
from builds.actions.ground import Refused
from builds.models import (
    Aboard,
    Acceptance,
    BenchPhoto,
    ChangeOrder,
    ComeBack,
    ComeBackEnd,
    Customer,
    Found,
    FoundAnswer,
    HandOverSheet,
    HullRecord,
    Interview,
    Invoice,
    Line,
    MoneyEntry,
    PersonalText,
    Quote,
    ReadyTold,
    RetentionRules,
    SignatureLink,
    Ticket,
    WorkOrder,
)
from builds.states import OPEN, STATE_WORDS
from shop import append_only, clock, journal, once, roles

GONE = "erased"


@dataclass(frozen=True)
class Kept:
    """A table that is written once: when each row was, for how long it is kept and why, and what is emptied then."""

    at: str
    rule: str
    why: str
    emptied: dict[str, Any]


ACCOUNTS = "the accounts must show it"
CLAIMS = "it shows what was agreed and done, should anyone claim"
OFFERS = "nobody accepted it"
PAPERS: dict[type[models.Model], Kept] = {
    Invoice: Kept("at", "accounts_years", ACCOUNTS, {"pdf": b"", "why": ""}),
    MoneyEntry: Kept("at", "accounts_years", ACCOUNTS, {"pdf": b"", "note": ""}),
    Acceptance: Kept(
        "at",
        "claims_years",
        CLAIMS,
        {
            "name": GONE,
            "initials": "",
            "drawing": [],
            "note": "",
            "scan": None,
            "scan_name": "",
            "signed_pdf": b"",
        },
    ),
    ChangeOrder: Kept(
        "recorded_at", "claims_years", CLAIMS, {"pdf": b"", "consent_name": GONE, "number_called": "", "why": ""}
    ),
    WorkOrder: Kept("issued_at", "claims_years", CLAIMS, {"pdf": b""}),
    HandOverSheet: Kept("at", "claims_years", CLAIMS, {"pdf": b"", "why": ""}),
    SignatureLink: Kept("made_at", "claims_years", CLAIMS, {"sent_to": ""}),
    ReadyTold: Kept("at", "claims_years", CLAIMS, {"name": GONE}),
    BenchPhoto: Kept("at", "claims_years", CLAIMS, {"jpeg": b"", "note": ""}),
    Found: Kept("at", "claims_years", CLAIMS, {"words": GONE}),
    FoundAnswer: Kept("at", "claims_years", CLAIMS, {"words": GONE}),
    ComeBack: Kept("opened_at", "claims_years", CLAIMS, {"words": GONE}),
    ComeBackEnd: Kept("at", "claims_years", CLAIMS, {"words": GONE}),
}
QUOTE = {"pdf": b"", "override_reason": ""}
KEPT_QUOTES = {
    True: Kept("issued_at", "claims_years", CLAIMS, QUOTE),
    False: Kept("issued_at", "offers_years", OFFERS, QUOTE),
}
"""A quote by whether it was accepted."""


@dataclass(frozen=True)
class Stays:
    """What stays for now: how many of which kind, until when the last of them, and why."""

    what: str
    count: int
    until: datetime.date
    why: str


def rules() -> RetentionRules:
    return RetentionRules.objects.first() or RetentionRules()


def set_rules(actor, **years: int) -> RetentionRules:
    """Say for how many years what is kept."""
    if not roles.may(actor, "erase_customer"):
        raise PermissionDenied
    with transaction.atomic():
        once.spend()
        row = rules()
        before = {name: getattr(row, name) for name in years}
        for name, value in years.items():
            setattr(row, name, value)
        row.changed_at, row.changed_by = clock.now(), actor
        row.save()
        journal.record(actor, "set retention rules", row, before, years)
    return row


def export(actor, customer: Customer) -> bytes:
    """Return everything on record about a customer as a zip; that it was exported is journalled."""
    if not roles.may(actor, "export_customer"):
        raise PermissionDenied
    with transaction.atomic():
        data = about_customer.as_zip(customer)
        journal.record(actor, "export customer", customer, {}, {"bytes": len(data)})
    return data


def kinds() -> Iterator[tuple[type[models.Model], Kept, models.Q]]:
    """Yield each kind of kept paper with the rows that it means."""
    for accepted, kept in KEPT_QUOTES.items():
        yield Quote, kept, models.Q(acceptance__isnull=not accepted)
    for model, kept in PAPERS.items():
        yield model, kept, models.Q()


def limit_of(kept: Kept, held: RetentionRules) -> datetime.datetime:
    """Return the moment that a paper must be younger than to stay."""
    now, years = clock.now(), getattr(held, kept.rule)
    return now.replace(year=now.year - years, day=min(now.day, 28))


def what_stays(customer: Customer) -> list[Stays]:
    """Return what an erasure today would leave, and why."""
    found, held = [], rules()
    for model, kept, which in kinds():
        if kept.why == OFFERS:
            continue
        rows = about_customer.rows_of(model, customer).filter(which, **{f"{kept.at}__gt": limit_of(kept, held)})
        if (count := rows.count()) and (last := rows.aggregate(last=Max(kept.at))["last"]):
            until = last.replace(year=last.year + getattr(held, kept.rule), day=min(last.day, 28)).date()
            found.append(Stays(str(model._meta.verbose_name_plural), count, until, kept.why))
    return found


def erase(actor, customer: Customer) -> list[Stays]:
    """Erase what is on record about a customer but what must stay; return what stays, until when and why.

    Raises Refused while a ticket of the customer is still open.
    """
    if not roles.may(actor, "erase_customer"):
        raise PermissionDenied
    with transaction.atomic():
        once.spend()
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        open_ticket = about_customer.rows_of(Ticket, customer).filter(state__in=OPEN).first()
        if open_ticket:
            state = STATE_WORDS[open_ticket.state]
            raise Refused(f"{open_ticket.number} is {state}. Hand the boat over or cancel the ticket first.")
        forget_person(customer)
        emptied = empty_ended(customer)
        stays = what_stays(customer)
        told = {"stays": [f"{one.count} {one.what} until {one.until}: {one.why}" for one in stays], "emptied": emptied}
        journal.record(actor, "erase customer", customer, {}, told)
    return stays


def forget_person(customer: Customer) -> None:
    """Take the person out of the rows that can be changed, and out of what stands beside the journal."""
    tickets = about_customer.rows_of(Ticket, customer)
    pks = list(tickets.values_list("pk", flat=True))
    PersonalText.objects.filter(models.Q(customer=customer) | models.Q(customer=None, ticket__in=pks)).delete()
    Aboard.objects.filter(ticket__in=pks, is_person=True).update(name="paddler")
    Line.objects.filter(ticket__in=pks).update(note="")
    Interview.objects.filter(ticket__in=pks).update(approver="", approver_phone="", own_parts="")
    for hull in HullRecord.objects.filter(customer=customer):
        hull.hull_number = hull.note = ""
        hull.save()
    for ticket in Ticket.objects.filter(pk__in=pks):
        ticket.title = ticket.asked = ""
        ticket.revision += 1
        ticket.save()
    customer.note, customer.erased_at = "", clock.now()
    customer.correct(name=f"{GONE} {customer.pk}", phone="", email="")


def empty_ended(customer: Customer | None = None) -> dict[str, list[str]]:
    """Empty the papers whose time has ended, of one customer or of all; offers of an erased customer end at once.

    Call it inside the transaction that journals the result: which papers, by their hash or number.
    """
    done: dict[str, list[str]] = {}
    held = rules()
    for model, kept, which in kinds():
        rows = about_customer.rows_of(model, customer) if customer else model._base_manager.all()
        if not (customer and kept.why == OFFERS):
            rows = rows.filter(**{f"{kept.at}__lte": limit_of(kept, held)})
        rows = rows.filter(which).exclude(already_empty(kept))
        pks = list(rows.values_list("pk", flat=True))
        if pks:
            with append_only.lifted(connection, model) as open_rows:
                open_rows.filter(pk__in=pks).update(**kept.emptied)
            for row in model._base_manager.filter(pk__in=pks):
                # The journal entry seals the row as it is from now on.
                append_only.note(row)
            done.setdefault(model._meta.model_name, []).extend(str(pk) for pk in pks)
    return done


def already_empty(kept: Kept) -> models.Q:
    return models.Q(**{name: value for name, value in kept.emptied.items() if not isinstance(value, list | type(None))})


def run_retention(actor) -> dict[str, list[str]]:
    """Empty every paper whose time has ended, and erase the customers who have not been here for long."""
    if actor is not None and not roles.may(actor, "erase_customer"):
        raise PermissionDenied
    with transaction.atomic():
        once.spend()
        held = rules()
        done = empty_ended()
        limit = limit_of(Kept("", "customers_years", "", {}), held)
        idle = Customer.objects.filter(erased_at=None, since__lt=limit.date())
        idle = idle.exclude(tickets__changed_at__gt=limit).exclude(tickets__state__in=OPEN)
        for customer in idle:
            forget_person(customer)
            done.setdefault("customer", []).append(str(customer.pk))
        if done:
            subject = held if held.pk else RetentionRules.objects.create()
            journal.record(actor, "run retention", subject, {}, done)
    return done
