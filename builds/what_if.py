"""What if: the tickets accepted in the last year at another rate, scale, percentile, minimum charge or tax."""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.db.models import Sum

from builds.estimator.pricing import hours_at
from builds.estimator.rates import ByKind, MarkupStep, Shop
from builds.estimator.repricing import kept_of, repriced
from builds.kept import kept_tickets
from builds.models import Reckoning, Ticket, WorkEntry
from builds.reckonings import Work
from builds.states import HANDED_OVER
from shop import clock

YEAR = datetime.timedelta(days=365)
SHOWN = 20
TAXED = ("parts", "labour", "consumables", "fees")
ROW = "number title revenue_before revenue_after total_before total_after cost cost_worked minutes_before minutes_after"
MONEY = tuple(name for name in ROW.split() if name.startswith(("revenue", "total", "cost")))


@dataclass(frozen=True)
class Row:
    """One ticket as it was agreed and as it would be; revenue before tax; `cost_worked` only where handed over."""

    number: str
    title: str
    revenue_before: Decimal
    revenue_after: Decimal
    total_before: Decimal
    total_after: Decimal
    cost: Decimal
    cost_worked: Decimal | None
    minutes_before: float
    minutes_after: float

    @property
    def change(self) -> Decimal:
        return self.revenue_after - self.revenue_before

    @property
    def margin_before(self) -> Decimal | None:
        return margin(self.revenue_before, self.cost)

    @property
    def margin_after(self) -> Decimal | None:
        return margin(self.revenue_after, self.cost)


def margin(revenue: Decimal, cost: Decimal) -> Decimal | None:
    """Return gross profit / revenue before tax, or None without revenue."""
    return (revenue - cost) / revenue if revenue else None


def accepted_last_year() -> list[int]:
    """Return the keys of the tickets whose quote was accepted in the last 365 days, the earliest first."""
    since = clock.now() - YEAR
    accepted = Ticket.objects.filter(agreed_quote__acceptance__at__gte=since)
    return list(accepted.order_by("agreed_quote__acceptance__at").values_list("pk", flat=True))


def changed(shop: Shop, asked: Mapping[str, Any]) -> Shop:
    """Return a shop's rates with what was asked in the place of theirs."""
    changes: dict[str, Any] = {}
    if asked.get("labour_rate_per_h"):
        changes["labour_rate_per_h"] = Decimal(asked["labour_rate_per_h"])
    for name in ("labour_percentile", "minimum_charge_min"):
        if asked.get(name) is not None:
            changes[name] = asked[name]
    if scale := asked.get("markup_scale"):
        changes["markup_scale"] = tuple(
            MarkupStep(below=step["below"] and Decimal(step["below"]), factor=Decimal(step["factor"])) for step in scale
        )
    if tax := asked.get("tax"):
        kept = {kind: getattr(shop.tax, kind) for kind in TAXED}
        changes["tax"] = ByKind(**kept | {kind: Decimal(rate) for kind, rate in tax.items()})
    return replace(shop, **changes)


def of_slice(reckoning: Reckoning, tickets: list[int]) -> dict[str, Any]:
    """Return the rows of some tickets, in two queries."""
    handed = WorkEntry.objects.filter(ticket__in=tickets, ticket__state=HANDED_OVER)
    worked = dict(handed.values("ticket").annotate(all=Sum("minutes")).order_by().values_list("ticket", "all"))
    return {"rows": [vars(row) for row in rows_of(reckoning.asked, tickets, worked)]}


def rows_of(asked: Mapping[str, Any], tickets: list[int], worked: Mapping[int, float]) -> Iterator[Row]:
    shops: dict[str, Shop] = {}
    for ticket in kept_tickets(tickets):
        shop = ticket.shop
        if ticket.sha256 not in shops:
            shops[ticket.sha256] = changed(shop, asked)
        kept = kept_of(ticket.sheet, ticket.estimate, ticket.catalogue.accessories, shop)
        after, minutes = repriced(kept, shops[ticket.sha256], scale_all=bool(asked.get("scale_all")))
        before = ticket.estimate["price"]
        cost_worked = None
        if ticket.pk in worked:
            labour = hours_at(worked[ticket.pk], shop.labour_cost_per_h, shop.currency)
            cost_worked = after.cost - after.labour_cost + labour
        yield Row(
            number=ticket.number,
            title=ticket.title,
            revenue_before=Decimal(before["revenue"]),
            revenue_after=after.revenue,
            total_before=Decimal(before["total"]),
            total_after=after.total,
            cost=after.cost,
            cost_worked=cost_worked,
            minutes_before=kept.minutes.quoted_min,
            minutes_after=minutes,
        )


def read_row(said: Mapping[str, Any]) -> Row:
    """Return a row as it was kept."""
    money = {name: None if said[name] is None else Decimal(said[name]) for name in MONEY}
    return Row(**{**said, **money})


def of_all(reckoning: Reckoning, slices: Iterable[dict[str, Any]]) -> dict[str, Any]:
    """Return the sums over all tickets, those handed over apart, and the tickets that change most."""
    rows = [read_row(row) for part in slices for row in part["rows"]]
    handed = [row for row in rows if row.cost_worked is not None]
    most = sorted(rows, key=lambda row: (-abs(row.change), row.number))[:SHOWN]
    return {
        "tickets": len(rows),
        "changed": sum(row.change != 0 or row.total_after != row.total_before for row in rows),
        "all": sums(rows, [row.cost for row in rows]),
        "handed": {"tickets": len(handed), **sums(handed, [row.cost_worked for row in handed])},
        "most": [vars(row) for row in most if row.change],
    }


def sums(rows: list[Row], costs: list[Decimal]) -> dict[str, Any]:
    """Return revenue, total, gross profit, margin and minutes of rows before and after."""
    cost = sum(costs, Decimal(0))
    said: dict[str, Any] = {"cost": cost}
    for when in ("before", "after"):
        revenue = sum((getattr(row, f"revenue_{when}") for row in rows), Decimal(0))
        total = sum((getattr(row, f"total_{when}") for row in rows), Decimal(0))
        share = margin(revenue, cost)
        said[when] = {
            "revenue": revenue,
            "tax": total - revenue,
            "total": total,
            "profit": revenue - cost,
            "margin": None if share is None else float(share),
            "minutes": sum(getattr(row, f"minutes_{when}") for row in rows),
        }
    return said


WORK = Work(of_slice, of_all, keeps_slices=True)
