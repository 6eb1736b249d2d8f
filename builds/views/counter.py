"""The counter: who is it or which boat, and the ticket with its lines and answers."""

import json

from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from builds import bridge, promise, querysets
from builds.actions import lines, mends, tickets
from builds.actions.ground import Outdated, Refused
from builds.answers import Answers, answers_of
from builds.estimator.estimate import document
from builds.estimator.specs import Unusable
from builds.forms.ticket import AddLineForm, LineForm, StartForm
from builds.lookup import one_accessory, one_station
from builds.models import HullRecord, Ticket
from builds.pictures import board_drawings
from builds.states import OPEN, STATE_WORDS, is_open
from catalog.models import AccessoryType, HullType, ShopRates
from shop import clock
from shop.roles import COUNTER, allow

USUAL_HULL_TYPE = "sot_3_4"


@require_safe
@allow(COUNTER)
def start(request: HttpRequest) -> HttpResponse:
    """Search for a customer, a boat, a ticket or a hull type; the way on is always "new ticket"."""
    words = request.GET.get("q", "").strip()
    found = {}
    if words:
        found = {
            "tickets": querysets.found_tickets(words),
            "customers": querysets.found_customers(words).prefetch_related("hulls"),
            "hulls": querysets.found_hulls(words),
            "hull_types": HullType.objects.offered().matching(words)[:6],
        }
    context = {"door": "counter", "q": words, "unfinished": querysets.unfinished()[:12], **found}
    return render(request, "counter/partials/hits.html" if request.htmx else "counter/start.html", context)


@require_safe
@allow(COUNTER)
def ticket_list(request: HttpRequest) -> HttpResponse:
    state = request.GET.get("state", "")
    states = (state,) if state in STATE_WORDS else OPEN
    page = querysets.for_counter_list(states)[:200]
    context = {"door": "counter", "tickets": page, "states": STATE_WORDS, "state": state}
    return render(request, "counter/tickets.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def new_ticket(request: HttpRequest) -> HttpResponse:
    """Open a ticket on a boat the shop knows, on a copy of a hull type, or on the usual one until it is known."""
    form = StartForm(request.POST or None, initial={"asked": request.GET.get("q", "")})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        hull = (
            HullRecord.objects.filter(number=data["hull"]).select_related("customer").first() if data["hull"] else None
        )
        code = data["hull_type"] or USUAL_HULL_TYPE
        hull_type = HullType.objects.filter(code=code).first() or HullType.objects.offered().first()
        ticket = tickets.open_ticket(
            request.user,
            hull=hull,
            hull_type=hull_type,
            title=data["title"],
            asked=data["asked"],
            assumed=not data["hull_type"],
        )
        if data["customer"]:
            tickets.set_customer(request.user, ticket, name=data["customer"], phone=data["phone"])
        return redirect(ticket)
    context = {"door": "counter", "form": form, "hull_types": HullType.objects.offered()}
    return render(request, "counter/new.html", context)


def ticket_or_404(number: str) -> Ticket:
    try:
        return querysets.for_counter(number)
    except Ticket.DoesNotExist:
        raise Http404 from None


def show_ticket(
    request: HttpRequest,
    number: str,
    *,
    add: AddLineForm | None = None,
    edit: LineForm | None = None,
    choices: list[AccessoryType] | None = None,
    trouble: str = "",
    status: int = 200,
) -> HttpResponse:
    """Show the ticket: the whole page, or only its body where htmx asked."""
    ticket = ticket_or_404(number)
    key = request.POST.get("line") or request.GET.get("line", "")
    line = next((line for line in ticket.lines.all() if line.key == key), None)
    answers, unusable = answers_to(ticket)
    context = {
        "door": "counter",
        "ticket": ticket,
        "answers": answers,
        "unusable": unusable,
        "drawings": drawings_of(ticket, answers, key, request.user.units) if answers else {},
        "add": add or AddLineForm(),
        "edit": edit or (LineForm(ticket=ticket, line=line) if line else None),
        "edited": line,
        "choices": choices or [],
        "trouble": trouble,
        "offered": AccessoryType.objects.offered().only("code", "name", "craft"),
        "can_change": is_open("change", ticket.state),
        "can_undo": is_open("change", ticket.state),
        "quote": ticket.quotes.all()[len(ticket.quotes.all()) - 1] if ticket.quotes.all() else None,
    }
    template = "counter/partials/ticket.html" if request.htmx else "counter/ticket.html"
    # htmx swaps only what came with success; a refused form is an answer all the same.
    return render(request, template, context, status=200 if request.htmx else status)


def answers_to(ticket: Ticket) -> tuple[Answers | None, tuple]:
    """Return the answers, or the problems that keep the ticket from being estimated."""
    try:
        found = bridge.estimate_of(ticket)
    except Unusable as error:
        return None, error.problems
    rates = ShopRates.objects.holding_on(clock.today())
    ready = promise.ready_on(found.order.ready_h, found.order.bench_min, rates, clock.today())
    return answers_of(ticket, found, ready), ()


def drawings_of(ticket: Ticket, answers: Answers, selected: str, units: str) -> dict:
    kept = bridge.catalogue_for(ticket)
    sheet = {**bridge.build_sheet(ticket), "accessories": kept.accessory_records, "shop": kept.shop_record}
    return board_drawings(sheet, document(answers.estimate, workings=False), selected, units)


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
    kind, maybe = one_accessory(form.cleaned_data["part"], list(AccessoryType.objects.offered()), ticket.hull.craft)
    if kind is None:
        if not maybe:
            form.add_error("part", f"“{form.cleaned_data['part']}” names no part in the catalogue. Try fewer words.")
        return show_ticket(request, number, add=form, choices=maybe[:12], status=422)
    try:
        station = one_station(form.cleaned_data["where"], list(ticket.hull.stations.all()))
        figures = {"station": station} if station else {}
        lines.add_line(request.user, ticket, kind, quantity=form.cleaned_data["quantity"], **figures)
    except ValidationError as error:
        form.add_error("where", error)
        return show_ticket(request, number, add=form, status=422)
    except Refused as error:
        return show_ticket(request, number, add=form, trouble=str(error), status=409)
    return shown_again(request, number)


@require_POST
@allow(COUNTER)
def change_line(request: HttpRequest, number: str, key: str) -> HttpResponse:
    """Change one line; what was typed stays where it cannot be saved."""
    ticket = ticket_or_404(number)
    line = next((line for line in ticket.lines.all() if line.key == key), None)
    if line is None:
        return show_ticket(request, number, trouble="That line is no longer on the ticket.", status=409)
    form = LineForm(request.POST, ticket=ticket, line=line)
    if not form.is_valid():
        return show_ticket(request, number, edit=form, status=422)
    try:
        lines.change_line(request.user, ticket, key, revision=form.cleaned_data["revision"], **form.figures())
    except Outdated as error:
        form.data = {**form.data.dict(), "revision": str(error.ticket.revision)}
        trouble = f"{error} Your version of line {key} is still in the form; press Save to put it over theirs."
        return show_ticket(request, number, edit=form, trouble=trouble, status=409)
    except Refused as error:
        return show_ticket(request, number, edit=form, trouble=str(error), status=409)
    return shown_again(request, number)


def acted(request: HttpRequest, number: str, act) -> HttpResponse:
    """Do one act on the ticket and show it again, with the sentence where it was refused."""
    try:
        act(ticket_or_404(number))
    except Refused as error:
        return show_ticket(request, number, trouble=str(error), status=409)
    return shown_again(request, number)


def shown_again(request: HttpRequest, number: str) -> HttpResponse:
    if not request.htmx:
        return redirect("builds:ticket", number)
    request.POST = request.POST.copy()
    request.POST.pop("line", None)
    return show_ticket(request, number)


@require_POST
@allow(COUNTER)
def remove_line(request: HttpRequest, number: str, key: str) -> HttpResponse:
    return acted(request, number, lambda ticket: lines.remove_line(request.user, ticket, key))


@require_POST
@allow(COUNTER)
def undo(request: HttpRequest, number: str) -> HttpResponse:
    return acted(request, number, lambda ticket: lines.undo(request.user, ticket))


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
    return acted(request, number, lambda ticket: mends.apply_mend(request.user, ticket, data))


@require_POST
@allow(COUNTER)
def close(request: HttpRequest, number: str, act: str) -> HttpResponse:
    """Decline, let lapse, cancel or reopen a ticket."""
    if act not in ("decline", "lapse", "cancel", "reopen"):
        raise Http404
    return acted(request, number, lambda ticket: tickets.close(request.user, ticket, act))
