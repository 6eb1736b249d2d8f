"""Learning: what the shop's timed work proposes, taken or left by the owner."""

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds import learned, lessons
from builds.actions import learning as actions
from builds.actions.ground import Refused
from builds.learning.learn import LEAST_TICKETS
from builds.models import LearnedChange, Reckoning
from builds.reckonings import LONG_LOOK_S, LOOK_S, Progress, go_on, latest
from shop.csv_out import csv_response
from shop.roles import OWNER, allow

KIND = Reckoning.Kind.LEARNING


@require_GET
@allow(OWNER)
def learning(request: HttpRequest) -> HttpResponse:
    """Show what was learned last; a reckoning that has not ended goes on by this look."""
    going = latest(KIND, ended=False)
    progress = go_on(going, lessons.WORK, look_of(request)) if going else None
    if going and going.ended_at:
        going = progress = None
        if request.htmx:
            return HttpResponse(headers={"HX-Refresh": "true"})
    if request.htmx and going:
        return render(request, "office/partials/progress.html", {"progress": progress, "here": request.path})
    return render(request, "office/learning.html", page(request, going, progress))


def look_of(request: HttpRequest) -> float:
    """Return how long this look goes on [s]."""
    return LONG_LOOK_S if "go" in request.GET else LOOK_S


def page(request: HttpRequest, going: Reckoning | None, progress: Progress | None) -> dict:
    ended = latest(KIND, ended=True)
    said = {"door": "office", "progress": progress, "here": request.path, "reckoning": ended}
    if ended is None:
        return said
    rows = learned.rows_of(ended)
    worth = [row for row in rows if row.is_worth or row.state == learned.TAKEN]
    return said | {
        "found": ended.found,
        "least": LEAST_TICKETS,
        "worth": worth,
        "others": [row for row in rows if row not in worth],
        "picture": learned.picture_of(worth),
        "promises": learned.promises_of(ended.found),
        "earned": learned.earned(ended.found),
        "left_out": learned.left_out_of(ended.found),
        "taken": learned.taken_rows(),
    }


@require_POST
@allow(OWNER)
def begin(request: HttpRequest) -> HttpResponseRedirect:
    return acted(request, lambda: actions.begin(request.user, KIND, {}, lessons.timed_tickets()))


@require_POST
@allow(OWNER)
def take(request: HttpRequest) -> HttpResponseRedirect:
    """Take what is ticked."""
    reckoning = latest(KIND, ended=True)
    if reckoning is None:
        raise Http404
    keys = request.POST.getlist("key")
    return acted(request, lambda: actions.take(request.user, reckoning, keys), "Taken. Quotes that exist keep theirs.")


@require_POST
@allow(OWNER)
def take_back(request: HttpRequest, change: int) -> HttpResponseRedirect:
    taken = get_object_or_404(LearnedChange, pk=change)
    return acted(request, lambda: actions.take_back(request.user, taken), "Taken back.")


def acted(request: HttpRequest, act: Callable[[], object], done: str = "") -> HttpResponseRedirect:
    try:
        act()
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        if done:
            messages.success(request, done)
    return redirect("builds:learning")


@require_GET
@allow(OWNER)
def table(request: HttpRequest) -> HttpResponseBase:
    reckoning = latest(KIND, ended=True)
    if reckoning is None:
        raise Http404
    return csv_response(learned.table_of(learned.rows_of(reckoning)), "learned")
