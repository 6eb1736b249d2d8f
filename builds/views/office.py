"""The office: which tickets earned and which did not."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from builds import margins
from shop.roles import OWNER, allow


@require_GET
@allow(OWNER)
def office(request: HttpRequest) -> HttpResponse:
    rows = margins.for_margins()
    revenue = sum(row.revenue for row in rows)
    total = {
        "revenue": revenue,
        "margin_estimated": margins.margin(revenue, sum(row.cost_estimated for row in rows)),
        "margin_worked": margins.margin(revenue, sum(row.cost_worked for row in rows)),
        "minutes_estimated": sum(row.minutes_estimated for row in rows),
        "minutes_quoted": sum(row.minutes_quoted for row in rows),
        "minutes_worked": sum(row.minutes_worked for row in rows),
        "profit": revenue - sum(row.cost_worked for row in rows),
    }
    rows.sort(key=lambda row: (row.margin_worked is None, row.margin_worked))
    return render(request, "office/margins.html", {"door": "office", "rows": rows, "total": total})
