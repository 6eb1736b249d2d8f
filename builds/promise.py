"""When a ticket is ready: parts on order, the bench's earlier tickets, its own work and cure, the working days."""

import datetime
from collections import Counter

from django.db.models import F, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce

from builds import stock
from builds.estimator.estimate import Estimate
from builds.models import Line, Ticket, WorkEntry
from builds.planner.promise import Promise, promise
from builds.states import ACCEPTED, BENCH
from catalog.models import ShopRates


def promise_of(
    found: Estimate, rates: ShopRates, start: datetime.date, *, queue_min: float, ticket: Ticket | None = None
) -> Promise:
    """Return the promise for an estimate, if the customer agrees on the day `start`.

    What an accepted `ticket` holds or waits for already keeps its turn.
    """
    wanted: Counter[str] = Counter()
    for line in found.sheet.lines:
        if line.supplied_by == Line.SuppliedBy.SHOP:
            wanted[line.accessory] += line.quantity
    return of_minutes(
        found.order.bench_min, found.order.ready_h, rates, start, queue_min, stock.wait_days(wanted, start, ticket)
    )


def of_minutes(
    bench_min: float, ready_h: float, rates: ShopRates, start: datetime.date, queue_min: float, parts_days: int
) -> Promise:
    return promise(
        start,
        parts_days=parts_days,
        queue_min=queue_min,
        bench_min=bench_min,
        ready_h=ready_h,
        bench_hours_per_day=rates.bench_hours_per_day,
        working_days=rates.working_days,
    )


def queue_min(ticket: Ticket | None = None) -> float:
    """Return the bench minutes that are agreed and not worked yet, of all tickets but this one; one query."""
    waiting = Ticket.objects.filter(state__in=(ACCEPTED, BENCH), agreed_bench_min__isnull=False)
    if ticket is not None:
        waiting = waiting.exclude(pk=ticket.pk)
    worked = WorkEntry.objects.filter(ticket=OuterRef("pk")).order_by().values("ticket").annotate(m=Sum("minutes"))
    left = F("agreed_bench_min") - Coalesce(Subquery(worked.values("m")), 0.0)
    rows = waiting.values_list(left, flat=True)
    return sum(max(0.0, minutes) for minutes in rows)
