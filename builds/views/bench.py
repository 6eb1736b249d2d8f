"""The bench: tickets to work on, their steps, ticks and clock. No price and no cost comes through this door."""

import datetime
from collections.abc import Callable
from functools import partial

from django import forms
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET, require_POST

from builds import bench, querysets
from builds.actions import finding, work
from builds.actions.ground import Refused
from builds.models import BenchPhoto, BenchReading, ClockMark, Ticket, WorkEntry
from builds.parts import parts_of, parts_of_ticket
from builds.printed_set import PAPERS
from builds.states import is_open
from shop.forms import DurationField, MassField
from shop.once import TOKEN, new_token
from shop.photos import NotAPhoto, kept_photo
from shop.roles import COUNTER, TECH, allow


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
    load_kg = MassField(label="Load aboard", required=False, low=0, high=1000)


@require_GET
@allow(TECH)
def jobs(request: HttpRequest) -> HttpResponse:
    tickets = list(querysets.for_bench())
    stand = parts_of(tickets)
    for one in tickets:
        one.parts = stand[one.pk]
    mine = [ticket for ticket in tickets if ticket.tech_id == request.user.pk]
    others = [ticket for ticket in tickets if ticket.tech_id != request.user.pk]
    groups = [("Yours", mine), ("On the bench" if not mine else "The others", others)]
    context = {"door": "bench", "groups": groups, "backs": querysets.come_backs_for_bench()}
    return render(request, "bench/jobs.html", context)


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
        "parts": parts_of_ticket(ticket),
        "asked": querysets.found_at_the_bench().filter(ticket=ticket),
        "photos": BenchPhoto.objects.filter(ticket=ticket, found=None).defer("jpeg").select_related("by"),
        "key": new_token(),
        "photo_key": new_token(),
        "set": PAPERS,
        "trouble": trouble,
        "at": at,
        "can_work": is_open("record_work", ticket.state),
        "can_note": is_open("note_used", ticket.state),
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
        "asked": querysets.found_at_the_bench().filter(ticket=ticket, step=step.name),
        "photos": BenchPhoto.objects.filter(ticket=ticket, n=n, found=None).defer("jpeg").select_related("by"),
        "key": new_token(),
        "found_key": new_token(),
        "photo_key": new_token(),
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


def done(request: HttpRequest, act: Callable[[], object], page: Callable[..., HttpResponse], onward) -> HttpResponse:
    """Do one act of the bench: a phone that asks for JSON hears that it is saved or why not, a page goes `onward`."""
    by_phone = request.headers.get("Accept", "").startswith("application/json")
    try:
        act()
    except Refused as error:
        sentence, status = str(error), 409
    except NotAPhoto as error:
        sentence, status = str(error), 422
    except forms.ValidationError as error:
        sentence, status = error.messages[0], 422
    else:
        return JsonResponse({"saved": True}) if by_phone else onward()
    return JsonResponse({"refused": sentence}, status=status) if by_phone else page(trouble=sentence, status=status)


@require_POST
@allow(TECH)
def tick(request: HttpRequest, number: str, n: int) -> HttpResponse:
    """Tick a step or take its tick back."""
    found, ticked = ticket_or_404(number), request.POST.get("done", "1") == "1"

    def onward() -> HttpResponse:
        following = bench.next_step(bench.steps_of(found), n) if ticked else None
        return redirect("builds:step", number, following.n if following else n)

    reading = request.POST.get("reading", "")[:60]
    return done(
        request,
        lambda: work.mark_step(
            request.user, found, n, done=ticked, key=key_of(request), reading=reading, sent_at=sent_at(request)
        ),
        partial(show_step, request, number, n),
        onward,
    )


@require_POST
@allow(TECH)
def set_clock(request: HttpRequest, number: str) -> HttpResponse:
    """Start or stop one's own clock on a ticket."""
    running, key, at = request.POST.get("running") == "1", key_of(request), sent_at(request)
    return done(
        request,
        lambda: work.set_clock(request.user, ticket_or_404(number), running=running, key=key, sent_at=at),
        partial(show, request, number),
        lambda: redirect("builds:bench_ticket", number),
    )


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
        "load_kg": bench.load_aboard_kg(ticket) if any(row.kind.word == "float_and_trim" for row in rows) else None,
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
    form, ticket = ReadingForm(request.POST), ticket_or_404(number)

    def act() -> None:
        if not form.is_valid():
            raise forms.ValidationError(next(iter(form.errors.values()))[0])
        work.record_test(request.user, ticket, key=key_of(request), **form.cleaned_data)

    return done(request, act, partial(tests_page, request, number), lambda: redirect("builds:tests", number))


@require_POST
@allow(TECH)
def note_found(request: HttpRequest, number: str) -> HttpResponse:
    """Ask the counter about what was found, with a photo where one was taken."""
    ticket, n = ticket_or_404(number), step_number(request)

    def act() -> None:
        sent = request.FILES.get("photo")
        photo = kept_photo(sent) if sent else None
        words = request.POST.get("words", "")[:500]
        finding.note_found(
            request.user, ticket, words=words, key=key_of(request), n=n, photo=photo, sent_at=sent_at(request)
        )

    return done(request, act, page_of(request, number, n), lambda: back_to(number, n))


@require_POST
@allow(TECH)
def keep_photo(request: HttpRequest, number: str) -> HttpResponse:
    """Keep a photo of a step, or of the boat."""
    ticket, n = ticket_or_404(number), step_number(request)

    def act() -> None:
        sent = request.FILES.get("photo")
        if sent is None:
            raise NotAPhoto("The photo is missing. Choose one, or take one.")
        note = request.POST.get("note", "")[:120]
        finding.keep_photo(request.user, ticket, kept_photo(sent), key=key_of(request), n=n, note=note)

    return done(request, act, page_of(request, number, n), lambda: back_to(number, n))


def step_number(request: HttpRequest) -> int:
    text = request.POST.get("n", "0")
    return int(text) if text.isdecimal() and len(text) < 5 else 0


def page_of(request: HttpRequest, number: str, n: int) -> Callable[..., HttpResponse]:
    return partial(show_step, request, number, n) if n else partial(show, request, number)


def back_to(number: str, n: int) -> HttpResponse:
    return redirect("builds:step", number, n) if n else redirect("builds:bench_ticket", number)


@require_GET
@allow(COUNTER, TECH)
def photo(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """One photo from the bench; it never changes, so the browser may keep it."""
    row = get_object_or_404(BenchPhoto, pk=pk, ticket__number=number)
    if not row.jpeg:
        return HttpResponse(render_to_string("errors/emptied.html"), status=410)
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return HttpResponse(bytes(row.jpeg), content_type="image/jpeg", headers=headers)


@require_POST
@allow(TECH)
def check(request: HttpRequest, number: str) -> HttpResponse:
    """Say that the boat is checked and ready to be handed over."""
    try:
        work.check(request.user, ticket_or_404(number), why=request.POST.get("why", "")[:500])
    except Refused as error:
        return show(request, number, trouble=str(error), status=409)
    return redirect("builds:jobs")
