"""Where a ticket stands with money: what is agreed, what was received, what is left."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from django.conf import settings

from builds.agreed import agreed_of
from builds.models import Invoice, MoneyEntry, Quote, Ticket
from builds.states import AGREED
from shop.money import round_money


@dataclass(frozen=True)
class Standing:
    """What the ticket comes to, under which paper, what came in less what was paid back, and the invoice that holds."""

    total: Decimal
    number: str
    entries: tuple[MoneyEntry, ...]
    invoice: Invoice | None

    @property
    def received(self) -> Decimal:
        return sum((entry.signed for entry in self.entries), round_money(Decimal(0), settings.CURRENCY))

    @property
    def balance(self) -> Decimal:
        """What the customer still has to pay; below nought, what the shop has to pay back."""
        return self.total - self.received

    @property
    def owed(self) -> Decimal:
        """What the shop has to pay back."""
        return max(Decimal(0), -self.balance)


@dataclass(frozen=True)
class Storage:
    """A boat that is ready and waits: told on which day, free until which, the days beyond and what they come to."""

    told_on: datetime.date
    free_until: datetime.date
    days_due: int
    due: Decimal


def storage_of(told_on: datetime.date, today: datetime.date, free_days: int, fee_per_day: Decimal) -> Storage:
    """Return the storage of a boat: the days after the free ones, today included, each at the shop's fee."""
    free_until = told_on + datetime.timedelta(days=free_days)
    days_due = max(0, (today - free_until).days)
    return Storage(told_on, free_until, days_due, days_due * fee_per_day)


def standing_of(ticket: Ticket) -> Standing:
    """Return the ticket's standing: from what is agreed, else from a quote that still stands, else from nothing."""
    entries = tuple(MoneyEntry.objects.filter(ticket=ticket).select_related("taken_by").defer("pdf"))
    held = (
        Invoice.objects.filter(ticket=ticket, kind=Invoice.Kind.INVOICE, cancelled_by__isnull=True).defer("pdf").last()
    )
    if ticket.state in AGREED and (agreed := agreed_of(ticket)):
        return Standing(agreed.total, agreed.number, entries, held)
    quote = Quote.objects.filter(ticket=ticket).only("total", "number").order_by("-version").first()
    if ticket.state == "quoted" and quote:
        return Standing(quote.total, quote.number, entries, held)
    return Standing(round_money(Decimal(0), settings.CURRENCY), "", entries, held)
