"""The office's pages of customers: what is on record, as a file; what can be erased and what stays."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds import about_customer, querysets
from builds.actions import erasing
from builds.actions.ground import Refused
from builds.forms.privacy import RetentionForm
from builds.models import Customer, Ticket
from shop.accounts.coming_in import confirmed
from shop.roles import OWNER, allow


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
@confirmed
def customers(request: HttpRequest) -> HttpResponse:
    """Find a customer; say for how long what is kept."""
    form = RetentionForm(request.POST or None, instance=erasing.rules())
    if request.method == "POST" and form.is_valid():
        erasing.set_rules(request.user, **form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect("builds:customers")
    words = request.GET.get("q", "").strip()[:60]
    found = querysets.found_customers(words) if words else []
    context = {"door": "office", "form": form, "words": words, "found": found}
    return render(request, "office/customers.html", context, status=422 if form.errors else 200)


def page_of(request: HttpRequest, pk: int, trouble: str = "", status: int = 200) -> HttpResponse:
    shown = get_object_or_404(Customer, pk=pk)
    context = {
        "door": "office",
        "customer": shown,
        "tickets": about_customer.rows_of(Ticket, shown),
        "stays": erasing.what_stays(shown),
        "trouble": trouble,
    }
    return render(request, "office/customer.html", context, status=status)


@require_GET
@allow(OWNER)
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    return page_of(request, pk)


@require_POST
@never_cache
@allow(OWNER)
@confirmed
def export(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything on record about a customer, as one file."""
    shown = get_object_or_404(Customer, pk=pk)
    headers = {"Content-Disposition": f'attachment; filename="customer-{pk}.zip"'}
    return HttpResponse(erasing.export(request.user, shown), content_type="application/zip", headers=headers)


@require_POST
@allow(OWNER)
@confirmed
def erase(request: HttpRequest, pk: int) -> HttpResponse:
    """Erase a customer but for what must stay."""
    shown = get_object_or_404(Customer, pk=pk)
    try:
        stays = erasing.erase(request.user, shown)
    except Refused as error:
        return page_of(request, pk, str(error), status=409)
    messages.success(request, "Erased." if not stays else "Erased, but for what is listed below.")
    return redirect("builds:customer", pk)


@require_POST
@allow(OWNER)
@confirmed
def run_retention(request: HttpRequest) -> HttpResponse:
    """Empty every paper whose time has ended."""
    done = erasing.run_retention(request.user)
    count = sum(len(keys) for keys in done.values())
    messages.success(request, f"{count} record{'' if count == 1 else 's'} emptied.")
    return redirect("builds:customers")
