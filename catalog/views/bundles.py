"""Bundles: the owner's list, one bundle with its lines, and the page that changes both."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from catalog import actions, sight
from catalog.forms.bundles import BundleForm, line_formset
from catalog.models import Bundle
from catalog.views.editing import save, saved
from shop.roles import OWNER, allow

LIST = "catalog:bundles"


@require_safe
@allow(OWNER)
def show_list(request):
    words = request.GET.get("q", "")[:120]
    bundles = sight.bundle_rows(Bundle.objects.whole().matching(words))
    context = {"door": "office", "bundles": bundles, "words": words}
    return render(request, "catalog/bundles.html", context)


@require_safe
@allow(OWNER)
def show(request, code):
    bundle = get_object_or_404(Bundle.objects.whole(), code=code)
    return render(request, "catalog/bundle.html", {"door": "office", **sight.of_bundle(bundle)})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new(request):
    bundle = Bundle(place=Bundle.objects.next_place())
    return _edit(request, bundle, held=None, back=reverse(LIST), title="New bundle")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change(request, code):
    bundle = get_object_or_404(Bundle.objects.whole(), code=code)
    held = Bundle.objects.whole().get(pk=bundle.pk)
    return _edit(request, bundle, held, back=held.get_absolute_url(), title=f"Change {held.name}")


def _edit(request, bundle: Bundle, held: Bundle | None, back: str, title: str):
    """Answer the page of a bundle and its lines: saved whole, or shown again as it was typed."""
    head, lines = BundleForm(request.POST or None, instance=bundle), line_formset(bundle, request.POST or None)
    before, troubles = held.ledger_record() if held else {}, []
    # Both are asked, so that every mistake of the page is told at once.
    valid = [head.is_valid(), lines.is_valid()]
    if request.method == "POST" and all(valid):
        record = head.record() | {"lines": lines.records()}
        row, troubles = save(request, Bundle, record, request.POST.get("seen"))
        if row is not None:
            return saved(request, row, back)
    wrong = troubles or (request.method == "POST" and not all(valid))
    context = {"door": "office", "head": head, "formsets": [lines], "seen": actions.digest(before)}
    context |= {"troubles": troubles, "wrong": wrong, "title": title, "back": back}
    return render(request, "catalog/bundle_form.html", context, status=422 if wrong else 200)
