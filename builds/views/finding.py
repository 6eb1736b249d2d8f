"""The counter hears from the bench: what was found, photos, readings; and answers."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds import querysets
from builds.actions import finding
from builds.actions.ground import Refused
from builds.documents.bench_tests import KINDS
from builds.models import BenchPhoto, BenchReading, Found
from builds.states import is_open
from builds.views.papers import trouble_of
from builds.views.ticket import revision_of, ticket_or_404
from shop.roles import COUNTER, allow


def page(request: HttpRequest, number: str, *, trouble: str = "", words: str = "", status: int = 200) -> HttpResponse:
    """Show what the bench found on a ticket, with the answers, the photos and the readings."""
    ticket = ticket_or_404(number, querysets.in_brief)
    context = {
        "door": "counter",
        "ticket": ticket,
        "asked": querysets.found_at_the_bench().filter(ticket=ticket),
        "photos": BenchPhoto.objects.filter(ticket=ticket, found=None).defer("jpeg").select_related("by"),
        "readings": [
            (reading, KINDS[reading.test])
            for reading in BenchReading.objects.filter(ticket=ticket).select_related("by")
        ],
        "can_answer": is_open("answer_found", ticket.state, ticket.changing),
        "can_change": ticket.changing or is_open("begin_change", ticket.state, ticket.changing),
        "trouble": trouble,
        "words": words,
    }
    return render(request, "counter/from_bench.html", context, status=status)


@require_GET
@allow(COUNTER)
def from_bench(request: HttpRequest, number: str) -> HttpResponse:
    return page(request, number)


@require_POST
@allow(COUNTER)
def answer(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Answer one question; with a change order its lines are opened."""
    ticket = ticket_or_404(number)
    found = get_object_or_404(Found, pk=pk, ticket=ticket)
    words, change = request.POST.get("words", "")[:500], "change" in request.POST
    try:
        finding.answer_found(request.user, ticket, found, words=words, change=change, revision=revision_of(request))
    except Refused as error:
        return page(request, number, trouble=trouble_of(error), words=words, status=409)
    return redirect("builds:ticket" if change else "builds:from_bench", number)
