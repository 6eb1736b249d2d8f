"""The bench: tickets to work on, their steps, the minutes worked. No price and no cost comes through this door."""

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds import querysets
from builds.actions import work
from builds.actions.ground import Refused
from builds.models import Ticket
from builds.states import is_open
from shop.forms import DurationField
from shop.roles import TECH, allow


class MinutesForm(forms.Form):
    """Minutes worked on one step."""

    minutes = DurationField(label="Minutes worked", low=0.1, high=24 * 60)


@require_GET
@allow(TECH)
def jobs(request: HttpRequest) -> HttpResponse:
    return render(request, "bench/jobs.html", {"door": "bench", "tickets": querysets.for_bench()})


def ticket_or_404(number: str) -> Ticket:
    ticket = querysets.for_bench().filter(number=number).first()
    if ticket is None:
        raise Http404
    return ticket


def steps_of(ticket: Ticket) -> list[dict]:
    """Return the steps of the accepted quote with the minutes that were worked on each."""
    order = ticket.work_orders.select_related("quote", "change_order").order_by("-version").first()
    if order is None:
        return []
    worked: dict[tuple[str, str], float] = {}
    for entry in ticket.work.all():
        key = (entry.line_key or entry.operation_code, entry.phase)
        worked[key] = worked.get(key, 0.0) + entry.minutes
    kept = ("n", "phase", "heading", "line", "text", "name", "bit", "caution", "check", "quantity", "minutes")
    return [
        {name: step.get(name) for name in kept} | {"worked": worked.get((step["line"], step["phase"]))}
        for step in order.agreed.estimate["labour"]["order"]
    ]


def show(request: HttpRequest, number: str, *, trouble: str = "", at: int = 0, status: int = 200) -> HttpResponse:
    ticket = ticket_or_404(number)
    context = {
        "door": "bench",
        "ticket": ticket,
        "steps": steps_of(ticket),
        "trouble": trouble,
        "at": at,
        "can_work": is_open("record_work", ticket.state),
        "can_check": is_open("check", ticket.state),
    }
    return render(request, "bench/ticket.html", context, status=status)


@require_GET
@allow(TECH)
def ticket(request: HttpRequest, number: str) -> HttpResponse:
    return show(request, number)


@require_POST
@allow(TECH)
def record(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Write down the minutes that one step took."""
    found = ticket_or_404(number)
    step = next((step for step in steps_of(found) if step["n"] == n), None)
    if step is None:
        raise Http404
    form = MinutesForm(request.POST)
    if not form.is_valid():
        sentence = form.errors["minutes"][0]
        return show(request, number, trouble=f"Step {n}: {sentence}", at=n, status=422)
    line = found.lines.select_related("accessory").filter(key=step["line"]).first()
    try:
        work.record_work(
            request.user,
            found,
            phase=step["phase"],
            minutes=form.cleaned_data["minutes"],
            line_key=line.key if line else "",
            accessory_code=line.accessory.code if line else "",
            operation_code="" if line else step["line"],
        )
    except Refused as error:
        return show(request, number, trouble=str(error), at=n, status=409)
    return redirect("builds:bench_ticket", number)


@require_POST
@allow(TECH)
def check(request: HttpRequest, number: str) -> HttpResponse:
    """Say that the boat is checked and ready to be handed over."""
    try:
        work.move_on(request.user, ticket_or_404(number), "check")
    except Refused as error:
        return show(request, number, trouble=str(error), status=409)
    return redirect("builds:jobs")
