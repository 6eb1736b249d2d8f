"""The change order: what changed after acceptance, what it adds, and the customer's consent."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from shop.units import MINUS, THIN, format_minutes

from .facts import PaperFacts
from .figures import bound, currency_of, for_left_edge, for_right_edge, gained, moment, money, unbroken, weekday
from .warned import in_spite_of, warned_of

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """One change order. `new_places` are the openings that it adds: (letters, what, where).

    `added_parts` and `added_labour` are before tax, `added_total` is all that the change adds; each may be below
    nought. `replaces` names the paper that it follows, "quote Q-0412-2".
    """

    number: str
    n: int
    what: list[str]
    why: str
    added_parts: Decimal
    added_labour: Decimal
    added_minutes: float
    added_total: Decimal
    old_total: Decimal
    new_total: Decimal
    consent_name: str
    consent_way: str
    consent_at: datetime.datetime
    recorded_by: str
    replaces: str
    number_called: str = ""
    new_places: list[tuple[str, str, str]] = field(default_factory=list)


def change_order_context(facts: PaperFacts, sheet: Document, estimate: Document, change: Change) -> dict[str, Any]:
    """Return what the change order shows. No cost and no margin is among it."""
    currency = currency_of(sheet, estimate)
    warned = in_spite_of(facts.override_reason, warned_of(estimate))
    return {
        "facts": facts,
        "change": change,
        "under": f"follows {change.replaces}",
        "left": for_left_edge(f"{change.number}  {facts.title}"),
        "right": for_right_edge(facts.boat_in_short),
        "foot": f"Change order {change.number}, ticket {facts.ticket_number}. It follows {change.replaces}.",
        "total": money(change.new_total, currency),
        "added": gained(change.added_total, currency),
        "ready": weekday(facts.ready_on),
        "what": [bound(sentence) for sentence in change.what],
        "why": bound(change.why),
        "sums": list(sums_of(change, currency)),
        "new_places": [(letters, bound(what), bound(where)) for letters, what, where in change.new_places],
        "stops": [one for one in warned if one.severity == "stop"],
        "warned": [one for one in warned if one.severity != "stop"],
        "consent": [(name, value) for name, value in consent_of(change) if value],
    }


def sums_of(change: Change, currency: str) -> Iterator[tuple[str, str, bool]]:
    """Yield what was agreed before, what the change adds, and the new total: words, amount, and whether it is a sum."""
    rest = change.added_total - change.added_parts - change.added_labour
    yield f"Agreed by {change.replaces}", money(change.old_total), False
    yield "Parts", gained(change.added_parts), False
    yield f"Labour{minutes_words(change.added_minutes)}", gained(change.added_labour), False
    if rest:
        yield "Consumables, fees, discount and tax", gained(rest), False
    yield "This change, tax included", gained(change.added_total), True
    yield f"New total, tax included, {currency}", money(change.new_total), True


def minutes_words(minutes: float) -> str:
    if not round(minutes):
        return ""
    return f", {MINUS if minutes < 0 else '+'}{THIN}{format_minutes(abs(minutes))}"


def consent_of(change: Change) -> Iterator[tuple[str, str]]:
    yield "Agreed by", change.consent_name
    yield "In which way", change.consent_way
    yield "Number called", unbroken(change.number_called)
    yield "When", moment(change.consent_at)
    yield "Written down by", change.recorded_by
