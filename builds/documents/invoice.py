"""The invoice: parts and labour apart, tax by kind, what was received, what is left. A credit note takes it back."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from shop.money import round_money

from .facts import PaperFacts
from .figures import (
    balance_words,
    bound,
    currency_of,
    day,
    for_left_edge,
    for_right_edge,
    gained,
    money,
    percent,
    unbroken,
)
from .parts import Part, parts_of
from .quote import KINDS, SUPPLIED, amounts_of, extras_of, labour_words

Document = Mapping[str, Any]
CREDIT_NOTE = "credit note"


@dataclass(frozen=True)
class Invoice:
    """One invoice or credit note, and where the ticket stands: what was received, and the balance after it.

    `agreed` are the papers behind the total: the quote with its total, then each change order with what it adds.
    `received` are (receipt number, day, what, amount), the amount below nought where it was paid back. `why` is the
    reason of a credit note, which `cancels` an invoice.
    """

    number: str
    at: datetime.datetime
    kind: str
    balance: Decimal
    cancels: str = ""
    why: str = ""
    agreed: list[tuple[str, Decimal]] = field(default_factory=list)
    received: list[tuple[str, datetime.date, str, Decimal]] = field(default_factory=list)

    @property
    def is_credit(self) -> bool:
        return self.kind == CREDIT_NOTE


@dataclass(frozen=True)
class Row:
    """One part that is charged for, or is the customer's own."""

    number: int
    name: str
    where: str
    quantity: str
    each: str
    amount: str


def invoice_context(facts: PaperFacts, sheet: Document, estimate: Document, invoice: Invoice) -> dict[str, Any]:
    """Return what the invoice shows; on a credit note every figure has the other sign. No cost, no margin."""
    price, currency = estimate["price"], currency_of(sheet, estimate)
    sign = -1 if invoice.is_credit else 1
    received = sum((amount for *_, amount in invoice.received), Decimal(0))
    return {
        "facts": facts,
        "invoice": invoice,
        "kind": invoice.kind.capitalize(),
        "under": f"takes back {invoice.cancels}" if invoice.cancels else f"ticket {facts.ticket_number}",
        "left": for_left_edge(f"{invoice.number}  {facts.title}"),
        "right": for_right_edge(facts.boat_in_short),
        "foot": f"{invoice.kind.capitalize()} {invoice.number}, ticket {facts.ticket_number}, {day(invoice.at)}.",
        "currency": currency,
        "total": money(sign * Decimal(price["total"]), currency),
        "total_bare": money(sign * Decimal(price["total"])),
        "issued": day(invoice.at),
        "why": bound(invoice.why),
        "rows": list(rows_of(sheet, price, sign)),
        "parts": money(sign * Decimal(price["parts"])),
        "labour": (labour_words(estimate, sheet.get("shop", {})), money(sign * Decimal(price["labour"]))),
        "others": [(name, money(sign * amount)) for name, amount in others_of(sheet, price, currency)],
        "agreed": list(agreed_of(invoice)),
        "received": list(received_of(invoice)),
        "kept": money(round_money(received, currency), currency) if received else "",
        "balance": (balance_words(invoice.balance), money(round_money(abs(invoice.balance), currency))),
    }


def rows_of(sheet: Document, price: Document, sign: int) -> Iterator[Row]:
    """Yield the parts that are fitted now; one that the shop does not sell says whose it is."""
    amounts = amounts_of(price)
    for part in parts_of(sheet).values():
        if part.is_new:
            yield row_of(part, amounts.get(part.id, {}), sign)


def row_of(part: Part, amount: Document, sign: int) -> Row:
    supplied = SUPPLIED.get(part.supplied_by, "")
    if supplied or not amount.get("unit_price"):
        return Row(part.number, part.name, part.where, str(part.quantity), "", supplied or "not charged")
    return Row(
        number=part.number,
        name=part.name,
        where=part.where,
        quantity=money(Decimal(sign * part.quantity)),
        each=money(amount["unit_price"]),
        amount=money(sign * Decimal(amount["amount"])),
    )


def others_of(sheet: Document, price: Document, currency: str) -> Iterator[tuple[str, Decimal]]:
    """Yield consumables, fees and the discount, then the tax, a row for each kind that is charged, with its rate."""
    yield from extras_of(sheet, price, currency)
    rates = sheet.get("shop", {}).get("tax") or {}
    for kind in KINDS:
        tax = Decimal(price["tax"].get(kind, "0"))
        if tax or Decimal(price[kind]):
            at = f", {percent(Decimal(str(rates[kind])), 3)}" if kind in rates else ""
            yield f"Tax on {kind}{at}", tax


def agreed_of(invoice: Invoice) -> Iterator[tuple[str, str]]:
    """Yield the papers behind the total: the first with its amount, each later one with what it adds."""
    for place, (name, amount) in enumerate(invoice.agreed):
        yield unbroken(f"{name[:1].lower()}{name[1:]}"), gained(amount) if place else money(amount)


def received_of(invoice: Invoice) -> Iterator[tuple[str, str]]:
    for number, when, what, amount in invoice.received:
        yield f"{what.capitalize()}, {number}, {day(when)}", money(-amount)
