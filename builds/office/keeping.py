"""Totals are kept: written anew in the transaction of every act that changes what a ticket comes to."""

import datetime
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from django.db import connection, transaction

from builds.earnings.earned import PHASE, earned
from builds.earnings.figures import NAMES, Figures, figures_of
from builds.models import Acceptance, MonthTotals, Quote, Ticket, TicketShare, TicketTotals
from builds.office.facts import facts_of
from builds.states import CANCELLED, DECLINED, HANDED_OVER, LAPSED
from shop import clock

# The acts after which a ticket's totals may differ; any act on a ticket that is handed over counts too.
CHANGE_TOTALS = ("accept", "sign", "agree_change", "hand_over", "decline", "lapse", "cancel", "reopen")
CLOSED_WITHOUT_YES = {
    DECLINED: TicketTotals.Outcome.LOST,
    LAPSED: TicketTotals.Outcome.LAPSED,
    CANCELLED: TicketTotals.Outcome.CANCELLED,
}
MONTH, HULL, COUNTER, OUTCOME, DAYS = "month", "hull", "counter", "outcome", "days"
Sum = tuple[str, str, datetime.date]
"""By what, which of these, and the month."""
AT_ONCE = 200
NO_REVENUE = -1e6


def keep_after(act: str, ticket: Ticket) -> None:
    """Keep the totals of a ticket after an act; call inside the act's transaction, the ticket saved."""
    if act in CHANGE_TOTALS or ticket.state == HANDED_OVER:
        keep(ticket)


def keep(ticket: Ticket) -> None:
    """Write a ticket's totals and shares anew, and move the sums of their months by the difference."""
    with transaction.atomic():
        old = TicketTotals.objects.filter(ticket=ticket).first()
        moved: dict[Sum, dict[str, Any]] = {}
        if old:
            move(moved, old, TicketShare.objects.filter(ticket=ticket), -1)
            TicketShare.objects.filter(ticket=ticket).delete()
            old.delete()
        new, shares = totals_of(ticket)
        if new:
            new.save(force_insert=True)
            TicketShare.objects.bulk_create(shares)
            move(moved, new, shares, 1)
        add(moved)


def totals_of(ticket: Ticket) -> tuple[TicketTotals | None, list[TicketShare]]:
    """Return the totals and shares of a ticket, not saved; nothing for one that came to no yes and no no."""
    outcome = outcome_of(ticket)
    facts = facts_of(ticket)
    if facts is None and not outcome:
        return None, []
    month = month_of(ticket.state_at) if ticket.state == HANDED_OVER else None
    whole = TicketTotals(
        ticket=ticket,
        month=month,
        counter_id=ticket.counter_id,
        hull_type=ticket.hull.hull_type.code,
        **outcome,
    )
    if facts is None:
        return whole, []
    found = earned(facts)
    put(whole, found.figures)
    shares = []
    for one in found.shares:
        share = TicketShare(ticket=ticket, by=one.by, key=one.key, month=month)
        put(share, one.figures)
        if one.by == PHASE:
            share.rank = float(one.figures.why_minutes)
        shares.append(share)
    return whole, shares


def put(row: TicketTotals | TicketShare, figures: Figures) -> None:
    for name in NAMES:
        setattr(row, name, getattr(figures, name))
    if figures.margin is None:
        # No revenue: what cost something stands before every margin.
        row.rank = NO_REVENUE if figures.cost else 0.0
    else:
        row.rank = float(figures.margin)


def outcome_of(ticket: Ticket) -> dict[str, Any]:
    """Return how the ticket's quotes ended, in which month, and the days to the yes; nothing while they are open."""
    if ticket.agreed_quote_id:
        accepted = Acceptance.objects.filter(quote=ticket.agreed_quote_id).values_list("at", "quote__issued_at").get()
        return {
            "outcome": TicketTotals.Outcome.WON,
            "outcome_month": month_of(accepted[0]),
            "days_to_yes": max(0, (clock.local(accepted[0]).date() - clock.local(accepted[1]).date()).days),
        }
    if ticket.state in CLOSED_WITHOUT_YES and Quote.objects.filter(ticket=ticket).exists():
        return {"outcome": CLOSED_WITHOUT_YES[ticket.state], "outcome_month": month_of(ticket.state_at)}
    return {}


def month_of(moment: datetime.datetime) -> datetime.date:
    """Return the first day of the month that a moment lies in, on the shop's clock."""
    return clock.local(moment).date().replace(day=1)


# The sums of months.


def parts_of_sums(whole: TicketTotals, shares: Iterable[TicketShare]) -> Iterator[tuple[Sum, Any]]:
    """Yield each sum that a ticket counts in, with the row that it adds; None where it is only counted."""
    if whole.month:
        yield (MONTH, "", whole.month), whole
        yield (HULL, whole.hull_type, whole.month), whole
        yield (COUNTER, str(whole.counter_id or ""), whole.month), whole
        for share in shares:
            yield (share.by, share.key, whole.month), share
    if whole.outcome:
        yield (OUTCOME, whole.outcome, whole.outcome_month), None
    if whole.days_to_yes is not None:
        yield (DAYS, str(whole.days_to_yes), whole.outcome_month), None


def move(moved: dict[Sum, dict[str, Any]], whole: TicketTotals, shares: Iterable[TicketShare], sign: int) -> None:
    for key, row in parts_of_sums(whole, shares):
        sums = moved.setdefault(key, {})
        sums["tickets"] = sums.get("tickets", 0) + sign
        for name in NAMES if row else ():
            sums[name] = sums.get(name, 0) + sign * getattr(row, name)


def add(moved: dict[Sum, dict[str, Any]]) -> None:
    """Add differences to the sums of months, each in one statement, so that two at once lose nothing.

    Always in the same order, so that they do not wait for each other in a ring.
    """
    table = MonthTotals._meta.db_table
    columns = ["by", "key", "month", "tickets", *NAMES]
    quoted = ", ".join(f'"{column}"' for column in columns)
    sums = ", ".join(f'"{name}" = "{table}"."{name}" + excluded."{name}"' for name in columns[3:])
    places = ", ".join(["%s"] * len(columns))
    fields = {name: MonthTotals._meta.get_field(name) for name in columns}
    rows = [
        [
            fields[name].get_db_prep_save(value, connection)
            for name, value in zip(columns, [*key, *(change.get(name, 0) for name in columns[3:])], strict=True)
        ]
        for key, change in sorted(moved.items())
        if any(change.values())
    ]
    with connection.cursor() as cursor:
        for row in rows:
            cursor.execute(
                f'INSERT INTO "{table}" ({quoted}) VALUES ({places}) '
                f'ON CONFLICT ("by", "month", "key") DO UPDATE SET {sums}',
                row,
            )


# All of them anew.


def recompute(say: Callable[[str], None] = lambda text: None) -> int:
    """Write the totals of all tickets anew; returns how many tickets have any."""
    with transaction.atomic():
        for model in (MonthTotals, TicketShare, TicketTotals):
            model.objects.all().delete()
        moved: dict[Sum, dict[str, Any]] = {}
        count = 0
        tickets = Ticket.objects.select_related(
            "hull__hull_type", "agreed_quote__catalogue", "agreed_change__catalogue"
        ).defer("agreed_quote__pdf", "agreed_change__pdf")
        for ticket in tickets.order_by("pk").iterator(AT_ONCE):
            whole, shares = totals_of(ticket)
            if whole is None:
                continue
            whole.save(force_insert=True)
            TicketShare.objects.bulk_create(shares)
            move(moved, whole, shares, 1)
            count += 1
            if count % AT_ONCE == 0:
                say(f"{count} tickets")
        add(moved)
    return count


def kept_figures(row: TicketTotals | TicketShare | MonthTotals) -> Figures:
    """Return the figures that a kept row holds."""
    return figures_of({name: getattr(row, name) for name in NAMES})
