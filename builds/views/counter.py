"""The counter's start: who is it or which boat, the tickets, a new one."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from builds import querysets
from builds.actions import tickets
from builds.forms.ticket import StartForm
from builds.models import Customer, HullRecord
from builds.states import OPEN, STATE_WORDS
from builds.stock import the_shelf
from catalog.models import HullType
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
            # Words of a type find each boat of it too: a walk-in's new boat comes before other people's.
            "hull_types": HullType.objects.offered().matching(words)[:6],
            "hulls": querysets.found_hulls(words),
        }
    if request.htmx:
        return render(request, "counter/partials/hits.html", {"q": words, **found})
    # Whoever searched from another page stands on the first hit: Enter opens it, with scripts or without.
    first = next((kind for kind, hits in found.items() if hits), "new") if words else ""
    today = list(querysets.unfinished_today()[:9])
    earlier = querysets.unfinished().exclude(pk__in=[ticket.pk for ticket in today])[:12]
    questions = querysets.open_questions()[:12]
    context = {"door": "counter", "q": words, "first": first, "questions": questions, **found}
    context["stopped"] = [wait for waits in the_shelf().missing.values() for wait in waits]
    return render(request, "counter/start.html", {**context, "today": today, "unfinished": earlier})


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
            assumed=not data["hull_type"] and hull is None,
            customer=Customer.objects.filter(pk=data["known_customer"]).first() if data["known_customer"] else None,
            name=data["customer"],
            phone=data["phone"],
        )
        return redirect("builds:interview" if "ask" in request.POST else "builds:ticket", ticket.number)
    context = {"door": "counter", "form": form, "hull_types": HullType.objects.offered()}
    return render(request, "counter/new.html", context)
