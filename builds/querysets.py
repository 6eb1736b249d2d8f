"""What each screen needs, in a fixed number of queries."""

import datetime

from django.db.models import FilteredRelation, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from builds.models import (
    BenchPhoto,
    ChangeOrder,
    ComeBack,
    Customer,
    Found,
    HullRecord,
    Line,
    Quote,
    Ticket,
    TicketOperation,
    WorkEntry,
    WorkOrder,
)
from builds.models.customer import digits_of
from builds.states import DRAFT, OPEN, QUOTED
from catalog.fields import fold
from shop import clock
from shop.models import User
from shop.roles import TECH

SHOWN_AT_MOST = 8
AGREED_PAPERS = ("agreed_quote__catalogue", "agreed_quote__acceptance", "agreed_change__catalogue")
BYTES = (
    "agreed_quote__pdf",
    "agreed_quote__acceptance__scan",
    "agreed_quote__acceptance__signed_pdf",
    "agreed_change__pdf",
)


def whole_tickets() -> QuerySet[Ticket]:
    """Tickets with everything that a build sheet is made of, and what is agreed but not its papers' bytes."""
    return (
        Ticket.objects.select_related("customer", "hull", "counter", "tech", "asked_of", *AGREED_PAPERS)
        .defer(*BYTES)
        .prefetch_related(
            "hull__stations",
            "aboard",
            Prefetch("lines", Line.objects.select_related("accessory")),
            Prefetch("operations", TicketOperation.objects.select_related("operation")),
            "spells",
            "fees",
        )
    )


def for_counter() -> QuerySet[Ticket]:
    """Tickets for the counter's page of one: all of it, its alternatives too."""
    return whole_tickets().prefetch_related("alternatives")


def in_brief() -> QuerySet[Ticket]:
    """Tickets for pages that look at no line: who, which boat, what is agreed."""
    return Ticket.objects.select_related("customer", "hull", "asked_of", *AGREED_PAPERS).defer(*BYTES)


def quotes_of(ticket: Ticket) -> QuerySet[Quote]:
    """The ticket's quotes for a list, the latest first, without what they keep."""
    return (
        Quote.objects.filter(ticket=ticket)
        .select_related("issued_by", "acceptance")
        .defer("pdf", "sheet_json", "estimate_json", "acceptance__scan", "acceptance__signed_pdf")
        .order_by("-version")
    )


def change_orders_of(ticket: Ticket) -> QuerySet[ChangeOrder]:
    rows = ChangeOrder.objects.filter(ticket=ticket).select_related("recorded_by")
    return rows.defer("pdf", "sheet_json", "estimate_json").order_by("-n")


def work_orders_of(ticket: Ticket) -> QuerySet[WorkOrder]:
    return WorkOrder.objects.filter(ticket=ticket).select_related("issued_by").defer("pdf").order_by("-version")


def for_counter_list(states: tuple[str, ...] = OPEN) -> QuerySet[Ticket]:
    return Ticket.objects.filter(state__in=states).select_related("customer", "hull", "counter").order_by("-id")


def unfinished() -> QuerySet[Ticket]:
    """Tickets that nobody has agreed to yet, the newest first."""
    return for_counter_list((DRAFT, QUOTED))


def unfinished_today() -> QuerySet[Ticket]:
    """Those of them that were opened or changed today."""
    return unfinished().filter(changed_at__gte=clock.start_of_today()).order_by("-changed_at")


def for_bench() -> QuerySet[Ticket]:
    """Tickets that the bench has or will have; no price, no cost."""
    return (
        Ticket.objects.filter(state__in=("accepted", "bench", "checked"))
        .select_related("hull", "tech")
        .prefetch_related("work_orders__issued_by")
        .defer("quoted_total")
        .order_by("state_at")
    )


def for_calendar() -> QuerySet[Ticket]:
    """Tickets that the bench's calendar plans, in the order of acceptance, with what the customer agreed to."""
    kept = ("agreed_quote__acceptance", "agreed_change")
    sheets = ("agreed_quote__sheet_json", "agreed_change__sheet_json")
    return (
        Ticket.objects.filter(state__in=("accepted", "bench"), agreed_quote__isnull=False)
        .select_related("hull", "tech", "asked_of", "held_place__before", "held_place__after", *kept)
        .defer(*BYTES, *sheets, "quoted_total")
        .order_by("agreed_quote__acceptance__at", "pk")
    )


def techs() -> QuerySet[User]:
    """Who works at the bench, with their hours and days off."""
    people = User.objects.filter(role=TECH, is_active=True)
    return people.select_related("bench_hours").prefetch_related("days_off").order_by("name", "pk")


def techs_in_rows(today: datetime.date):
    """Who works at the bench: key, name, hours of the week, opening, and a row for each day off to come. One query."""
    off = FilteredRelation("days_off", condition=Q(days_off__day__gte=today))
    people = User.objects.filter(role=TECH, is_active=True).annotate(off=off).order_by("name", "pk")
    return people.values_list("pk", "name", "bench_hours__week_min", "bench_hours__opens_min", "off__day")


def found_at_the_bench() -> QuerySet[Found]:
    """What the bench found, with the answers and the photos but not their bytes, the oldest first."""
    photos = Prefetch("photos", BenchPhoto.objects.defer("jpeg"))
    return Found.objects.select_related("by", "answer__by").prefetch_related(photos).order_by("at", "id")


def open_questions() -> QuerySet[Found]:
    """What the counter has to answer, on tickets that the bench still has."""
    waiting = found_at_the_bench().filter(answer=None, ticket__state__in=("bench", "checked"))
    return waiting.select_related("ticket", "by")


def come_backs_of(ticket: Ticket) -> QuerySet[ComeBack]:
    return ComeBack.objects.filter(ticket=ticket).select_related("ticket", "opened_by", "end__by", "time")


def come_backs_for_bench() -> QuerySet[ComeBack]:
    """Boats that came back and are not done, the oldest first."""
    return ComeBack.objects.filter(end=None).select_related("ticket__hull").order_by("opened_at")


def come_backs_with_time() -> QuerySet[ComeBack]:
    """Those of them that somebody estimated, with the minutes `worked_min` on each and the `last_tech` who did."""
    work = WorkEntry.objects.filter(come_back=OuterRef("pk")).order_by()
    minutes = work.values("come_back").annotate(m=Sum("minutes")).values("m")
    last = work.order_by("-at", "-pk").values("tech")[:1]
    return (
        come_backs_for_bench()
        .filter(time__isnull=False)
        .select_related("time")
        .annotate(worked_min=Coalesce(Subquery(minutes), 0.0), last_tech=Subquery(last))
    )


def found_customers(words: str) -> QuerySet[Customer]:
    """Customers by any word of the name, or by a phone number however it is spelled."""
    digits = digits_of(words)
    named = Q()
    for word in fold(words).split():
        named &= Q(folded__contains=word)
    return Customer.objects.filter(named | by_phone("", digits))[:SHOWN_AT_MOST]


def found_hulls(words: str) -> QuerySet[HullRecord]:
    hulls = HullRecord.objects.select_related("customer").filter(assumed=False)
    for word in fold(words).split():
        hulls = hulls.filter(Q(folded__contains=word) | Q(customer__folded__contains=word))
    return hulls[:SHOWN_AT_MOST]


def found_tickets(words: str) -> QuerySet[Ticket]:
    """Tickets by any word of number, job, what was asked or the customer's name, or by the customer's phone number."""
    tickets, digits = for_counter_list((*OPEN, "handed_over")), digits_of(words)
    named = Q()
    for word in fold(words).split():
        named &= Q(folded__contains=word) | Q(customer__folded__contains=word)
    return tickets.filter(named | by_phone("customer__", digits))[:SHOWN_AT_MOST]


def by_phone(customer: str, digits: str) -> Q:
    """What finds a customer by at least four digits of the phone number; fewer digits find nobody."""
    return Q(**{f"{customer}phone_digits__contains": digits}) if len(digits) >= 4 else Q(pk__in=())
