"""The ticket at the counter: its lines, its answers, and what is done to it there."""

import json
from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds import bridge, parts, querysets, suiting
from builds.actions import lines, mends, tickets
from builds.actions.ground import Outdated, Refused
from builds.agreed import agreed_of
from builds.answers import Answers, answers_of, swapped_in_words
from builds.estimator.estimate import document
from builds.estimator.specs import Unusable
from builds.forms.both import show_both
from builds.forms.ticket import AddLineForm, LineForm
from builds.lookup import Kind, offered_to, one_kind, one_station
from builds.models import Ticket
from builds.pictures import board_drawings
from builds.promise import promise_of, ready_with_parts
from builds.states import is_open
from catalog import shelf
from catalog.models import AccessoryType, Bundle
from shop import clock
from shop.roles import COUNTER, allow

CHOICES_AT_MOST = 12


def ticket_or_404(number: str, tickets: Callable[[], QuerySet[Ticket]] = querysets.for_counter) -> Ticket:
    """Return one ticket, loaded as far as the page needs it."""
    ticket = tickets().filter(number=number).first()
    if ticket is None:
        raise Http404
    return ticket


def show_ticket(
    request: HttpRequest,
    number: str,
    *,
    add: AddLineForm | None = None,
    edit: LineForm | None = None,
    choices: list[Kind] | None = None,
    trouble: str = "",
    said: str = "",
    status: int = 200,
) -> HttpResponse:
    """Show the ticket: the whole page, or only its body where htmx asked."""
    ticket = ticket_or_404(number)
    key = request.POST.get("line") or request.GET.get("line", "")
    line = next((line for line in ticket.lines.all() if line.key == key), None)
    answers, unusable = answers_to(ticket)
    can_change = may_change(ticket)
    where = request.GET.get("where", "")
    station = next((one for one in ticket.hull.stations.all() if one.key == where), None)
    found = parts.parts_of_ticket(ticket)
    context = {
        "door": "counter",
        "ticket": ticket,
        "answers": answers,
        "unusable": unusable,
        "drawings": drawings_of(ticket, answers, key, request.user.units, can_change) if answers else {},
        "add": add or AddLineForm(initial={"where": station.name if station else ""}),
        "edit": edit or (LineForm(ticket=ticket, line=line) if line else None),
        "edited": line,
        "choices": choices or [],
        "trouble": trouble,
        "said": said,
        "offered": offered_to(ticket) if can_change else [],
        "bundles": bundles_for(ticket) if can_change and not ticket.lines.all() else [],
        "can_change": can_change,
        "can_begin_change": is_open("begin_change", ticket.state, ticket.changing),
        "agreed": agreed_of(ticket),
        "parts": found,
        "parts_ready_on": ready_with_parts(found) if not ticket.changing else None,
    }
    template = "counter/partials/ticket.html" if request.htmx else "counter/ticket.html"
    # htmx swaps only what came with success; a refused form is an answer all the same.
    return render(request, template, context, status=200 if request.htmx else status)


def may_change(ticket: Ticket) -> bool:
    return is_open("change_agreed" if ticket.changing else "change", ticket.state, ticket.changing)


def bundles_for(ticket: Ticket) -> list[Bundle]:
    """Return the bundles for this craft, those for what the customer wants first."""
    asked = suiting.asked_of(ticket)
    uses = set(asked.uses) if asked else set()
    bundles = [bundle for bundle in shelf.bundles() if bundle.suits(ticket.hull.craft)]
    return sorted(bundles, key=lambda bundle: not uses & set(bundle.uses))


def answers_to(ticket: Ticket) -> tuple[Answers | None, tuple]:
    """Return the answers, or the problems that keep the ticket from being estimated."""
    try:
        found = bridge.estimate_of(ticket)
    except Unusable as error:
        return None, error.problems
    agreed = agreed_of(ticket)
    if agreed and not ticket.changing:
        return answers_of(ticket, found, None, agreed.kept.ready_on), ()
    promised = promise_of(found, shelf.rates_on(clock.today()), clock.today(), ticket=ticket)
    return answers_of(ticket, found, promised, promised and promised.ready_on), ()


def drawings_of(ticket: Ticket, answers: Answers, selected: str, units: str, can_change: bool) -> dict:
    kept = bridge.catalogue_for(ticket)
    sheet = {**bridge.build_sheet(ticket), "accessories": kept.accessory_records, "shop": kept.shop_record}
    link = "?where={key}#add" if can_change else ""
    return board_drawings(sheet, document(answers.estimate, workings=False), selected, units, station_link=link)


@require_GET
@allow(COUNTER)
def ticket(request: HttpRequest, number: str) -> HttpResponse:
    return show_ticket(request, number)


@require_POST
@allow(COUNTER)
def add_line(request: HttpRequest, number: str) -> HttpResponse:
    """Add the next line from words or a code, at the usual place or the one that was named."""
    form = AddLineForm(request.POST)
    if not form.is_valid():
        return show_ticket(request, number, add=form, status=422)
    ticket = ticket_or_404(number)
    kind, maybe = one_kind(form.cleaned_data["part"], offered_to(ticket))
    if kind is None:
        if not maybe:
            form.add_error("part", f"“{form.cleaned_data['part']}” names no part in the catalogue. Try fewer words.")
        return show_ticket(request, number, add=form, choices=maybe[:CHOICES_AT_MOST], status=422)
    try:
        station = one_station(form.cleaned_data["where"], list(ticket.hull.stations.all()))
        figures = {"station": station} if station else {}
        accessory = AccessoryType.objects.get(code=kind.code)
        lines.add_line(request.user, ticket, accessory, quantity=form.cleaned_data["quantity"], **figures)
    except ValidationError as error:
        form.add_error("where", error)
        return show_ticket(request, number, add=form, status=422)
    except Refused as error:
        return show_ticket(request, number, add=form, trouble=str(error), status=409)
    return shown_again(request, number)


@require_POST
@allow(COUNTER)
def add_bundle(request: HttpRequest, number: str, code: str) -> HttpResponse:
    """Add the lines of a bundle of the shop's own."""
    bundle = Bundle.objects.offered().filter(code=code).first()
    if bundle is None:
        return show_ticket(request, number, trouble="That bundle is no longer offered.", status=409)
    return acted(request, number, lambda ticket: lines.add_bundle(request.user, ticket, bundle))


@require_POST
@allow(COUNTER)
def change_line(request: HttpRequest, number: str, key: str) -> HttpResponse:
    """Change one line, or put another part on it; what was typed stays where it cannot be saved."""
    ticket = ticket_or_404(number)
    line = next((line for line in ticket.lines.all() if line.key == key), None)
    if line is None:
        return show_ticket(request, number, trouble="That line is no longer on the ticket.", status=409)
    form = LineForm(request.POST, ticket=ticket, line=line)
    kind = other_kind(form, ticket) if form.is_valid() else None
    if not form.is_valid():
        return show_ticket(request, number, edit=form, status=422)
    try:
        said = save_line(request, ticket, key, form, kind)
    except Outdated as error:
        theirs = LineForm(ticket=error.ticket_now, line=lines.line_of(error.ticket_now, key))
        show_both(form, theirs, error.ticket.revision)
        return show_ticket(request, number, edit=form, trouble=str(error), status=409)
    except Refused as error:
        return show_ticket(request, number, edit=form, trouble=str(error), status=409)
    return shown_again(request, number, said)


def other_kind(form: LineForm, ticket: Ticket) -> Kind | None:
    """Return the type that the form names in place of the line's own; words that name none are an error of the form."""
    words = form.cleaned_data["part"]
    if not words or words == form.initial["part"]:
        return None
    kind, maybe = one_kind(words, offered_to(ticket))
    if kind is None:
        named = ", ".join(one.name for one in maybe[:5])
        form.add_error("part", f"“{words}” may be: {named}." if maybe else f"“{words}” names no part.")
    return kind


def save_line(request: HttpRequest, ticket: Ticket, key: str, form: LineForm, kind: Kind | None) -> str:
    """Save the line and return a sentence about a part that was put in another's place."""
    if kind is None:
        lines.change_line(request.user, ticket, key, revision=form.cleaned_data["revision"], **form.figures())
        return ""
    before = bridge.estimate_of(ticket)
    accessory = AccessoryType.objects.get(code=kind.code)
    lines.replace_accessory(request.user, ticket, key, accessory, revision=form.cleaned_data["revision"])
    return swapped_in_words(before, bridge.estimate_of(ticket_or_404(ticket.number)), key)


def acted(request: HttpRequest, number: str, act) -> HttpResponse:
    """Do one act on the ticket and show it again, with the sentence where it was refused."""
    try:
        act(ticket_or_404(number))
    except Refused as error:
        return show_ticket(request, number, trouble=str(error), status=409)
    return shown_again(request, number)


def shown_again(request: HttpRequest, number: str, said: str = "") -> HttpResponse:
    """Show the ticket after an act, with a sentence about it where there is one to say."""
    if not request.htmx:
        if said:
            messages.success(request, said)
        return redirect("builds:ticket", number)
    request.POST = request.POST.copy()
    request.POST.pop("line", None)
    return show_ticket(request, number, said=said)


def revision_of(request: HttpRequest) -> int | None:
    """Return the revision that the page showed, where its form says it."""
    text = request.POST.get("revision", "")
    return int(text) if text.isdigit() and len(text) < 12 else None


@require_POST
@allow(COUNTER)
def remove_line(request: HttpRequest, number: str, key: str) -> HttpResponse:
    revision = revision_of(request)
    return acted(request, number, lambda ticket: lines.remove_line(request.user, ticket, key, revision=revision))


@require_POST
@allow(COUNTER)
def undo(request: HttpRequest, number: str) -> HttpResponse:
    return acted(request, number, lambda ticket: lines.undo(request.user, ticket, revision=revision_of(request)))


@require_POST
@allow(COUNTER)
def mend(request: HttpRequest, number: str) -> HttpResponse:
    """Press a mend: what the caution computed is done to the ticket."""
    try:
        data = json.loads(request.POST.get("mend", ""))
    except ValueError:
        data = {}
    if not isinstance(data, dict):
        data = {}
    revision = revision_of(request)
    return acted(request, number, lambda ticket: mends.apply_mend(request.user, ticket, data, revision=revision))


@require_POST
@allow(COUNTER)
def close(request: HttpRequest, number: str, act: str) -> HttpResponse:
    """Decline, let lapse, cancel or reopen a ticket."""
    if act not in ("decline", "lapse", "cancel", "reopen"):
        raise Http404
    revision = revision_of(request)
    return acted(request, number, lambda ticket: tickets.close(request.user, ticket, act, revision=revision))
