"""The counter's papers: quotes with their versions, what was signed, change orders, the work order."""

from itertools import pairwise

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from builds import post, querysets
from builds.actions import handing, papers, signing
from builds.actions.ground import Outdated, Refused
from builds.agreed import agreed_of
from builds.balance import standing_of, storage_of
from builds.forms.consent import PaperYesForm
from builds.models import Acceptance, ChangeOrder, HandOverSheet, Quote, ReadyTold, Ticket, WorkOrder
from builds.printed_set import PAPERS as SET
from builds.printed_set import printed_set
from builds.states import is_open
from builds.views.ticket import answers_to, revision_of, ticket_or_404
from catalog import shelf
from shop import clock, roles
from shop.pdf import PAPERS, Unavailable
from shop.qr import code_of
from shop.roles import COUNTER, TECH, allow


def paper_of(request: HttpRequest) -> str:
    paper = request.POST.get("paper", "a4")
    return paper if paper in PAPERS else "a4"


def quote_page(
    request: HttpRequest, number: str, *, form: PaperYesForm | None = None, trouble: str = "", status=200, **more
) -> HttpResponse:
    """Show the ticket's papers, what keeps the next quote from being issued, and the ways of the customer's yes."""
    ticket = ticket_or_404(number, querysets.whole_tickets)
    can = {act: is_open(act, ticket.state, ticket.changing) for act in ("issue_quote", "accept", "issue_work_order")}
    answers, unusable = answers_to(ticket) if can["issue_quote"] else (None, ())
    quotes = list(querysets.quotes_of(ticket))
    places = signing.places_of(Quote.objects.only("estimate_json").get(pk=quotes[0].pk)) if can["accept"] else []
    context = {
        "door": "counter",
        "ticket": ticket,
        "answers": answers,
        "unusable": unusable,
        "quotes": quotes,
        "latest": quotes[0] if quotes else None,
        "places": places,
        "form": form or PaperYesForm(places=places, initial=initial_of(ticket)),
        "can_quote": can["issue_quote"],
        "can_accept": can["accept"],
        "can_order": can["issue_work_order"],
        "can_begin_change": is_open("begin_change", ticket.state, ticket.changing),
        "can_hand_over": is_open("hand_over", ticket.state, ticket.changing),
        "may_override": roles.may(request.user, "override_stop"),
        "change_orders": querysets.change_orders_of(ticket) if ticket.agreed_quote_id else [],
        "work_orders": querysets.work_orders_of(ticket) if ticket.agreed_quote_id else [],
        "agreed": agreed_of(ticket),
        "address": ticket.customer.email if ticket.customer else "",
        "set": SET,
        **handing_context(ticket),
        "trouble": trouble,
        **more,
    }
    return render(request, "counter/papers.html", context, status=status)


def initial_of(ticket: Ticket) -> dict:
    return {"name": ticket.customer.name if ticket.customer else "", "revision": ticket.revision}


@require_GET
@allow(COUNTER)
def quotes(request: HttpRequest, number: str) -> HttpResponse:
    return quote_page(request, number)


@require_POST
@allow(COUNTER)
def issue_quote(request: HttpRequest, number: str) -> HttpResponse:
    """Issue the next numbered quote; a stop needs the owner's written reason."""
    ticket = ticket_or_404(number)
    try:
        papers.issue_quote(
            request.user,
            ticket,
            paper=paper_of(request),
            override_reason=request.POST.get("override_reason", ""),
            revision=revision_of(request),
        )
    except (Refused, Unavailable) as error:
        return quote_page(request, number, trouble=trouble_of(error), status=409)
    return redirect("builds:papers", number)


def trouble_of(error: Exception) -> str:
    """Return the sentence of a refusal; where the ticket changed, the page shows it as it is now."""
    if isinstance(error, Outdated):
        return "The ticket changed since this page was shown. Look at it again, then go on."
    return str(error)


@require_POST
@allow(COUNTER)
def send(request: HttpRequest, number: str) -> HttpResponse:
    """Make a link to sign by: sent by e-mail, or shown as a code for the customer's phone."""
    ticket = ticket_or_404(number)
    address = request.POST.get("address", "").strip()
    try:
        if address:
            validate_email(address)
        link, secret = signing.make_link(request.user, ticket, sent_to=address, revision=revision_of(request))
    except ValidationError:
        trouble = f"“{address}” is no e-mail address; accepted: such as name@example.org. Empty shows a code instead."
        return quote_page(request, number, trouble=trouble, status=422, address=address)
    except Refused as error:
        return quote_page(request, number, trouble=trouble_of(error), status=409, address=address)
    url = request.build_absolute_uri(reverse("builds:sign_by_link", args=[secret]))
    if not address:
        return quote_page(request, number, link=link, link_url=url, link_code=code_of(url))
    try:
        post.send_quote(link, url)
    except OSError as error:
        trouble = f"The mail could not be sent ({error}). The link is made: show the code, or send it in another way."
        return quote_page(request, number, trouble=trouble, status=502, link=link, link_url=url, link_code=code_of(url))
    messages.success(request, f"{link.quote.number} is on its way to {address}.")
    return redirect("builds:papers", number)


@require_POST
@allow(COUNTER)
def accept(request: HttpRequest, number: str) -> HttpResponse:
    """Record the customer's yes that came on paper."""
    ticket = ticket_or_404(number)
    latest = ticket.quotes.order_by("-version").first()
    if latest is None:
        raise Http404
    form = PaperYesForm(request.POST, request.FILES, places=signing.places_of(latest))
    if not form.is_valid():
        return quote_page(request, number, form=form, status=422)
    data = form.cleaned_data
    scan, kind = data["scan"] or (None, "")
    yes = signing.Yes(
        data["name"],
        data["initialled"],
        note=data["note"],
        scan=scan,
        scan_name=f"{latest.number}-signed.{kind}" if scan else "",
    )
    try:
        signing.accept(request.user, ticket, yes, way=Acceptance.Way.PAPER, revision=data["revision"])
    except Refused as error:
        return quote_page(request, number, form=form, trouble=trouble_of(error), status=409)
    return redirect("builds:papers", number)


@require_POST
@allow(COUNTER)
def issue_work_order(request: HttpRequest, number: str) -> HttpResponse:
    """Print the next version of the work order."""
    try:
        papers.issue_work_order(
            request.user, ticket_or_404(number), paper=paper_of(request), revision=revision_of(request)
        )
    except (Refused, Unavailable) as error:
        return quote_page(request, number, trouble=trouble_of(error), status=409)
    return redirect("builds:papers", number)


@require_GET
@allow(COUNTER)
def differences(request: HttpRequest, number: str) -> HttpResponse:
    """What changed from each quote to the next, in words, the latest first."""
    ticket = ticket_or_404(number, querysets.in_brief)
    rows = Quote.objects.filter(ticket=ticket).select_related("catalogue").defer("pdf").order_by("version")
    pairs = [
        (before, after, papers.differences_in_words(before, after.sheet, after.estimate))
        for before, after in pairwise(rows)
    ]
    context = {"door": "counter", "ticket": ticket, "pairs": pairs[::-1]}
    return render(request, "counter/differences.html", context)


@require_POST
@allow(COUNTER)
def hand_over(request: HttpRequest, number: str) -> HttpResponse:
    """Hand the checked boat over; a test that is open needs the owner's written reason."""
    try:
        handing.hand_over(
            request.user,
            ticket_or_404(number),
            why=request.POST.get("why", "")[:500],
            unpaid=request.POST.get("unpaid", "")[:500],
            paper=paper_of(request),
            revision=revision_of(request),
        )
    except (Refused, Unavailable) as error:
        return quote_page(request, number, trouble=trouble_of(error), status=409)
    return redirect("builds:papers", number)


@require_POST
@allow(COUNTER)
def tell_ready(request: HttpRequest, number: str) -> HttpResponse:
    """Write down that the customer was told that the boat is ready."""
    ticket, said = (
        ticket_or_404(number),
        {"way": request.POST.get("way", ""), "name": request.POST.get("name", "")[:120]},
    )
    try:
        handing.tell_ready(request.user, ticket, **said, revision=revision_of(request))
    except Refused as error:
        return quote_page(request, number, trouble=trouble_of(error), status=409)
    return redirect("builds:papers", number)


def handing_context(ticket: Ticket) -> dict:
    """Return what the hand-over needs: money left, who was told and when, the storage since."""
    if ticket.state not in ("checked", "handed_over"):
        return {}
    told = list(ReadyTold.objects.filter(ticket=ticket).select_related("by"))
    rates, today = shelf.rates_on(clock.today()), clock.today()
    storage = None
    if told:
        told_on = clock.local(told[0].at).date()
        storage = storage_of(told_on, today, rates.storage_free_days, rates.storage_fee_per_day)
    return {"left_to_pay": standing_of(ticket).balance, "told": told, "storage": storage, "ways": ReadyTold.Way.choices}


def pdf_file(data: bytes, name: str) -> HttpResponse:
    if not data:
        return HttpResponse(render_to_string("errors/emptied.html"), status=410)
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(data, content_type="application/pdf", headers=headers)


def pdf_response(kind, **which) -> HttpResponse:
    try:
        return pdf_file(*papers.kept_pdf(kind, **which))
    except kind.DoesNotExist:
        raise Http404 from None


@require_GET
@allow(COUNTER)
def quote_pdf(request: HttpRequest, quote: str) -> HttpResponse:
    """The quote's PDF, byte for byte as it was handed over."""
    return pdf_response(Quote, number=quote)


@require_GET
@allow(COUNTER)
def signed_pdf(request: HttpRequest, quote: str) -> HttpResponse:
    """What the customer signed on a screen, as a file; what was signed on paper, as its scan."""
    acceptance = Acceptance.objects.filter(quote__number=quote).first()
    if acceptance is None or not (acceptance.signed_pdf or acceptance.scan):
        raise Http404
    if acceptance.signed_pdf:
        return pdf_file(bytes(acceptance.signed_pdf), f"{quote}-signed.pdf")
    kinds = {"pdf": "application/pdf", "png": "image/png", "jpg": "image/jpeg"}
    headers = {"Content-Disposition": f'inline; filename="{acceptance.scan_name}"'}
    kind = kinds[acceptance.scan_name.rsplit(".", 1)[-1]]
    return HttpResponse(bytes(acceptance.scan), content_type=kind, headers=headers)


@require_GET
@allow(COUNTER)
def change_order_pdf(request: HttpRequest, change: str) -> HttpResponse:
    return pdf_response(ChangeOrder, number=change)


@require_GET
@allow(COUNTER, TECH)
def hand_over_pdf(request: HttpRequest, number: str) -> HttpResponse:
    """The hand-over sheet and the boat's tag, as they were printed."""
    return pdf_response(HandOverSheet, ticket__number=number)


@require_GET
@allow(COUNTER, TECH)
def work_order_pdf(request: HttpRequest, number: str, version: int) -> HttpResponse:
    return pdf_response(WorkOrder, ticket__number=number, version=version)


@require_GET
@allow(COUNTER, TECH)
def print_set(request: HttpRequest, number: str) -> HttpResponse:
    """The papers that were ticked, in the order in which they lie on the bench, as one PDF."""
    ticket = ticket_or_404(number)
    paper = request.GET.get("paper", "a4")
    try:
        data = printed_set(ticket, request.GET.getlist("of"), paper if paper in PAPERS else "a4")
    except (Refused, Unavailable) as error:
        return HttpResponse(str(error), status=409, content_type="text/plain; charset=utf-8")
    return pdf_file(data, f"{number}-papers.pdf")


@require_GET
@allow(COUNTER, TECH)
def hole_templates(request: HttpRequest, number: str) -> HttpResponse:
    """The drilling templates at true size, on the paper that was asked for."""
    ticket = ticket_or_404(number)
    paper = request.GET.get("paper", "a4")
    try:
        data = papers.hole_templates(ticket, paper if paper in PAPERS else "a4")
    except Refused as error:
        return HttpResponse(str(error), status=409, content_type="text/plain; charset=utf-8")
    return pdf_file(data, f"{number}-hole-templates.pdf")
