"""Accessory types: the list, one type, and the pages that change it."""

from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from catalog import sight
from catalog.forms.finding import FindForm
from catalog.forms.parts import part_formset
from catalog.forms.records import AccessoryTypeForm
from catalog.models import (
    AccessoryType,
    BatteryRating,
    Conflict,
    ConsumableUse,
    ConverterRating,
    InstallStep,
    LoadRating,
    Opening,
    Requirement,
)
from catalog.views.editing import edit_parts, edit_record
from shop.roles import COUNTER, OWNER, allow, may

ON_A_PAGE = 150
SECTIONS = {
    "openings": ("Openings", [Opening]),
    "steps": ("Steps", [InstallStep]),
    "consumables": ("Consumables", [ConsumableUse]),
    "needs": ("Needs and conflicts", [Requirement, Conflict]),
    "ratings": ("Load, battery, converter", [LoadRating, BatteryRating, ConverterRating]),
}


@require_safe
@allow(COUNTER)
def show_list(request):
    form = FindForm(request.GET or None, AccessoryType.objects.categories())
    page = Paginator(form.found(AccessoryType.objects.for_list()), ON_A_PAGE).get_page(request.GET.get("page"))
    context = {"door": "office", "form": form, "page": page, "types": sight.rows(page, may(request.user, "see_costs"))}
    return render(request, "catalog/types.html", context)


@require_safe
@allow(COUNTER)
def show(request, code):
    kind = get_object_or_404(AccessoryType.objects.whole(), code=code)
    context = sight.of_type(kind, costs=may(request.user, "see_costs"))
    return render(request, "catalog/type.html", {"door": "office", "sections": SECTIONS, **context})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new(request):
    form = AccessoryTypeForm(request.POST or None)
    return edit_record(
        request, form, AccessoryType, seen_row=None, back=reverse("catalog:types"), title="New accessory type"
    )


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change(request, code):
    kind = get_object_or_404(AccessoryType.objects.whole(), code=code)
    held = AccessoryType.objects.whole().get(pk=kind.pk)
    form = AccessoryTypeForm(request.POST or None, instance=kind)
    return edit_record(
        request, form, AccessoryType, seen_row=held, back=held.get_absolute_url(), title=f"Change {held.name}"
    )


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change_parts(request, code, section):
    if section not in SECTIONS:
        raise Http404
    title, models = SECTIONS[section]
    kind = get_object_or_404(AccessoryType.objects.whole(), code=code)
    formsets = {model.RELATED: part_formset(model, kind, request.POST or None) for model in models}
    return edit_parts(request, kind, formsets, back=kind.get_absolute_url(), title=f"{title} of {kind.name}")
