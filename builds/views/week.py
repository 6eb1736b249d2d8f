"""The bench's week: who works on what when, moving a ticket, hours and days off, the feed. No price comes through."""

import datetime

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.dateparse import parse_date
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from builds import bench_week, querysets
from builds.actions import planning
from builds.actions.ground import Refused
from builds.bench_now import BenchNow, bench_now, tech_of
from builds.documents import bench_week_pdf
from builds.feed import feed_of
from builds.forms.calendar import EARLIER, FREE, LATER, DayOffForm, HoursForm, MoveForm, PlaceForm
from builds.models import FeedLink
from builds.planner.calendar import Plan
from builds.planner.what_if import Circle, ahead_of, behind, what_if
from builds.planner.workload import DAY, Held, Tech
from builds.views.papers import pdf_file
from builds.views.signing import kept_to_itself
from catalog import shelf
from catalog.models import ShopRates
from shop import clock, roles
from shop.models import User
from shop.pdf import PAPERS, Unavailable
from shop.roles import COUNTER, OWNER, TECH, allow


def door_of(request: HttpRequest) -> str:
    return "counter" if request.user.role == COUNTER else "bench"


def monday_of(request: HttpRequest) -> datetime.date:
    """Return the Monday of the week that was asked for; this week's where none was."""
    try:
        day = parse_date(request.GET.get("week", "")) or clock.today()
    except ValueError:
        day = clock.today()
    day = min(max(day, clock.today() - 366 * DAY), clock.today() + 3 * 366 * DAY)
    return day - day.weekday() * DAY


@require_GET
@allow(COUNTER, TECH)
def week(request: HttpRequest) -> HttpResponse:
    bench, monday, this_week = bench_now(), monday_of(request), clock.today() - clock.today().weekday() * DAY
    context = {
        "door": door_of(request),
        "week": bench_week.week_of(bench, bench.plan(), monday),
        "today": clock.today(),
        "earlier": monday - 7 * DAY if monday > this_week else None,
        "later": monday + 7 * DAY,
        "may_plan": roles.may(request.user, "plan_bench"),
    }
    return render(request, "bench/week.html", context)


@require_GET
@allow(COUNTER, TECH)
def week_pdf(request: HttpRequest) -> HttpResponse:
    """The week as a paper, to be pinned to the wall."""
    bench, monday, paper = bench_now(), monday_of(request), request.GET.get("paper", "a4")
    shown = bench_week.week_of(bench, bench.plan(), monday)
    name = shelf.rates_on(clock.today()).shop_name
    try:
        data = bench_week_pdf(shown, name, clock.local(clock.now()), paper if paper in PAPERS else "a4")
    except Unavailable as error:
        return HttpResponse(str(error), status=409, content_type="text/plain; charset=utf-8")
    return pdf_file(data, f"bench-week-{monday}.pdf")


def held_by(form: MoveForm, made: Plan, key: str) -> Held:
    """Return the place that a form asks for. Raises Refused where there is nothing to go before or behind."""
    data = form.cleaned_data
    if data["how"] == FREE:
        return Held()
    if data["how"] not in (EARLIER, LATER):
        return Held(tech=data["tech"], day=data["day"])
    if all(one.ticket.key != key for one in made.placed):
        raise Refused("The ticket has no place yet. Give it a day or a tech.")
    other = (ahead_of if data["how"] == EARLIER else behind)(made, key)
    if not other:
        end = "first" if data["how"] == EARLIER else "last"
        raise Refused(f"It is the {end} of its tech already.")
    tech = made[key].tech
    return Held(tech=tech, before=other) if data["how"] == EARLIER else Held(tech=tech, after=other)


@require_GET
@allow(TECH)
def move(request: HttpRequest, number: str) -> HttpResponse:
    """Ask where a ticket goes, and show what that does to the others; nothing is written."""
    bench = bench_now()
    if number not in bench.rows:
        raise Http404
    form = MoveForm(request.GET if "how" in request.GET else None, techs=bench.techs)
    if not form.is_bound or not form.is_valid():
        return move_page(request, bench, number, form, status=422 if form.errors else 200)
    try:
        held = held_by(form, bench.plan(), number)
        found = what_if(bench.techs, bench.tickets, bench.begin, number, held, bench.working_days)
    except (Refused, Circle) as error:
        return move_page(request, bench, number, form, trouble=str(error), status=409)
    return move_page(request, bench, number, form, held=held, found=found)


def move_page(request: HttpRequest, bench: BenchNow, number: str, form: MoveForm, *, status=200, **more):
    found = more.get("found")
    shifts = [] if found is None else [(bench.jobs[one.ticket.key], one) for one in (found.own, *found.others)]
    context = {
        "door": "bench",
        "ticket": bench.rows[number],
        "form": form,
        "shifts": [(job, one, bench.name_of(one.tech_before), bench.name_of(one.tech_after)) for job, one in shifts],
        **more,
    }
    return render(request, "bench/move.html", context, status=status)


@require_POST
@allow(TECH)
def confirm_move(request: HttpRequest, number: str) -> HttpResponse:
    """Write down the place that was shown."""
    bench, form = bench_now(), PlaceForm(request.POST)
    if number not in bench.rows:
        raise Http404
    asked = MoveForm(None, techs=bench.techs)
    known = form.is_valid() and form.cleaned_data["tech"] in ("", *(tech.key for tech in bench.techs))
    if not known:
        return move_page(request, bench, number, asked, trouble="That place is not known. Choose again.", status=409)
    revision = request.POST.get("revision", "")
    try:
        what_if(bench.techs, bench.tickets, bench.begin, number, form.held(), bench.working_days)
        planning.move_ticket(
            request.user, bench.rows[number], form.held(), revision=int(revision) if revision.isdecimal() else None
        )
    except (Refused, Circle) as error:
        return move_page(request, bench, number, asked, trouble=str(error), status=409)
    return redirect("builds:week")


# Hours, days off, the feed.


def hours_of(person: User, rates: ShopRates) -> Tech:
    """Return a person with hours and days off as the planner takes one."""
    own, off = getattr(person, "bench_hours", None), {one.day for one in person.days_off.all()}
    return tech_of(person.pk, str(person), own and own.week_min, own and own.opens_min, off, rates)


def hours_page(request: HttpRequest, *, bound: HoursForm | None = None, status: int = 200, **more) -> HttpResponse:
    """Show everyone's hours to the owner, the own ones to a tech, the feed to all."""
    rates, owner = shelf.rates_on(clock.today()), roles.may(request.user, "set_bench_hours")
    people = [one for one in querysets.techs() if owner or one == request.user]
    techs = [(one, hours_of(one, rates)) for one in people]
    context = {
        "door": door_of(request),
        "people": [
            {
                "person": one,
                "tech": tech,
                "hours": bound if bound and bound.prefix == f"tech_{tech.key}" else HoursForm(tech=tech),
                "off": [off.day for off in one.days_off.all() if off.day >= clock.today()],
                "form": DayOffForm(auto_id=f"off_{tech.key}_%s"),
            }
            for one, tech in techs
        ],
        "may_set": owner,
        "link": FeedLink.objects.filter(person=request.user).first(),
        **more,
    }
    return render(request, "bench/hours.html", context, status=status)


@require_GET
@allow(COUNTER, TECH)
def hours(request: HttpRequest) -> HttpResponse:
    return hours_page(request)


def tech_or_404(pk: int) -> User:
    return get_object_or_404(querysets.techs(), pk=pk)


@require_POST
@allow(OWNER)
def set_hours(request: HttpRequest, pk: int) -> HttpResponse:
    person = tech_or_404(pk)
    form = HoursForm(request.POST, tech=hours_of(person, shelf.rates_on(clock.today())))
    if not form.is_valid():
        return hours_page(request, bound=form, status=422)
    planning.set_hours(request.user, person, form.week_min(), form.opens_min())
    messages.success(request, f"The hours of {person} are saved.")
    return redirect("builds:hours")


@require_POST
@allow(TECH)
def set_day_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a day off, or take it back."""
    person, form = tech_or_404(pk), DayOffForm(request.POST)
    if not form.is_valid():
        return hours_page(request, trouble="The day is missing; accepted: such as 2026-12-01.", status=422)
    act = planning.work_that_day if request.POST.get("back") else planning.take_day_off
    try:
        act(request.user, person, form.cleaned_data["day"])
    except Refused as error:
        return hours_page(request, trouble=str(error), status=409)
    return redirect("builds:hours")


@require_POST
@allow(COUNTER, TECH)
def set_feed(request: HttpRequest) -> HttpResponse:
    """Make a link to the own feed, shown this once, or withdraw it."""
    if request.POST.get("withdraw"):
        planning.withdraw_feed(request.user)
        return redirect("builds:hours")
    secret = planning.make_feed(request.user)
    return hours_page(request, address=request.build_absolute_uri(f"/bench-feed/{secret}.ics"))


@require_safe
@never_cache
@login_not_required
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar as iCalendar, for whoever holds the link: a tech's own work, else everyone's."""
    person = planning.owner_of_feed(secret)
    if person is None:
        raise Http404
    data = feed_of(person, request.get_host().partition(":")[0])
    return kept_to_itself(HttpResponse(data, content_type="text/calendar; charset=utf-8"))
