"""A ticket's history: who did what and when, and the way back."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_POST

from builds import history, querysets
from builds.actions import lines
from builds.views.ticket import acted, may_change, revision_of, ticket_or_404
from shop.roles import COUNTER, allow


@require_GET
@allow(COUNTER)
def told(request: HttpRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number, querysets.in_brief)
    context = {"door": "counter", "ticket": ticket, "entries": history.told(ticket), "can_change": may_change(ticket)}
    return render(request, "counter/history.html", context)


@require_POST
@allow(COUNTER)
def go_back(request: HttpRequest, number: str, entry: int) -> HttpResponse:
    """Put the ticket back to before one entry of its history."""
    revision = revision_of(request)
    return acted(request, number, lambda ticket: lines.go_back(request.user, ticket, entry, revision=revision))
