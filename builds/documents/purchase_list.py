"""The purchase list: what to order, by supplier, to be ticked off while it is ordered."""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from .facts import PaperFacts
from .figures import WIDE, bound, counted, for_left_edge, for_right_edge, moment, money


@dataclass(frozen=True)
class PurchaseRow:
    """One thing to order: how many packs and what is in one, by when, for which tickets. No cost where it is None."""

    name: str
    part_number: str
    packs: int
    pack: str
    quantity: str
    needed_on: datetime.date | None
    tickets: tuple[str, ...]
    cost: Decimal | None = None


@dataclass(frozen=True)
class PurchaseGroup:
    """What is ordered from one supplier, and what all of it costs the shop."""

    supplier: str
    rows: list[PurchaseRow]
    cost: Decimal | None = None


def purchase_list_context(facts: PaperFacts, groups: list[PurchaseGroup], currency: str) -> dict[str, Any]:
    """Return what the purchase list shows; costs only where the groups have them."""
    rows = sum(len(group.rows) for group in groups)
    return {
        "facts": facts,
        "left": for_left_edge("Purchase list"),
        "right": for_right_edge(facts.shop_name),
        "foot": f"Purchase list, {moment(facts.issued_at)}.",
        "when": moment(facts.issued_at),
        "how_many": f"{counted(rows, 'part')}, {counted(len(groups), 'supplier')}",
        "costs": any(group.cost is not None for group in groups),
        "currency": currency,
        "groups": [
            {
                "supplier": bound(group.supplier),
                "cost": "" if group.cost is None else money(group.cost, currency),
                "rows": [
                    {
                        "row": row,
                        "name": bound(row.name),
                        "needed": day_of_the_list(row.needed_on),
                        "tickets": ", ".join(row.tickets),
                        "cost": "" if row.cost is None else money(row.cost),
                    }
                    for row in group.rows
                ],
            }
            for group in groups
        ],
    }


def day_of_the_list(day: datetime.date | None) -> str:
    """Return a day as it fits its column, such as "Fri 27 Nov"; the list is used within weeks."""
    return f"{day:%a}{WIDE}{day.day}{WIDE}{day:%b}" if day else ""
