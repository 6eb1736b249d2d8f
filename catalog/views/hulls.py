"""Hull types: the list, one hull type with its stations, and the pages that change it."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from catalog.forms.parts import part_formset
from catalog.forms.records import HullTypeForm
from catalog.models import HullType, HullTypeStation
from catalog.views.editing import edit_parts, edit_record
from catalog.vocabulary import spoken
from shop.roles import COUNTER, OWNER, allow


@require_safe
@allow(COUNTER)
def show_list(request):
    words = request.GET.get("q", "")[:120]
    hulls = HullType.objects.for_list().matching(words)
    context = {"door": "office", "hulls": hulls, "count": len(hulls), "words": words}
    return render(request, "catalog/hull_types.html", context)


@require_safe
@allow(COUNTER)
def show(request, code):
    hull = get_object_or_404(HullType.objects.whole(), code=code)
    context = {"door": "office", "hull": hull, "provides": [spoken(word) for word in hull.provides]}
    return render(request, "catalog/hull_type.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new(request):
    form = HullTypeForm(request.POST or None)
    return edit_record(
        request, form, HullType, seen_row=None, back=reverse("catalog:hull_types"), title="New hull type"
    )


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change(request, code):
    hull = get_object_or_404(HullType.objects.whole(), code=code)
    held = HullType.objects.whole().get(pk=hull.pk)
    form = HullTypeForm(request.POST or None, instance=hull)
    return edit_record(
        request, form, HullType, seen_row=held, back=held.get_absolute_url(), title=f"Change {held.name}"
    )


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change_stations(request, code):
    hull = get_object_or_404(HullType.objects.whole(), code=code)
    formsets = {"stations": part_formset(HullTypeStation, hull, request.POST or None)}
    return edit_parts(request, hull, formsets, back=hull.get_absolute_url(), title=f"Stations of {hull.name}")
