"""What a ticket's customer agreed to: the accepted quote, or the latest change order after it."""

from dataclasses import dataclass
from decimal import Decimal

from builds.models import Acceptance, ChangeOrder, Quote, Ticket


@dataclass(frozen=True)
class Agreed:
    """The quote that was accepted, and the change order that replaced it where there is one."""

    quote: Quote
    change: ChangeOrder | None

    @property
    def acceptance(self) -> Acceptance:
        return self.quote.acceptance

    @property
    def kept(self) -> Quote | ChangeOrder:
        """The sheet and the estimate that hold now."""
        return self.change or self.quote

    @property
    def initialled(self) -> list[str]:
        """The places that the customer agreed to one by one, by the letters of the schedule that holds now."""
        return self.change.initialled if self.change else self.acceptance.initialled

    @property
    def number(self) -> str:
        return self.kept.number

    @property
    def total(self) -> Decimal:
        return self.kept.total


def agreed_of(ticket: Ticket) -> Agreed | None:
    """Return what the customer agreed to, or None where nothing is agreed."""
    return Agreed(ticket.agreed_quote, ticket.agreed_change) if ticket.agreed_quote_id else None
