"""Pages of words: the glossary, the sources, and the method with a ticket of the shop as its example."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from builds import bridge, querysets, words
from builds.answers import Opened, opened_of
from builds.estimator.estimate import workings_of
from builds.estimator.specs import Unusable
from builds.models import Ticket
from shop.roles import OWNER, ROLES, allow, may

SHOWN_A_CHAPTER = 12


@require_GET
@allow(*ROLES)
def glossary(request: HttpRequest) -> HttpResponse:
    hidden = () if may(request.user, "see_costs") else words.OFFICE_ONLY
    shown = {word: meaning for word, meaning in words.GLOSSARY.items() if word not in hidden}
    return render(request, "words/glossary.html", {"glossary": shown})


@require_GET
@allow(*ROLES)
def sources(request: HttpRequest) -> HttpResponse:
    return render(request, "words/sources.html", {"cited": words.sources_cited()})


@require_GET
@allow(OWNER)
def method(request: HttpRequest) -> HttpResponse:
    """The method in plain words, each part with the workings of one ticket: the one asked for, else the latest."""
    asked = request.GET.get("ticket", "").strip()[:20]
    ticket = example(asked)
    chapters, trouble = [(chapter, []) for chapter in words.CHAPTERS], ""
    if asked and ticket is None:
        trouble = f"There is no ticket {asked} with a line on it; accepted: such as T-0033."
    if ticket is not None:
        try:
            opened = [(one.figure, opened_of(one)) for one in workings_of(bridge.estimate_of(ticket))]
        except Unusable as error:
            opened, trouble = [], f"{ticket.number} cannot be reckoned yet: {error.problems[0]}"
        chapters = [(chapter, figures_of(chapter, opened)) for chapter in words.CHAPTERS]
    context = {"door": "office", "ticket": ticket, "asked": asked, "chapters": chapters, "trouble": trouble}
    return render(request, "words/method.html", context, status=404 if asked and ticket is None else 200)


def figures_of(chapter: words.Chapter, opened: list[tuple[str, Opened]]) -> list[tuple[str, Opened]]:
    found = [(words.spoken(name), one) for name, one in opened if name.startswith(chapter.figures)]
    return found[:SHOWN_A_CHAPTER]


def example(number: str) -> Ticket | None:
    """Return a ticket with lines: the one of a number, or the latest that was agreed."""
    tickets = querysets.whole_tickets().filter(lines__isnull=False).distinct()
    if number:
        return tickets.filter(number__iexact=number).first()
    return tickets.exclude(agreed_quote=None).order_by("-id").first() or tickets.order_by("-id").first()
