"""Money at the counter: deposits, payments, refunds, the invoice and its credit note, and their papers."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from builds import querysets
from builds.actions import money as acts
from builds.actions.ground import Refused
from builds.balance import standing_of
from builds.forms.money import MoneyForm
from builds.models import Invoice, MoneyEntry, Ticket
from builds.states import is_open
from builds.views.papers import paper_of, pdf_response
from builds.views.ticket import revision_of, ticket_or_404
from shop.pdf import Unavailable
from shop.roles import COUNTER, allow


def page(
    request: HttpRequest, number: str, *, form: MoneyForm | None = None, trouble: str = "", status: int = 200
) -> HttpResponse:
    """Show what is agreed, what was received and what is left, with the ways to change it."""
    ticket = ticket_or_404(number, querysets.in_brief)
    standing = standing_of(ticket)
    kinds = [kind for kind, act in acts.ACTS.items() if is_open(act, ticket.state, ticket.changing)]
    context = {
        "door": "counter",
        "ticket": ticket,
        "standing": standing,
        "form": form or MoneyForm(kinds=kinds, initial=initial_of(ticket, standing)),
        "kinds": kinds,
        "invoices": Invoice.objects.filter(ticket=ticket).select_related("issued_by", "cancels").defer("pdf"),
        "can_invoice": is_open("issue_invoice", ticket.state, ticket.changing) and not standing.invoice,
        "can_credit": is_open("credit_invoice", ticket.state, ticket.changing) and standing.invoice,
        "trouble": trouble,
    }
    return render(request, "counter/money.html", context, status=status)


def initial_of(ticket: Ticket, standing) -> dict:
    """Return what is usually taken next: the deposit while nothing came in, else what is left."""
    deposit = ticket.agreed_quote.deposit if ticket.agreed_quote_id else None
    if not standing.entries and deposit:
        return {"kind": "deposit", "amount": deposit, "revision": ticket.revision}
    amount = standing.balance if standing.balance > 0 else None
    return {"kind": "payment", "amount": amount, "revision": ticket.revision}


@require_GET
@allow(COUNTER)
def money(request: HttpRequest, number: str) -> HttpResponse:
    return page(request, number)


@require_POST
@allow(COUNTER)
def take(request: HttpRequest, number: str) -> HttpResponse:
    """Write down a deposit, a payment or a refund."""
    ticket = ticket_or_404(number)
    form = MoneyForm(request.POST, kinds=list(acts.ACTS))
    if not form.is_valid():
        return page(request, number, form=form, status=422)
    data = form.cleaned_data
    try:
        acts.take_money(
            request.user,
            ticket,
            kind=data["kind"],
            way=data["way"],
            amount=data["amount"],
            note=data["note"],
            paper=paper_of(request),
        )
    except (Refused, Unavailable) as error:
        return page(request, number, form=form, trouble=str(error), status=409)
    return redirect("builds:money", number)


def issued(request: HttpRequest, number: str, act) -> HttpResponse:
    try:
        act(ticket_or_404(number))
    except (Refused, Unavailable) as error:
        return page(request, number, trouble=str(error), status=409)
    return redirect("builds:money", number)


@require_POST
@allow(COUNTER)
def issue_invoice(request: HttpRequest, number: str) -> HttpResponse:
    paper, revision = paper_of(request), revision_of(request)
    return issued(
        request, number, lambda ticket: acts.issue_invoice(request.user, ticket, paper=paper, revision=revision)
    )


@require_POST
@allow(COUNTER)
def credit_invoice(request: HttpRequest, number: str) -> HttpResponse:
    """Take the invoice back by a credit note, with the reason."""
    paper, why = paper_of(request), request.POST.get("why", "")[:300]
    return issued(request, number, lambda ticket: acts.credit_invoice(request.user, ticket, why=why, paper=paper))


@require_GET
@allow(COUNTER)
def receipt_pdf(request: HttpRequest, receipt: str) -> HttpResponse:
    return pdf_response(MoneyEntry, number=receipt)


@require_GET
@allow(COUNTER)
def invoice_pdf(request: HttpRequest, invoice: str) -> HttpResponse:
    return pdf_response(Invoice, number=invoice)
