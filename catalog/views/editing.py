"""What every editing page does: show a form over a record, and save it or show again what was typed and why not."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils import timezone

from catalog import actions
from catalog.records import Unusable

CHANGED_MEANWHILE = (
    "Someone else changed this record after you opened the page. What you typed stands below and is not saved yet. "
    "Look at the record as it is now; to put yours in its place, save again."
)


def save(request, model, record: dict, seen: str | None):
    """Store a record and return (row, troubles): one of the two is empty."""
    try:
        return actions.save_record(request.user, model, record, timezone.localdate(), seen), []
    except actions.ChangedMeanwhile:
        return None, [CHANGED_MEANWHILE]
    except ValidationError as refused:
        return None, refused.messages
    except Unusable as refused:
        return None, [str(problem) for problem in refused.problems]


def edit_record(request, form, model, *, seen_row, back: str, title: str):
    """Answer a page with one form: saved, the record's own page follows."""
    held = seen_row.ledger_record() if seen_row else {}
    troubles = []
    if request.method == "POST" and form.is_valid():
        row, troubles = save(request, model, form.record(), request.POST.get("seen"))
        if row is not None:
            return saved(request, row, back)
    context = {"door": "office", "form": form, "seen": actions.digest(held), "troubles": troubles}
    context |= {"title": title, "back": back}
    return render(request, "catalog/record_form.html", context, status=422 if troubles or form.errors else 200)


def edit_parts(request, row, formsets: dict, *, back: str, title: str):
    """Answer a page with the rows that belong to a record, one formset for each kind."""
    record, troubles = row.ledger_record(), []
    if request.method == "POST" and all(formset.is_valid() for formset in formsets.values()):
        wanted = dict(record)
        for key, formset in formsets.items():
            rows = formset.records()
            wanted[key] = rows if formset.can_order else next(iter(rows), None)
        stored, troubles = save(request, type(row), wanted, request.POST.get("seen"))
        if stored is not None:
            return saved(request, stored, back)
    wrong = troubles or any(formset.is_bound and not formset.is_valid() for formset in formsets.values())
    context = {"door": "office", "row": row, "formsets": formsets.values(), "seen": actions.digest(record)}
    context |= {"troubles": troubles, "wrong": wrong, "title": title, "back": back}
    return render(request, "catalog/parts_form.html", context, status=422 if wrong else 200)


def saved(request, row, back: str):
    messages.success(request, f"Saved: {row}.")
    return redirect(row if hasattr(row, "get_absolute_url") else back)
