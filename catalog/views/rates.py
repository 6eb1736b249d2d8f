"""Rates and rules: the dated list, one set, new ones from a later date, and changes before a quote used them."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog import actions
from catalog.forms.rates import RatesForm
from catalog.models import ShopRates
from catalog.views.editing import edit_record
from shop.roles import OWNER, allow

LIST = "catalog:rates_list"


@require_safe
@allow(OWNER)
def show_list(request):
    sets = list(ShopRates.objects.all())
    today = timezone.localdate()
    began = [rates for rates in sets if rates.holds_from <= today]
    context = {"door": "office", "sets": sets, "holding": began[0] if began else None}
    return render(request, "catalog/rates_list.html", context)


@require_safe
@allow(OWNER)
def show(request, holds_from):
    rates = get_object_or_404(ShopRates, holds_from=holds_from)
    context = {"door": "office", "rates": rates, "shown": RatesForm(instance=rates).shown()}
    return render(request, "catalog/rates.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new(request):
    """New rates start as a copy of those that hold today; only their date is open."""
    latest = ShopRates.objects.holding_on(timezone.localdate()) or ShopRates()
    latest.pk, latest.holds_from, latest.first_quoted_on = None, None, None
    form = RatesForm(request.POST or None, instance=latest)
    return edit_record(request, form, ShopRates, seen_row=None, back=reverse(LIST), title="New rates and rules")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change(request, holds_from):
    held = get_object_or_404(ShopRates, holds_from=holds_from)
    if held.first_quoted_on:
        messages.warning(request, actions.RATES_IN_USE)
        return redirect(held)
    form = RatesForm(request.POST or None, instance=ShopRates.objects.get(pk=held.pk))
    form.fields.pop("holds_from")
    return edit_record(request, form, ShopRates, seen_row=held, back=held.get_absolute_url(), title=f"Change {held}")


@require_POST
@allow(OWNER)
def remove(request, holds_from):
    rates = get_object_or_404(ShopRates, holds_from=holds_from)
    try:
        actions.remove_rates(request.user, rates)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return redirect(rates)
    messages.success(request, f"Removed: {rates}.")
    return redirect(LIST)
