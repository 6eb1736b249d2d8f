"""Money: deposits, payments, refunds, each with its receipt; invoices and credit notes. No number is skipped."""

from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar

from django.conf import settings
from django.utils import timezone

from builds.actions.ground import Refused, acting, require
from builds.actions.papers import facts_of, sha256
from builds.agreed import Agreed, agreed_of
from builds.balance import Standing, standing_of
from builds.documents import Invoice as PrintedInvoice
from builds.documents import Receipt, invoice_pdf, receipt_pdf
from builds.models import Invoice, MoneyEntry, NumberSeries, Ticket
from builds.querysets import in_brief
from catalog.models import ShopRates
from shop import clock
from shop.money import round_money

Render = Callable[..., bytes]
Row = TypeVar("Row")
ACTS = {"deposit": "take_deposit", "payment": "take_payment", "refund": "pay_back"}
TRIES = 5


class Overtaken(Exception):
    """Someone took the number, or money, between laying the paper out and writing it down."""


def until_not_overtaken(attempt: Callable[[], Row]) -> Row:
    """Return what the attempt returns, tried again where someone was quicker.

    A paper is laid out before the transaction, with the number that is coming: laying it out inside would make
    everyone else wait for it.
    """
    for _ in range(TRIES):
        try:
            return attempt()
        except Overtaken:
            continue
    raise Refused("Others are writing at the same moment. Try again.")


def as_it_is(ticket: Ticket) -> Ticket:
    """Return the ticket as it is now, with what is agreed."""
    return in_brief().get(pk=ticket.pk)


def take(series: str, number: int) -> None:
    """Take the number that is on the paper; call inside the transaction. Raises Overtaken where it is gone."""
    if NumberSeries.take(series) != number:
        raise Overtaken


def take_money(
    actor,
    ticket: Ticket,
    *,
    kind: str,
    way: str,
    amount: Decimal,
    note: str = "",
    paper: str = "a4",
    revision: int | None = None,
    render: Render = receipt_pdf,
) -> MoneyEntry:
    """Write down a deposit, a payment or a refund, with its receipt."""
    require(actor, ACTS[kind])

    def attempt() -> MoneyEntry:
        now_ticket = as_it_is(ticket)
        standing, number = standing_of(now_ticket), NumberSeries.coming("receipt")
        refuse_amount(kind, amount, note, standing)
        now = clock.now()
        entry = MoneyEntry(
            ticket=now_ticket,
            number=f"R-{number:04d}",
            kind=kind,
            way=way,
            amount=round_money(amount, settings.CURRENCY),
            at=now,
            taken_by=actor,
            note=note.strip(),
            paper=paper,
        )
        entry.pdf = render(facts_of(now_ticket, rates_today(), now), receipt_of(entry, standing), paper)
        entry.pdf_sha256 = sha256(entry.pdf)
        said = {"receipt": entry.number, "kind": kind, "way": way, "amount": str(entry.amount)}
        with acting(actor, ticket, ACTS[kind], f"take {kind}", revision, note, said=said) as changed:
            if standing_of(changed) != standing:
                raise Overtaken
            take("receipt", number)
            entry.save()
        return entry

    return until_not_overtaken(attempt)


def refuse_amount(kind: str, amount: Decimal, note: str, standing: Standing) -> None:
    currency = settings.CURRENCY
    if amount <= 0:
        raise Refused("The amount is nought. Write what was taken, such as 120.00.")
    if kind == MoneyEntry.Kind.REFUND:
        if amount > standing.received:
            raise Refused(f"{amount:,} is more than was received, {standing.received:,} {currency}.")
        if not note.strip():
            raise Refused("Why it is paid back is missing. Write it in a few words.")
    elif amount > standing.balance:
        raise Refused(f"{amount:,} is more than is left to pay, {standing.balance:,} {currency}.")


def receipt_of(entry: MoneyEntry, before: Standing) -> Receipt:
    received = before.received + entry.signed
    return Receipt(
        number=entry.number,
        kind=entry.kind,
        amount=entry.amount,
        way=entry.get_way_display(),
        at=timezone.localtime(entry.at),
        taken_by=str(entry.taken_by),
        note=entry.note,
        received_so_far=received,
        total_agreed=before.total,
        balance=before.total - received,
        currency=settings.CURRENCY,
    )


def issue_invoice(
    actor, ticket: Ticket, *, paper: str = "a4", revision: int | None = None, render: Render = invoice_pdf
) -> Invoice:
    """Issue the invoice for what is agreed. One holds at a time; another one follows its credit note."""
    require(actor, "issue_invoice")

    def attempt() -> Invoice:
        now_ticket = as_it_is(ticket)
        standing, agreed = standing_of(now_ticket), agreed_of(now_ticket)
        if agreed is None:
            raise Refused("Nothing is agreed yet; an invoice follows the customer's yes.")
        if standing.invoice:
            raise Refused(f"Invoice {standing.invoice.number} holds already. Take it back by a credit note first.")
        row = invoice_row(actor, now_ticket, agreed, standing, paper)
        return written(actor, row, "issue_invoice", agreed, standing, revision, render)

    return until_not_overtaken(attempt)


def credit_invoice(
    actor, ticket: Ticket, *, why: str, paper: str = "a4", revision: int | None = None, render: Render = invoice_pdf
) -> Invoice:
    """Take the invoice that holds back by a credit note."""
    require(actor, "credit_invoice")
    if not why.strip():
        raise Refused("Why the invoice is taken back is missing. Write it in a few words.")

    def attempt() -> Invoice:
        now_ticket = as_it_is(ticket)
        standing, agreed = standing_of(now_ticket), agreed_of(now_ticket)
        if standing.invoice is None or agreed is None:
            raise Refused("There is no invoice to take back.")
        held = standing.invoice
        kept = agreed if agreed.number == held.agreed else agreed_earlier(agreed, held.agreed)
        row = invoice_row(actor, now_ticket, kept, standing, paper)
        row.kind, row.cancels, row.why = Invoice.Kind.CREDIT, held, why.strip()
        return written(actor, row, "credit_invoice", kept, standing, revision, render)

    return until_not_overtaken(attempt)


def agreed_earlier(agreed: Agreed, number: str) -> Agreed:
    """Return what was agreed under an earlier paper: the quote itself, or a change order before the latest."""
    return Agreed(agreed.quote, agreed.quote.change_orders.select_related("catalogue").filter(number=number).first())


def invoice_row(actor, ticket: Ticket, agreed: Agreed, standing: Standing, paper: str) -> Invoice:
    """Return the row of an invoice, not saved yet, its figures those of the agreed estimate."""
    price = agreed.kept.estimate["price"]
    return Invoice(
        ticket=ticket,
        agreed=agreed.number,
        at=clock.now(),
        issued_by=actor,
        paper=paper,
        **{name: Decimal(price[name]) for name in ("parts", "labour", "consumables", "fees", "discount", "total")},
        tax=Decimal(price["tax"]["total"]) if "total" in price["tax"] else sum(map(Decimal, price["tax"].values())),
        balance=agreed.total - standing.received,
    )


def written(
    actor, row: Invoice, act: str, agreed: Agreed, standing: Standing, revision: int | None, render: Render
) -> Invoice:
    number = NumberSeries.coming("invoice")
    row.number = f"I-{number:04d}"
    facts = facts_of(row.ticket, rates_today(), row.at)
    row.pdf = render(facts, agreed.kept.sheet, agreed.kept.estimate, invoice_on_paper(row, agreed, standing), row.paper)
    row.pdf_sha256 = sha256(row.pdf)
    said = {"invoice": row.number, "agreed": row.agreed, "total": str(row.total)}
    with acting(actor, row.ticket, act, act.replace("_", " "), revision, row.why, said=said) as changed:
        if standing_of(changed) != standing:
            raise Overtaken
        take("invoice", number)
        row.save()
    return row


def invoice_on_paper(row: Invoice, agreed: Agreed, standing: Standing) -> PrintedInvoice:
    papers: list[tuple[str, Decimal]] = [(f"Quote {agreed.quote.number}", agreed.quote.total)]
    if agreed.change:
        earlier = agreed.quote.change_orders.filter(n__lte=agreed.change.n).only("number", "added_total", "n", "quote")
        papers += [(f"Change order {change.number}", change.added_total) for change in earlier]
    return PrintedInvoice(
        number=row.number,
        at=timezone.localtime(row.at),
        kind=row.get_kind_display(),
        cancels=row.cancels.number if row.cancels else "",
        why=row.why,
        agreed=papers,
        received=[
            (entry.number, timezone.localtime(entry.at).date(), entry.get_kind_display(), entry.signed)
            for entry in standing.entries
        ],
        balance=row.balance,
    )


def rates_today() -> ShopRates:
    return ShopRates.objects.holding_on(clock.today())
