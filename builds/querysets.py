"""What each screen needs, in a fixed number of queries."""

from django.db.models import Prefetch, Q, QuerySet

from builds.models import Customer, HullRecord, Line, Quote, Ticket, TicketOperation
from builds.models.customer import digits_of
from builds.states import DRAFT, OPEN, QUOTED
from catalog.fields import fold

SHOWN_AT_MOST = 8


def whole_tickets() -> QuerySet[Ticket]:
    """Tickets with everything that a build sheet is made of."""
    return Ticket.objects.select_related("customer", "hull", "counter", "tech").prefetch_related(
        "hull__stations",
        "aboard",
        Prefetch("lines", Line.objects.select_related("accessory")),
        Prefetch("operations", TicketOperation.objects.select_related("operation")),
        "spells",
        "fees",
    )


def for_counter(number: str) -> Ticket:
    """Return one ticket for the counter's page, with its quotes but not their bytes. Raises Ticket.DoesNotExist."""
    return whole_tickets().prefetch_related(Prefetch("quotes", quotes_for_list())).get(number=number)


def quotes_for_list() -> QuerySet[Quote]:
    return Quote.objects.select_related("issued_by", "acceptance").defer("pdf", "sheet_json", "estimate_json")


def for_counter_list(states: tuple[str, ...] = OPEN) -> QuerySet[Ticket]:
    return Ticket.objects.filter(state__in=states).select_related("customer", "hull", "counter").order_by("-id")


def unfinished() -> QuerySet[Ticket]:
    """Tickets that nobody has agreed to yet, the newest first."""
    return for_counter_list((DRAFT, QUOTED))


def for_bench() -> QuerySet[Ticket]:
    """Tickets that the bench has or will have; no price, no cost."""
    return (
        Ticket.objects.filter(state__in=("accepted", "bench", "checked"))
        .select_related("hull", "tech")
        .prefetch_related("work_orders__issued_by")
        .defer("quoted_total")
        .order_by("state_at")
    )


def found_customers(words: str) -> QuerySet[Customer]:
    """Customers by any word of the name, or by a phone number however it is spelled."""
    digits = digits_of(words)
    named = Q()
    for word in fold(words).split():
        named &= Q(folded__contains=word)
    asked = named | Q(phone_digits__contains=digits) if len(digits) >= 4 else named
    return Customer.objects.filter(asked)[:SHOWN_AT_MOST]


def found_hulls(words: str) -> QuerySet[HullRecord]:
    hulls = HullRecord.objects.select_related("customer").filter(assumed=False)
    for word in fold(words).split():
        hulls = hulls.filter(Q(folded__contains=word) | Q(customer__folded__contains=word))
    return hulls[:SHOWN_AT_MOST]


def found_tickets(words: str) -> QuerySet[Ticket]:
    tickets = for_counter_list((*OPEN, "handed_over"))
    for word in fold(words).split():
        tickets = tickets.filter(
            Q(number__icontains=word)
            | Q(title__icontains=word)
            | Q(asked__icontains=word)
            | Q(customer__folded__contains=word)
        )
    return tickets[:SHOWN_AT_MOST]
