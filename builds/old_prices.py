"""The lines of a ticket whose catalogue price is old: a note beside the line and at the price, never a stop."""

import datetime
from collections.abc import Mapping

from builds.agreed import agreed_of
from builds.models import Line, Ticket
from builds.states import AGREED
from catalog import old_prices, shelf
from shop import clock


def old_lines(ticket: Ticket) -> dict[str, datetime.date]:
    """Return the date of each old price that a next quote or change order would take, by the line's key.

    A price typed on the line is the ticket's own, and what is agreed keeps its price.
    """
    oldest = old_prices.oldest_on(clock.today())
    if oldest is None or (ticket.state in AGREED and not ticket.changing):
        return {}
    agreed = agreed_of(ticket)
    kept = agreed.kept.sheet["accessories"] if agreed and ticket.changing else {}
    return {
        line.key: line.accessory.priced_on
        for line in ticket.lines.all()
        if line.supplied_by == Line.SuppliedBy.SHOP
        and line.unit_price is None
        and line.accessory.priced_on
        and line.accessory.priced_on < oldest
        and line.accessory.code not in kept
    }


def day_words(day: datetime.date) -> str:
    return f"{day.day} {day:%b} {day.year}"


def in_words(old: Mapping[str, datetime.date]) -> str:
    """Return one sentence for all the old prices of a ticket, nothing where it has none."""
    if not old:
        return ""
    months = shelf.rates_on(clock.today()).price_age_months
    age = f"older than {months} month{'' if months == 1 else 's'}"
    oldest = day_words(min(old.values()))
    if len(old) == 1:
        return f"One price is from {oldest}, {age}: ask before quoting."
    return f"{len(old)} prices are {age}, the oldest from {oldest}: ask before quoting."
