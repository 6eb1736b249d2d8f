"""Everything on record about one customer, found by the keys that lead there, so that no table is forgotten."""

import io
import json
import zipfile
from functools import cache
from typing import Any

from django.apps import apps
from django.db import models

from builds import personal
from builds.models import BenchPhoto, Customer, PersonalText, Ticket, TicketShare, TicketTotals
from shop.journal import canonical
from shop.models import JournalEntry

# The shop's own figures, secrets and search words: nothing about the person.
LEFT_OUT = frozenset(
    (
        "cost",
        "unit_cost",
        "parts_cost",
        "sheet_json",
        "estimate_json",
        "catalogue",
        "agreed_quote",
        "agreed_change",
        "secret_sha256",
        "folded",
        "phone_digits",
        "key",
        "said",
    )
)
NOT_TOLD = (PersonalText, TicketShare, TicketTotals)
"""Texts that are told with the journal's entries; what the shop earned."""


@cache
def ways() -> dict[type[models.Model], str]:
    """Return each table whose rows belong to a customer, with the way of keys that leads there."""
    found: dict[type[models.Model], str] = {Customer: ""}
    grown = True
    while grown:
        grown = False
        for model in apps.get_app_config("builds").get_models():
            for field in model._meta.local_fields:
                target = field.related_model if field.many_to_one or field.one_to_one else None
                if model in found or target not in found or field.name in LEFT_OUT:
                    continue
                found[model] = "__".join(part for part in (field.name, found[target]) if part)
                grown = True
    return found


def rows_of(model: type[models.Model], customer: Customer) -> models.QuerySet:
    """Return the rows of a table that belong to a customer."""
    return model._base_manager.filter(**{ways()[model] or "pk": customer.pk}).order_by("pk")


def document(customer: Customer) -> tuple[dict[str, Any], dict[str, bytes]]:
    """Return what is on record as plain values, and the files by the name under which the values speak of them."""
    files: dict[str, bytes] = {}
    told: dict[str, Any] = {}
    for model in ways():
        if model not in NOT_TOLD:
            rows = [row_told(row, files) for row in rows_of(model, customer)]
            if rows:
                told[str(model._meta.verbose_name_plural)] = rows
    told["history"] = [entry_told(entry) for entry in entries_of(customer)]
    return told, files


def row_told(row: models.Model, files: dict[str, bytes]) -> dict[str, Any]:
    said: dict[str, Any] = {}
    for field in row._meta.local_fields:
        value = getattr(row, field.attname)
        if field.name in LEFT_OUT or "cost" in field.name or "margin" in field.name:
            continue
        if isinstance(field, models.BinaryField):
            if value:
                name = f"{row._meta.model_name}-{row.pk}-{field.name}.{ending_of(row, field.name)}"
                files[name] = bytes(value)
                said[field.name] = name
        elif field.is_relation and value is not None and field.related_model._meta.app_label != "builds":
            said[field.name] = str(getattr(row, field.name))
        else:
            said[field.name] = value
    return said


def ending_of(row: models.Model, field: str) -> str:
    if isinstance(row, BenchPhoto):
        return "jpg"
    if field == "scan":
        return row.scan_name.rpartition(".")[2] or "pdf"
    return "pdf"


def entries_of(customer: Customer) -> models.QuerySet[JournalEntry]:
    tickets = [str(pk) for pk in rows_of(Ticket, customer).values_list("pk", flat=True)]
    about = models.Q(subject_kind="builds.ticket", subject_key__in=tickets)
    about |= models.Q(subject_kind="builds.customer", subject_key=str(customer.pk))
    return JournalEntry.objects.filter(about).order_by("number")


def entry_told(entry: JournalEntry) -> dict[str, Any]:
    """Return who did what and when, with what was said of the person; the shop's figures are not repeated."""
    said = personal.shown({name: value for name, value in entry.after.items() if personal.is_reference(value)})
    return {"number": entry.number, "at": entry.at, "who": entry.actor_name, "what": entry.action, "said": said}


def as_zip(customer: Customer) -> bytes:
    """Return all of it as one file: `customer.json` and the papers, scans and photos."""
    told, files = document(customer)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        plain = json.loads(canonical(told))
        archive.writestr("customer.json", json.dumps(plain, indent=1, ensure_ascii=False))
        for name, data in files.items():
            archive.writestr(f"files/{name}", data)
    return out.getvalue()
