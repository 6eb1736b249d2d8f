"""The bench: tickets to work on, their steps, ticks and clock. No price and no cost comes through this door."""

import datetime

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET, require_POST

from builds import bench, querysets
from builds.actions import work
from builds.actions.ground import Refused
from builds.models import BenchReading, ClockMark, Ticket, WorkEntry
from builds.states import is_open
from shop.forms import DurationField
from shop.once import TOKEN, new_token
from shop.roles import TECH, allow


class MinutesForm(forms.Form):
    """Minutes worked on one step."""

    minutes = DurationField(label="Minutes worked", low=0.1, high=24 * 60)


class ReadingForm(forms.Form):
    """What a test came to: a figure, a verdict where no figure gives it, a note."""

    test = forms.CharField(max_length=40)
    line = forms.CharField(max_length=20, required=False)
    figure = forms.FloatField(
        required=False, error_messages={"invalid": "The reading is a number, such as 0.9; its unit stands beside it."}
    )
    verdict = forms.ChoiceField(choices=[("", ""), *BenchReading.Verdict.choices], required=False)
    note = forms.CharField(max_length=300, required=False)


@require_GET
@allow(TECH)
def jobs(request: HttpRequest) -> HttpResponse:
    return render(request, "bench/jobs.html", {"door": "bench", "tickets": querysets.for_bench()})


def ticket_or_404(number: str) -> Ticket:
    ticket = querysets.for_bench().filter(number=number).first()
    if ticket is None:
        raise Http404
    return ticket


def show(request: HttpRequest, number: str, *, trouble: str = "", at: int = 0, status: int = 200) -> HttpResponse:
    """Show every step of a ticket, the next one marked."""
    ticket = ticket_or_404(number)
    steps = bench.steps_of(ticket)
    context = {
        "door": "bench",
        "ticket": ticket,
        "steps": steps,
        "next": bench.next_step(steps),
        "done": sum(step.done for step in steps),
        "minutes": minutes_by_phase(ticket),
        "running": is_running(request, ticket),
        "key": new_token(),
        "trouble": trouble,
        "at": at,
        "can_work": is_open("record_work", ticket.state),
        "can_check": is_open("check", ticket.state, ticket.changing),
    }
    return render(request, "bench/ticket.html", context, status=status)


def minutes_by_phase(ticket: Ticket) -> float:
    return sum(WorkEntry.objects.filter(ticket=ticket).values_list("minutes", flat=True))


def is_running(request: HttpRequest, ticket: Ticket) -> bool:
    last = ClockMark.objects.filter(ticket=ticket, by=request.user).last()
    return last is not None and last.running


@require_GET
@allow(TECH)
def ticket(request: HttpRequest, number: str) -> HttpResponse:
    return show(request, number)


def show_step(request: HttpRequest, number: str, n: int, *, trouble: str = "", status: int = 200) -> HttpResponse:
    """Show one step for a hand in a glove: what to do, with which values, and one large tick."""
    ticket = ticket_or_404(number)
    steps = bench.steps_of(ticket)
    step = next((step for step in steps if step.n == n), None)
    if step is None:
        raise Http404
    context = {
        "door": "bench",
        "ticket": ticket,
        "step": step,
        "count": len(steps),
        "done": sum(one.done for one in steps),
        "before": next((one for one in reversed(steps) if one.n < n), None),
        "after": next((one for one in steps if one.n > n), None),
        "following": bench.next_step([one for one in steps if one.n != n], n),
        "key": new_token(),
        "running": is_running(request, ticket),
        "trouble": trouble,
        "can_work": is_open("record_work", ticket.state),
    }
    return render(request, "bench/step.html", context, status=status)


@require_GET
@allow(TECH)
def step(request: HttpRequest, number: str, n: int) -> HttpResponse:
    return show_step(request, number, n)


def sent_at(request: HttpRequest) -> datetime.datetime | None:
    """Return the phone's time of a mark that waited to be sent."""
    try:
        moment = parse_datetime(request.POST.get("at", ""))
    except ValueError:
        return None
    return moment if moment and moment.tzinfo else None


def key_of(request: HttpRequest) -> str:
    key = request.POST.get("key", "")
    return key if TOKEN.fullmatch(key) else new_token()


@require_POST
@allow(TECH)
def tick(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Tick a step or take its tick back. A phone that asks for JSON sends what waited, each with its own key."""
    found = ticket_or_404(number)
    by_phone = request.headers.get("Accept", "").startswith("application/json")
    try:
        work.mark_step(
            request.user,
            found,
            n,
            done=request.POST.get("done", "1") == "1",
            key=key_of(request),
            reading=request.POST.get("reading", "")[:60],
            sent_at=sent_at(request),
        )
    except Refused as error:
        if by_phone:
            return JsonResponse({"refused": str(error)}, status=409)
        return show_step(request, number, n, trouble=str(error), status=409)
    if by_phone:
        return JsonResponse({"saved": n})
    steps = bench.steps_of(found)
    following = bench.next_step(steps, n) if request.POST.get("done", "1") == "1" else None
    return redirect("builds:step", number, following.n if following else n)


@require_POST
@allow(TECH)
def set_clock(request: HttpRequest, number: str) -> HttpResponse:
    """Start or stop one's own clock on a ticket."""
    try:
        running = request.POST.get("running") == "1"
        work.set_clock(request.user, ticket_or_404(number), running=running, key=key_of(request))
    except Refused as error:
        return show(request, number, trouble=str(error), status=409)
    return redirect("builds:bench_ticket", number)


@require_POST
@allow(TECH)
def record(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Write down the minutes that one step took."""
    found = ticket_or_404(number)
    step = next((step for step in bench.steps_of(found) if step.n == n), None)
    if step is None:
        raise Http404
    form = MinutesForm(request.POST)
    if not form.is_valid():
        sentence = form.errors["minutes"][0]
        return show_step(request, number, n, trouble=f"Step {n}: {sentence}", status=422)
    line = found.lines.select_related("accessory").filter(key=step.said["line"]).first()
    try:
        work.record_work(
            request.user,
            found,
            phase=step.said["phase"],
            minutes=form.cleaned_data["minutes"],
            line_key=line.key if line else "",
            accessory_code=line.accessory.code if line else "",
            operation_code="" if line else step.said["line"],
        )
    except Refused as error:
        return show_step(request, number, n, trouble=str(error), status=409)
    return redirect("builds:step", number, n)


def tests_page(request: HttpRequest, number: str, *, trouble: str = "", status: int = 200) -> HttpResponse:
    """Show the tests with what is expected, what was read, and what is still open."""
    ticket = ticket_or_404(number)
    rows = bench.tests_of(ticket)
    context = {
        "door": "bench",
        "ticket": ticket,
        "rows": [(row, new_token()) for row in rows],
        "open": sum(row.open for row in rows),
        "verdicts": BenchReading.Verdict.choices,
        "trouble": trouble,
        "can_work": is_open("record_test", ticket.state),
    }
    return render(request, "bench/tests.html", context, status=status)


@require_GET
@allow(TECH)
def tests(request: HttpRequest, number: str) -> HttpResponse:
    return tests_page(request, number)


@require_POST
@allow(TECH)
def record_test(request: HttpRequest, number: str) -> HttpResponse:
    """Write down what one test came to."""
    form = ReadingForm(request.POST)
    if not form.is_valid():
        return tests_page(request, number, trouble=next(iter(form.errors.values()))[0], status=422)
    data = form.cleaned_data
    try:
        work.record_test(request.user, ticket_or_404(number), key=key_of(request), **data)
    except Refused as error:
        return tests_page(request, number, trouble=str(error), status=409)
    return redirect("builds:tests", number)


@require_POST
@allow(TECH)
def check(request: HttpRequest, number: str) -> HttpResponse:
    """Say that the boat is checked and ready to be handed over."""
    try:
        work.check(request.user, ticket_or_404(number), why=request.POST.get("why", "")[:500])
    except Refused as error:
        return show(request, number, trouble=str(error), status=409)
    return redirect("builds:jobs")
