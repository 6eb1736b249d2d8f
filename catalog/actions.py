"""Changes of the catalogue made by a person: each is one transaction with one journal entry."""

import datetime
import hashlib
from collections.abc import Callable, Iterable

from django.core.exceptions import ValidationError
from django.db import models, transaction

from catalog import importing
from catalog.fields import canonical_json
from catalog.models import AccessoryType, CatalogueVersion, ShopRates, WaitingFile
from catalog.store import KEYS, read_all, write
from shop import journal

RATES_IN_USE = (
    "A quote was made with these rates and rules, so they stay as they are. Add new ones with a later date instead."
)


class ChangedMeanwhile(Exception):
    """Someone else changed the record after the page was opened."""


def digest(record: dict | None) -> str:
    """Return a short mark of a record's content; a form carries it, to notice a change in between."""
    return hashlib.sha256(canonical_json(record).encode()).hexdigest()[:16]


def save_record(
    actor, model: type[models.Model], record: dict, today: datetime.date, seen: str | None = None
) -> models.Model:
    """Store a whole record (with the shop's own keys) as an act of a person, and return its row.

    Where price or cost changed, the price is dated today. `seen` is the digest of the record that the person had
    before them: another one raises ChangedMeanwhile. Raises Unusable where the record breaks a rule, and
    ValidationError for rates that a quote was made with.
    """
    [draft] = read_all(model, [record])
    key = KEYS[model]
    with transaction.atomic():
        held = model.objects.filter(**{key: getattr(draft.row, key)}).first()
        before = held.ledger_record() if held else {}
        if getattr(held, "first_quoted_on", None):
            raise ValidationError(RATES_IN_USE)
        if seen is not None and seen != digest(before):
            raise ChangedMeanwhile
        if _has_new_price(before, record):
            draft.row.priced_on = today
        [row] = write(model, [draft])
        _journal(actor, row, before, model.objects.get(pk=row.pk).ledger_record())
    return row


def import_file(actor, waiting: WaitingFile, today: datetime.date) -> int:
    """Write all that a file of records changes, and return how many there are. Raises as `write_waiting` does."""
    return write_waiting(actor, waiting, lambda row: [importing.proposal(row.kind, row.text, today)])


def write_waiting(
    actor, waiting: WaitingFile, found_in: Callable[[WaitingFile], Iterable[importing.Proposal]], why: str = ""
) -> int:
    """Write all that a file changes, each record with its entry, and return how many there are; the file is done then.

    Raises ChangedMeanwhile where the catalogue is not the one that the person looked at, and Unusable.
    """
    count = 0
    with transaction.atomic():
        row = WaitingFile.objects.select_for_update().get(pk=waiting.pk)
        as_seen = row.seen == CatalogueVersion.current()
        if as_seen:
            for found in found_in(row):
                count += _write_found(actor, found, why)
            row.delete()
        else:
            WaitingFile.objects.filter(pk=row.pk).update(seen=CatalogueVersion.current())
    if not as_seen:
        raise ChangedMeanwhile
    return count


def _write_found(actor, found: importing.Proposal, why: str) -> int:
    model, codes = importing.FILES[found.kind], [change.code for change in found.changes]
    before = {held.code: held.ledger_record() for held in importing.rows_of(model).filter(code__in=codes)}
    importing.write_proposal(found)
    for written in importing.rows_of(model).filter(code__in=codes):
        _journal(actor, written, before.get(written.code, {}), written.ledger_record(), why)
    return len(codes)


def date_prices(actor, codes: Iterable[str], today: datetime.date) -> int:
    """Say that the prices of some types still hold: each is dated today; returns how many."""
    with transaction.atomic():
        rows = list(AccessoryType.objects.select_for_update().filter(code__in=list(codes)).order_by("pk"))
        for row in rows:
            before = {"priced_on": row.priced_on}
            row.priced_on = today
            row.save(update_fields=["priced_on"])
            journal.record(
                actor, "changed in the catalogue", row, before, {"priced_on": today}, "The price still holds."
            )
        if rows:
            CatalogueVersion.move_on()
    return len(rows)


def remove_rates(actor, rates: ShopRates) -> None:
    """Remove rates and rules that no quote was made with; the only ones stay."""
    with transaction.atomic():
        if ShopRates.objects.filter(pk=rates.pk, first_quoted_on__isnull=False).exists():
            raise ValidationError(RATES_IN_USE)
        if not ShopRates.objects.exclude(pk=rates.pk).exists():
            raise ValidationError("The shop needs rates and rules; these are the only ones.")
        note_removal(actor, rates)
        rates.delete()


def rates_quoted(on_date: datetime.date) -> ShopRates:
    """Mark the rates holding on a date as used by a quote, and return them; part of issuing the quote."""
    rates = ShopRates.objects.holding_on(on_date)
    if rates is not None and rates.first_quoted_on is None:
        ShopRates.objects.filter(pk=rates.pk, first_quoted_on__isnull=True).update(first_quoted_on=on_date)
        rates.first_quoted_on = on_date
    return rates


def note_change(actor, row: models.Model, before: dict) -> None:
    """Journal a change that was already written, and move the catalogue's version on."""
    _journal(actor, row, before, type(row).objects.get(pk=row.pk).ledger_record())
    CatalogueVersion.move_on()


def note_removal(actor, row: models.Model) -> None:
    """Journal a row that is about to be removed, and move the catalogue's version on."""
    journal.record(actor, "removed from the catalogue", row, before=row.ledger_record())
    CatalogueVersion.move_on()


def _has_new_price(before: dict, record: dict) -> bool:
    """Whether price or cost changed without a date of its own."""
    same_price = all(before.get(key) == record.get(key) for key in ("price", "cost"))
    return not same_price and record.get("priced_on") == before.get("priced_on")


def _journal(actor, row: models.Model, before: dict, after: dict, why: str = "") -> None:
    """Write what changed, by key; nothing where nothing changed."""
    changed = [key for key in after if before.get(key) != after[key]]
    if changed:
        journal.record(
            actor,
            "changed in the catalogue" if before else "added to the catalogue",
            row,
            before={key: before[key] for key in changed if key in before},
            after={key: after[key] for key in changed},
            why=why,
        )
