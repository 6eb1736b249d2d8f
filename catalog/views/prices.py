"""Shop operations and consumables: two lists of the owner, and the pages that change a row."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from catalog.forms.records import ConsumableForm, OperationForm
from catalog.models import Consumable, ShopOperation
from catalog.views.editing import edit_record
from shop.roles import OWNER, allow


@require_safe
@allow(OWNER)
def operations(request):
    context = {"door": "office", "operations": ShopOperation.objects.all()}
    return render(request, "catalog/operations.html", context)


@require_safe
@allow(OWNER)
def consumables(request):
    return render(request, "catalog/consumables.html", {"door": "office", "consumables": Consumable.objects.all()})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new_operation(request):
    return _new(request, OperationForm, ShopOperation, "catalog:operations", "New shop operation")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change_operation(request, code):
    return _change(request, OperationForm, ShopOperation, code, "catalog:operations")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new_consumable(request):
    return _new(request, ConsumableForm, Consumable, "catalog:consumables", "New consumable")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change_consumable(request, code):
    return _change(request, ConsumableForm, Consumable, code, "catalog:consumables")


def _new(request, form, model, back, title):
    return edit_record(request, form(request.POST or None), model, seen_row=None, back=reverse(back), title=title)


def _change(request, form, model, code, back):
    held = get_object_or_404(model, code=code)
    row = model.objects.get(pk=held.pk)
    bound = form(request.POST or None, instance=row)
    return edit_record(request, bound, model, seen_row=held, back=reverse(back), title=f"Change {held.name}")
