"""What if: the tickets accepted in the last year at other rates."""

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from builds import what_if
from builds.actions import learning as actions
from builds.actions.ground import Refused
from builds.forms.what_if import WhatIfForm
from builds.models import Reckoning
from builds.reckonings import go_on
from builds.views.learning import look_of
from builds.what_if_page import asked_words, csv_of, shown_of
from catalog import shelf
from shop import clock
from shop.csv_out import csv_response
from shop.roles import OWNER, allow

KIND = Reckoning.Kind.WHAT_IF


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def ask(request: HttpRequest) -> HttpResponse:
    """Ask, and see what was asked before."""
    form = WhatIfForm(request.POST if request.method == "POST" else None, rates=shelf.rates_on(clock.today()))
    trouble = ""
    if request.method == "POST" and form.is_valid():
        try:
            begun = actions.begin(request.user, KIND, form.asked(), what_if.accepted_last_year())
        except Refused as refused:
            trouble = str(refused)
        else:
            return redirect("builds:what_if_shown", begun.pk)
    earlier = Reckoning.objects.filter(kind=KIND).order_by("-id").defer("tickets", "found")
    context = {"door": "office", "form": form, "trouble": trouble}
    context["earlier"] = [(one, asked_words(one.asked)) for one in earlier]
    return render(request, "office/what_if.html", context, status=422 if trouble or form.errors else 200)


@require_GET
@allow(OWNER)
def shown(request: HttpRequest, reckoning: int) -> HttpResponse:
    """Show what came out; while it has not ended it goes on by this look."""
    asked = get_object_or_404(Reckoning, pk=reckoning, kind=KIND)
    progress = go_on(asked, what_if.WORK, look_of(request))
    if request.htmx:
        if asked.ended_at:
            return HttpResponse(headers={"HX-Refresh": "true"})
        return render(request, "office/partials/progress.html", {"progress": progress, "here": request.path})
    context = {"door": "office", "asked": asked_words(asked.asked), "reckoning": asked, "here": request.path}
    context |= shown_of(asked) if asked.ended_at else {"progress": progress}
    return render(request, "office/what_if_shown.html", context)


@require_GET
@allow(OWNER)
def table(request: HttpRequest, reckoning: int) -> HttpResponseBase:
    asked = get_object_or_404(Reckoning, pk=reckoning, kind=KIND, ended_at__isnull=False)
    return csv_response(csv_of(asked), f"what-if-{reckoning}")
