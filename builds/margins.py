"""What handed-over tickets earned: estimated at the quote, and with the minutes that were worked."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Sum

from builds.agreed import agreed_of
from builds.models import ChangeOrder, Quote, Ticket, WorkEntry
from shop.money import round_money


@dataclass(frozen=True)
class Earned:
    """One ticket: revenue before tax, cost and margin as estimated and as worked; minutes estimated, quoted, worked."""

    ticket: Ticket
    revenue: Decimal
    parts_cost: Decimal
    cost_estimated: Decimal
    cost_worked: Decimal
    minutes_estimated: float
    minutes_quoted: float
    minutes_worked: float

    @property
    def margin_estimated(self) -> Decimal | None:
        return margin(self.revenue, self.cost_estimated)

    @property
    def margin_worked(self) -> Decimal | None:
        return margin(self.revenue, self.cost_worked)


def margin(revenue: Decimal, cost: Decimal) -> Decimal | None:
    """Return gross profit / revenue before tax, or None without revenue."""
    return (revenue - cost) / revenue if revenue else None


def for_margins(most: int = 100) -> list[Earned]:
    """Return the latest tickets that were handed over, in a fixed number of queries."""
    tickets = list(
        Ticket.objects.filter(state="handed_over", agreed_quote__isnull=False)
        .select_related("hull", "customer", "agreed_quote__catalogue", "agreed_change__catalogue")
        .defer("agreed_quote__pdf", "agreed_change__pdf", "agreed_quote__sheet_json", "agreed_change__sheet_json")
        .order_by("-state_at")[:most]
    )
    worked = dict(
        WorkEntry.objects.filter(ticket__in=tickets)
        .values("ticket")
        .annotate(minutes=Sum("minutes"))
        .order_by()
        .values_list("ticket", "minutes")
    )
    return [earned(ticket, agreed_of(ticket).kept, worked.get(ticket.pk, 0.0)) for ticket in tickets]


def earned(ticket: Ticket, agreed: Quote | ChangeOrder, minutes_worked: float) -> Earned:
    """Return what one ticket earned, from the estimate that was agreed."""
    estimate = agreed.estimate
    price, labour = estimate["price"], estimate["labour"]
    money = {name: Decimal(price[name]) for name in ("parts", "labour", "consumables", "fees", "discount", "cost")}
    revenue = money["parts"] + money["labour"] + money["consumables"] + money["fees"] - money["discount"]
    rate = Decimal(agreed.catalogue.records["shop"]["labour_cost_per_h"])
    labour_cost = at_rate(labour["mean_min"], rate)
    return Earned(
        ticket=ticket,
        revenue=revenue,
        parts_cost=money["cost"] - labour_cost,
        cost_estimated=money["cost"],
        cost_worked=money["cost"] - labour_cost + at_rate(minutes_worked, rate),
        minutes_estimated=labour["mean_min"],
        minutes_quoted=labour["quoted_min"],
        minutes_worked=minutes_worked,
    )


def at_rate(minutes: float, rate_per_h: Decimal) -> Decimal:
    return round_money(Decimal(repr(minutes)) / 60 * rate_per_h)
