"""Boats that come back: the counter opens them on the original ticket, the bench works on them and ends them."""

from decimal import Decimal

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds import querysets
from builds.actions import coming_back
from builds.actions.ground import Refused
from builds.models import ComeBack, Ticket
from builds.states import is_open
from builds.views.papers import trouble_of
from builds.views.ticket import revision_of, ticket_or_404
from shop import roles
from shop.forms import DurationField, MoneyField
from shop.roles import COUNTER, TECH, allow


class WorkForm(forms.Form):
    minutes = DurationField(label="Minutes worked", low=0.1, high=24 * 60)


class TimeForm(forms.Form):
    """How long it may take at the bench; without it the week keeps no time for it."""

    time = DurationField(
        label="Time at the bench, about", low=1, high=40 * 60, required=False, help_text="Keeps a place in the week."
    )


class EndForm(forms.Form):
    """What was done; the cost of its parts is the owner's to write."""

    words = forms.CharField(label="What was done", max_length=500, widget=forms.Textarea(attrs={"rows": 3}))
    parts_cost = MoneyField(label="Cost of its parts", required=False)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def come_backs(request: HttpRequest, number: str) -> HttpResponse:
    """Show what came back on a ticket, and open the next."""
    ticket = ticket_or_404(number, querysets.in_brief)
    trouble, status, form = "", 200, TimeForm(request.POST or None)
    if request.method == "POST":
        said = {"cause": request.POST.get("cause", ""), "words": request.POST.get("words", "")[:500]}
        if not form.is_valid():
            status = 422
        else:
            said["minutes"] = form.cleaned_data["time"]
            try:
                coming_back.open_come_back(request.user, ticket, **said, revision=revision_of(request))
                return redirect("builds:come_backs", number)
            except Refused as error:
                trouble, status = trouble_of(error), 409
    context = {
        "door": "counter",
        "ticket": ticket,
        "backs": querysets.come_backs_of(ticket),
        "causes": ComeBack.Cause.choices,
        "cause": request.POST.get("cause", ""),
        "words": request.POST.get("words", ""),
        "form": form,
        "can_open": is_open("open_come_back", ticket.state, ticket.changing),
        "trouble": trouble,
    }
    return render(request, "counter/come_backs.html", context, status=status)


def bench_page(
    request: HttpRequest, number: str, n: int, *, trouble: str = "", form=None, time=None, status: int = 200
):
    ticket = get_object_or_404(Ticket.objects.select_related("hull"), number=number)
    back = get_object_or_404(querysets.come_backs_of(ticket), n=n)
    entries = list(back.work.select_related("tech"))
    context = {
        "door": "bench",
        "ticket": ticket,
        "back": back,
        "entries": entries,
        "minutes": sum(entry.minutes for entry in entries),
        "form": form or EndForm(),
        "time": time or TimeForm(initial={"time": back.time.minutes if hasattr(back, "time") else None}),
        "sees_costs": roles.may(request.user, "see_costs"),
        "trouble": trouble,
    }
    return render(request, "bench/come_back.html", context, status=status)


def back_or_404(number: str, n: int) -> ComeBack:
    return get_object_or_404(ComeBack.objects.select_related("ticket"), ticket__number=number, n=n)


@require_GET
@allow(TECH)
def come_back(request: HttpRequest, number: str, n: int) -> HttpResponse:
    return bench_page(request, number, n)


@require_POST
@allow(TECH)
def work_on(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Write down minutes on a boat that came back."""
    form = WorkForm(request.POST)
    if not form.is_valid():
        return bench_page(request, number, n, trouble=form.errors["minutes"][0], status=422)
    try:
        coming_back.work_on(request.user, back_or_404(number, n), minutes=form.cleaned_data["minutes"])
    except Refused as error:
        return bench_page(request, number, n, trouble=str(error), status=409)
    return redirect("builds:come_back", number, n)


@require_POST
@allow(TECH)
def estimate(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Write down how long it may take at the bench."""
    form = TimeForm(request.POST)
    form.fields["time"].required = True
    if not form.is_valid():
        return bench_page(request, number, n, time=form, status=422)
    try:
        coming_back.estimate_come_back(request.user, back_or_404(number, n), minutes=form.cleaned_data["time"])
    except Refused as error:
        return bench_page(request, number, n, trouble=str(error), time=form, status=409)
    return redirect("builds:come_back", number, n)


@require_POST
@allow(TECH)
def end(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Write down what was done about it."""
    form = EndForm(request.POST)
    if not form.is_valid():
        return bench_page(request, number, n, trouble=next(iter(form.errors.values()))[0], form=form, status=422)
    cost = form.cleaned_data["parts_cost"] if roles.may(request.user, "see_costs") else None
    try:
        coming_back.end_come_back(
            request.user, back_or_404(number, n), words=form.cleaned_data["words"], parts_cost=cost or Decimal(0)
        )
    except Refused as error:
        return bench_page(request, number, n, trouble=str(error), form=form, status=409)
    return redirect("builds:jobs")
