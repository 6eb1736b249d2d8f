"""The parts of one ticket, at the counter and at the bench: held or not, the customer's own, what is missing."""

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds import parts, querysets, stock
from builds.actions import missing as acts
from builds.actions.ground import Refused
from builds.documents.picking import shelf_order
from builds.forms.parts import FoundForm, MissingForm, OwnPartForm
from builds.models import Line, OwnPart, PartMissing, Ticket
from builds.parts import Parts
from builds.promise import ready_with_parts
from builds.states import is_open
from builds.views.bench import key_of
from shop import clock
from shop.once import new_token
from shop.roles import COUNTER, TECH, allow


@dataclass(frozen=True)
class PartRow:
    """One line as its part is looked for: number, bin, how it stands; what is written down of the customer's own."""

    n: int
    line: Line
    words: str
    bin: str
    own: OwnPart | None = None
    form: OwnPartForm | None = None


def ticket_or_404(number: str) -> Ticket:
    ticket = querysets.whole_tickets().filter(number=number).first()
    if ticket is None:
        raise Http404
    return ticket


def bench_ticket_or_404(number: str) -> Ticket:
    ticket = ticket_or_404(number)
    if ticket.state not in ("accepted", "bench", "checked"):
        raise Http404
    return ticket


def rows_of(ticket: Ticket, sent: OwnPartForm | None = None) -> list[PartRow]:
    """Return the parts that are fitted, bin by bin as one walks past them, the customer's own last."""
    words, own = parts.line_words(ticket), parts.own_parts_of(ticket)
    rows = []
    for n, line in enumerate(ticket.lines.all(), start=1):
        if line.supplied_by == Line.SuppliedBy.ALREADY_FITTED:
            continue
        mine = parts.is_own(line)
        form = own_form(line, own.get(line.key), sent) if mine else None
        rows.append(
            PartRow(n, line, words.get(line.key, ""), "" if mine else line.accessory.bin, own.get(line.key), form)
        )
    return sorted(rows, key=lambda row: (row.form is not None, shelf_order(row.bin), row.n))


def own_form(line: Line, known: OwnPart | None, sent: OwnPartForm | None) -> OwnPartForm:
    """Return the form of one part of the customer's own: as it was typed, or as it was last written down."""
    if sent is not None and sent.data.get("line") == line.key:
        return sent
    initial = {"line": line.key, "received_on": clock.today()}
    if known:
        names = ("received_on", "condition", "powered", "reading", "note")
        initial |= {name: getattr(known, name) for name in names}
    return OwnPartForm(initial=initial, auto_id=f"{line.key}_%s")


def page(
    request: HttpRequest,
    ticket: Ticket,
    door: str,
    *,
    own: OwnPartForm | None = None,
    trouble: str = "",
    status: int = 200,
) -> HttpResponse:
    """Show the parts of a ticket at the counter or at the bench."""
    found: Parts = parts.parts_of_ticket(ticket)
    context = {
        "door": door,
        "ticket": ticket,
        "parts": found,
        "rows": rows_of(ticket, own),
        "consumables": [(one, stock.need_words(one, found.today)) for one in found.needs if not one.need.line_key],
        "ready_on": ready_with_parts(found),
        "trouble": trouble,
        "can_record": is_open("record_own_part", ticket.state),
        "can_miss": door == "bench" and is_open("miss_part", ticket.state),
        "can_find": is_open("find_part", ticket.state),
    }
    template = "bench/parts.html" if door == "bench" else "counter/parts/ticket.html"
    return render(request, template, context, status=status)


@require_GET
@allow(COUNTER)
def ticket_parts(request: HttpRequest, number: str) -> HttpResponse:
    return page(request, ticket_or_404(number), "counter")


@require_GET
@allow(TECH)
def bench_parts(request: HttpRequest, number: str) -> HttpResponse:
    """The pick list as it stands: what is held, and in which bin."""
    return page(request, bench_ticket_or_404(number), "bench")


def own(request: HttpRequest, ticket: Ticket, door: str, back: str) -> HttpResponse:
    """Write down how a part of the customer's own is."""
    form = OwnPartForm(request.POST, auto_id=f"{request.POST.get('line', '')[:20]}_%s")
    if not form.is_valid():
        return page(request, ticket, door, own=form, status=422)
    data = form.cleaned_data
    try:
        acts.record_own_part(request.user, ticket, line_key=data.pop("line"), **data)
    except Refused as error:
        return page(request, ticket, door, own=form, trouble=str(error), status=409)
    return redirect(back, ticket.number)


@require_POST
@allow(COUNTER)
def ticket_own(request: HttpRequest, number: str) -> HttpResponse:
    return own(request, ticket_or_404(number), "counter", "builds:ticket_parts")


@require_POST
@allow(TECH)
def bench_own(request: HttpRequest, number: str) -> HttpResponse:
    return own(request, bench_ticket_or_404(number), "bench", "builds:bench_parts")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(TECH)
def miss(request: HttpRequest, number: str) -> HttpResponse:
    """Say that a part is missing; the step from which one came is kept, and its part proposed."""
    ticket = bench_ticket_or_404(number)
    lines = [(row.n, row.line) for row in sorted(rows_of(ticket), key=lambda row: row.n)]
    step = request.GET.get("step", "")
    initial = {"line": request.GET.get("line", ""), "step": step if step.isdigit() and len(step) < 5 else None}
    form = MissingForm(request.POST or None, lines=lines, initial=initial | {"quantity": 1})
    trouble, status = "", 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            data = form.cleaned_data
            try:
                acts.miss_part(
                    request.user,
                    ticket,
                    line_key=data["line"],
                    quantity=data["quantity"],
                    words=data["words"],
                    step=data["step"],
                    key=key_of(request),
                )
                return redirect("builds:bench_parts", number)
            except Refused as error:
                trouble, status = str(error), 409
    context = {
        "door": "bench",
        "ticket": ticket,
        "form": form,
        "key": new_token(),
        "trouble": trouble,
        "can_miss": is_open("miss_part", ticket.state),
    }
    return render(request, "bench/missing.html", context, status=status)


def found(request: HttpRequest, ticket: Ticket, missing: int, door: str, back: str) -> HttpResponse:
    """End a wait."""
    row, form = get_object_or_404(PartMissing, pk=missing, ticket=ticket), FoundForm(request.POST)
    if not form.is_valid():
        return page(request, ticket, door, trouble=next(iter(form.errors.values()))[0], status=422)
    try:
        acts.find_part(request.user, ticket, row, **form.cleaned_data)
    except Refused as error:
        return page(request, ticket, door, trouble=str(error), status=409)
    return redirect(back, ticket.number)


@require_POST
@allow(COUNTER)
def ticket_found(request: HttpRequest, number: str, missing: int) -> HttpResponse:
    return found(request, ticket_or_404(number), missing, "counter", "builds:ticket_parts")


@require_POST
@allow(TECH)
def bench_found(request: HttpRequest, number: str, missing: int) -> HttpResponse:
    return found(request, bench_ticket_or_404(number), missing, "bench", "builds:bench_parts")
