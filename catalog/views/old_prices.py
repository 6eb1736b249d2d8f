"""The types whose price is older than the owner wants to quote from; a price that still holds is dated anew."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from catalog import actions, old_prices, shelf
from shop import clock
from shop.csv_out import csv_response
from shop.roles import OWNER, allow


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def show_list(request: HttpRequest) -> HttpResponse:
    trouble = ""
    if request.method == "POST":
        count = actions.date_prices(request.user, request.POST.getlist("code"), clock.today())
        if count:
            messages.success(request, f"{count} price{'' if count == 1 else 's'} dated today.")
            return redirect("catalog:old_prices")
        trouble = "No price is ticked. Tick those that still hold."
    today = clock.today()
    day = old_prices.oldest_on(today)
    months = shelf.rates_on(today).price_age_months if day else 0
    context = {
        "door": "office",
        "months": months,
        "groups": (
            (f"Older than {months} months", "the oldest first", old_prices.types_priced_before(day)),
            ("Without a date", "not flagged at the counter", old_prices.types_without_date()),
        ),
        "trouble": trouble,
    }
    return render(request, "catalog/old_prices.html", context, status=422 if trouble else 200)


@require_safe
@allow(OWNER)
def table(request: HttpRequest) -> HttpResponse:
    return csv_response(old_prices.as_rows(clock.today()), f"old-prices-{clock.today()}")
