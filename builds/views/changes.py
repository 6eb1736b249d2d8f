"""Change orders: what changes after acceptance, and the customer's consent to it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from builds.actions import changes
from builds.actions.ground import Refused
from builds.estimator.specs import Unusable
from builds.forms.consent import ConsentForm
from builds.models import Ticket
from builds.suiting import asked_of
from builds.views.papers import paper_of
from builds.views.ticket import acted, revision_of, ticket_or_404
from shop import clock, roles
from shop.pdf import Unavailable
from shop.roles import COUNTER, allow


@require_POST
@allow(COUNTER)
def begin(request: HttpRequest, number: str) -> HttpResponse:
    """Open the lines of an accepted ticket for a change order."""
    revision = revision_of(request)
    return acted(request, number, lambda ticket: changes.begin_change(request.user, ticket, revision=revision))


@require_POST
@allow(COUNTER)
def drop(request: HttpRequest, number: str) -> HttpResponse:
    """Go back to what is agreed."""
    revision = revision_of(request)
    return acted(request, number, lambda ticket: changes.drop_change(request.user, ticket, revision=revision))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(COUNTER)
def change(request: HttpRequest, number: str) -> HttpResponse:
    """Show what the change adds and take the customer's consent to it."""
    ticket = ticket_or_404(number)
    if not ticket.changing:
        return redirect("builds:papers", number)
    try:
        new, unusable = changes.proposed(ticket), ()
    except Unusable as error:
        new, unusable = None, error.problems
    form = ConsentForm(request.POST or None, initial=initial_of(ticket), places=new.new_places if new else ())
    trouble, status = "", 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                agree(request, ticket, form)
                return redirect("builds:papers", number)
            except (Refused, Unavailable) as error:
                trouble, status = str(error), 409
    context = {
        "door": "counter",
        "ticket": ticket,
        "form": form,
        "new": new,
        "unusable": unusable,
        "trouble": trouble,
        "may_override": roles.may(request.user, "override_stop"),
    }
    return render(request, "counter/change.html", context, status=status)


def initial_of(ticket: Ticket) -> dict:
    asked = asked_of(ticket)
    name = (asked.approver if asked else "") or (ticket.customer.name if ticket.customer else "")
    number = (asked.approver_phone if asked else "") or (ticket.customer.phone if ticket.customer else "")
    return {"name": name, "number_called": number, "revision": ticket.revision, "at": clock.now()}


def agree(request: HttpRequest, ticket: Ticket, form: ConsentForm) -> None:
    data = form.cleaned_data
    changes.agree_change(
        request.user,
        ticket,
        why=data["why"],
        consent=changes.Consent(data["name"], data["way"], data["number_called"], data["at"]),
        places=data["places"],
        override_reason=data["override_reason"],
        paper=paper_of(request),
        revision=data["revision"],
    )
