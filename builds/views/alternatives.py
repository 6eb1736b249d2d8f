"""Up to three ways to do a ticket, side by side."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds.actions import alternatives as acts
from builds.actions.ground import Refused
from builds.alternatives import columns_of, compared
from builds.promise import booked_now, promise_of
from builds.views.ticket import may_change, revision_of, ticket_or_404
from catalog import shelf
from shop import clock
from shop.roles import COUNTER, allow


def page(request: HttpRequest, number: str, *, trouble: str = "", status: int = 200) -> HttpResponse:
    """Show the alternatives with only their differences marked."""
    ticket = ticket_or_404(number)
    rates, today = shelf.rates_on(clock.today()), clock.today()
    booked = booked_now(rates)
    columns = columns_of(ticket, lambda found: promise_of(found, rates, today, ticket=ticket, booked=booked))
    context = {
        "door": "counter",
        "ticket": ticket,
        "columns": columns,
        "rows": compared(columns),
        "names": [name for name in acts.NAMES if name not in [one.alternative.name for one in columns]],
        "can_copy": may_change(ticket) and len(columns) < acts.MOST,
        "can_change": may_change(ticket),
        "trouble": trouble,
    }
    return render(request, "counter/alternatives.html", context, status=status)


@require_GET
@allow(COUNTER)
def compare(request: HttpRequest, number: str) -> HttpResponse:
    return page(request, number)


def done(request: HttpRequest, number: str, act, to: str) -> HttpResponse:
    try:
        act(ticket_or_404(number))
    except Refused as error:
        return page(request, number, trouble=str(error), status=409)
    return redirect(to, number)


@require_POST
@allow(COUNTER)
def copy(request: HttpRequest, number: str) -> HttpResponse:
    """Copy the current alternative and go on with the copy, on the ticket's page."""
    name, revision = request.POST.get("name", "")[:40], revision_of(request)
    return done(
        request,
        number,
        lambda ticket: acts.copy_current(request.user, ticket, name, revision=revision),
        "builds:ticket",
    )


@require_POST
@allow(COUNTER)
def take(request: HttpRequest, number: str, place: int) -> HttpResponse:
    """Go on with one alternative: to its lines, or straight to its quote."""
    revision = revision_of(request)
    return done(
        request,
        number,
        lambda ticket: acts.take(request.user, ticket, place, revision=revision),
        "builds:papers" if "quote" in request.POST else "builds:ticket",
    )


@require_POST
@allow(COUNTER)
def remove(request: HttpRequest, number: str, place: int) -> HttpResponse:
    revision = revision_of(request)
    return done(
        request,
        number,
        lambda ticket: acts.remove(request.user, ticket, place, revision=revision),
        "builds:alternatives",
    )
