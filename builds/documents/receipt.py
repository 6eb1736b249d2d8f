"""The receipt for money taken or paid back."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from shop.money import round_money

from .facts import PaperFacts
from .figures import balance_words, bound, for_left_edge, for_right_edge, moment, money

TITLES = {"deposit": "Deposit received", "payment": "Payment received", "refund": "Paid back"}


@dataclass(frozen=True)
class Receipt:
    """One receipt: what kind, how much, in which way, and where the ticket stands after it."""

    number: str
    kind: str
    amount: Decimal
    way: str
    at: datetime.datetime
    taken_by: str
    received_so_far: Decimal
    total_agreed: Decimal
    balance: Decimal
    note: str = ""
    currency: str = "USD"


def receipt_context(facts: PaperFacts, receipt: Receipt) -> dict[str, Any]:
    """Return what the receipt shows. Raises KeyError for a kind that is none of deposit, payment and refund."""
    return {
        "facts": facts,
        "receipt": receipt,
        "under": f"ticket {facts.ticket_number}",
        "left": for_left_edge(f"{receipt.number}  {facts.title}"),
        "right": for_right_edge(facts.boat_in_short),
        "foot": f"Receipt {receipt.number}, ticket {facts.ticket_number}, {moment(receipt.at)}.",
        "title": TITLES[receipt.kind],
        "amount": money(receipt.amount, receipt.currency),
        "when": moment(receipt.at),
        "way": receipt.way.capitalize(),
        "said": [(name, value) for name, value in said_of(receipt) if value],
        "sums": list(sums_of(receipt)),
    }


def said_of(receipt: Receipt) -> Iterator[tuple[str, str]]:
    yield "Paid back by" if receipt.kind == "refund" else "Taken by", receipt.taken_by
    yield "Note", bound(receipt.note)


def sums_of(receipt: Receipt) -> Iterator[tuple[str, str, bool]]:
    """Yield how the ticket stands: words, amount, and whether it is the sum."""
    yield "Agreed, tax included", money(receipt.total_agreed), False
    yield "Received so far, with this receipt", money(receipt.received_so_far), False
    yield (
        f"{balance_words(receipt.balance)}, {receipt.currency}",
        money(round_money(abs(receipt.balance), receipt.currency)),
        True,
    )
