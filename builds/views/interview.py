"""The interview: the questions of the trade as one page, and what each answer does."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from builds import interview, querysets
from builds.actions import interview as acts
from builds.actions.ground import Refused
from builds.forms.interview import InterviewForm
from builds.models import Ticket
from builds.views.ticket import answers_to, bundles_for, ticket_or_404
from catalog.models import HullType
from shop.roles import COUNTER, allow


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def ask(request: HttpRequest, number: str) -> HttpResponse:
    """Ask; an answer that changes is saved at once where scripts run, all of them by the button where none do."""
    ticket = ticket_or_404(number, querysets.whole_tickets)
    hull_types = list(HullType.objects.offered())
    form = InterviewForm(request.POST or None, ticket=ticket, hull_types=hull_types)
    trouble, status = "", 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                save(request, ticket, form, hull_types)
                if not request.htmx:
                    return redirect("builds:ticket" if "begin" in request.POST else "builds:interview", number)
                ticket, status = ticket_or_404(number, querysets.whole_tickets), 200
                form = InterviewForm(ticket=ticket, hull_types=hull_types)
            except Refused as error:
                trouble, status = str(error), 409
    context = {"door": "counter", "ticket": ticket, "form": form, "trouble": trouble, **so_far(request, ticket)}
    for name, field in form.fields.items():
        field.does = context["effects"].get(name, [])
    template = "counter/partials/asked.html" if request.htmx else "counter/interview.html"
    return render(request, template, context, status=200 if request.htmx else status)


def save(request: HttpRequest, ticket: Ticket, form: InterviewForm, hull_types: list[HullType]) -> None:
    data = form.cleaned_data
    acts.answer(
        request.user,
        ticket,
        answers=form.answers(),
        paddler_kg=data["paddler"],
        kit_kg=data["kit"],
        water=data["water"] or ticket.water,
        hull_type=next((kind for kind in hull_types if kind.code == data["hull_type"]), None),
        revision=data["revision"],
    )


def so_far(request: HttpRequest, ticket: Ticket) -> dict:
    """Return what stands beside the questions: the first figures, the cautions, the bundles that fit."""
    answers, unusable = answers_to(ticket)
    effects = interview.effects(ticket, answers, request.user.units) if answers else {}
    return {"answers": answers, "unusable": unusable, "effects": effects, "bundles": bundles_for(ticket)[:6]}
