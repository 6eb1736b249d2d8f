"""The counter's papers: quotes with their versions, the customer's yes, the work order."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from builds.actions import papers
from builds.actions.ground import Refused
from builds.forms.ticket import AcceptForm
from builds.models import Quote, WorkOrder
from builds.states import is_open
from builds.views.counter import answers_to, ticket_or_404
from shop import roles
from shop.pdf import Unavailable
from shop.roles import COUNTER, TECH, allow

PAPERS = ("a4", "letter")


def paper_of(request: HttpRequest) -> str:
    paper = request.POST.get("paper", "a4")
    return paper if paper in PAPERS else "a4"


def quote_page(request: HttpRequest, number: str, *, form: AcceptForm | None = None, trouble: str = "", status=200):
    """Show the ticket's quotes, what keeps the next one from being issued, and the form for the customer's yes."""
    ticket = ticket_or_404(number)
    answers, unusable = answers_to(ticket)
    quotes = list(ticket.quotes.all())
    latest = quotes[-1] if quotes else None
    places = papers.places_of(Quote.objects.get(pk=latest.pk)) if latest else []
    context = {
        "door": "counter",
        "ticket": ticket,
        "answers": answers,
        "unusable": unusable,
        "quotes": quotes[::-1],
        "latest": latest,
        "places": places,
        "form": form or AcceptForm(places=places, initial=accept_initial(ticket)),
        "can_quote": is_open("issue_quote", ticket.state),
        "can_accept": is_open("accept", ticket.state),
        "can_order": is_open("issue_work_order", ticket.state),
        "may_override": roles.may(request.user, "override_stop"),
        "work_orders": ticket.work_orders.select_related("issued_by").defer("pdf").order_by("-version"),
        "trouble": trouble,
    }
    return render(request, "counter/papers.html", context, status=status)


def accept_initial(ticket) -> dict:
    return {"name": ticket.customer.name if ticket.customer else "", "revision": ticket.revision, "way": "paper"}


@require_GET
@allow(COUNTER)
def quotes(request: HttpRequest, number: str) -> HttpResponse:
    return quote_page(request, number)


@require_POST
@allow(COUNTER)
def issue_quote(request: HttpRequest, number: str) -> HttpResponse:
    """Issue the next numbered quote; a stop needs the owner's written reason."""
    ticket = ticket_or_404(number)
    reason = request.POST.get("override_reason", "")
    revision = request.POST.get("revision", "")
    try:
        papers.issue_quote(
            request.user,
            ticket,
            paper=paper_of(request),
            override_reason=reason,
            revision=int(revision) if revision.isdigit() else None,
        )
    except (Refused, Unavailable) as error:
        return quote_page(request, number, trouble=str(error), status=409)
    return redirect("builds:papers", number)


@require_http_methods(["POST"])
@allow(COUNTER)
def accept(request: HttpRequest, number: str) -> HttpResponse:
    """Record the customer's yes to the latest quote."""
    ticket = ticket_or_404(number)
    quotes = list(ticket.quotes.all())
    if not quotes:
        raise Http404
    places = papers.places_of(Quote.objects.get(pk=quotes[-1].pk))
    form = AcceptForm(request.POST, places=places)
    if not form.is_valid():
        return quote_page(request, number, form=form, status=422)
    data = form.cleaned_data
    try:
        papers.accept(
            request.user,
            ticket,
            name=data["name"],
            way=data["way"],
            initialled=data["initialled"],
            note=data["note"],
            revision=data["revision"],
        )
    except Refused as error:
        return quote_page(request, number, form=form, trouble=str(error), status=409)
    return redirect("builds:papers", number)


@require_POST
@allow(COUNTER)
def issue_work_order(request: HttpRequest, number: str) -> HttpResponse:
    """Print the next version of the work order."""
    try:
        papers.issue_work_order(request.user, ticket_or_404(number), paper=paper_of(request))
    except (Refused, Unavailable) as error:
        return quote_page(request, number, trouble=str(error), status=409)
    return redirect("builds:papers", number)


def pdf_response(kind, **which) -> HttpResponse:
    try:
        data, name = papers.kept_pdf(kind, **which)
    except kind.DoesNotExist:
        raise Http404 from None
    return HttpResponse(
        data, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )


@require_GET
@allow(COUNTER)
def quote_pdf(request: HttpRequest, quote: str) -> HttpResponse:
    """The quote's PDF, byte for byte as it was handed over."""
    return pdf_response(Quote, number=quote)


@require_GET
@allow(COUNTER, TECH)
def work_order_pdf(request: HttpRequest, number: str, version: int) -> HttpResponse:
    return pdf_response(WorkOrder, ticket__number=number, version=version)


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
    name = f"{number}-hole-templates.pdf"
    return HttpResponse(
        data, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
