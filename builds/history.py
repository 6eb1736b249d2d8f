"""A ticket's history in words: who did what and when, and what it changed."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from builds import personal
from builds.actions.lines import CHANGEABLE, changes_since_agreed
from builds.models import Ticket
from builds.states import STATE_WORDS
from catalog.models import AccessoryType, ShopOperation
from shop.journal import history
from shop.models import JournalEntry

SHOWN_AT_MOST = 200
PART_WORDS = {
    "title": "Job",
    "asked": "What was asked",
    "water": "Water",
    "air_temp_c": "Air, °C",
    "discount_basis_points": "Discount",
    "aboard": "People and kit aboard",
    "spells": "The day",
    "fees": "Fees",
    "interview": "Answers",
    "boat": "Boat's figures",
    "hull_id": "Another boat",
    "customer": "Customer",
    "alternatives": "Alternatives",
    "operations": "Shop operations",
}
FIGURE_WORDS = {
    "accessory_id": "part",
    "offset_x_m": "place",
    "offset_y_m": "place",
    "offset_z_m": "place",
    "unit_price": "price each",
    "battery_key": "battery",
    "switch_key": "switch",
    "supplied_by": "supplied by",
    "measured_run_m": "measured run",
}


@dataclass(frozen=True)
class Told:
    """One entry as a reader sees it; `undoes` are the numbers of the entries that it took back."""

    number: int
    at: datetime.datetime
    who: str
    what: str
    details: list[str]
    why: str
    undoes: list[int]
    may_go_back: bool


def told(ticket: Ticket) -> list[Told]:
    """Return the ticket's history, the latest entry first, in a fixed number of queries."""
    entries = list(history(ticket).order_by("-number")[:SHOWN_AT_MOST])
    names = dict(AccessoryType.objects.values_list("pk", "name"))
    done = dict(ShopOperation.objects.values_list("pk", "name"))
    texts = personal.texts_of(entries)
    open_to = {entry.number for entry in changes_since_agreed(ticket)}
    return [
        Told(
            number=entry.number,
            at=entry.at,
            who=entry.actor_name,
            what=entry.action,
            details=[*details(entry, names, done, texts), *state_words(entry)],
            why=entry.why,
            undoes=entry.after.get("undoes", []),
            may_go_back=entry.number in open_to,
        )
        for entry in entries
    ]


def state_words(entry: JournalEntry) -> Iterator[str]:
    before, after = entry.before.get("state"), entry.after.get("state")
    if before and before != after:
        yield f"{STATE_WORDS.get(before, before)} → {STATE_WORDS.get(after, after)}"


def details(entry: JournalEntry, names: dict[int, str], done: dict[int, str], texts: personal.Texts) -> Iterator[str]:
    """Yield what an entry changed, a sentence for each line, a word for the rest."""
    before, after = entry.before, entry.after
    if "lines" in before:
        yield from line_details(before["lines"], after["lines"], names)
    if "operations" in before:
        yield from operation_details(before["operations"], after["operations"], done)
    for name in ("title", "asked", "water"):
        if name in before:
            yield f"{PART_WORDS[name]}: {personal.words(after[name], texts) or 'nothing'}"
    told_apart = ("lines", "operations", "title", "asked", "water", "customer_id")
    for name in before:
        if name in CHANGEABLE and name not in told_apart:
            yield f"{PART_WORDS[name]} changed"


def line_details(before: list[dict], after: list[dict], names: dict[int, str]) -> Iterator[str]:
    was, now = {row["key"]: row for row in before}, {row["key"]: row for row in after}
    for key, row in now.items():
        name = names.get(row["accessory_id"], "a part")
        if key not in was:
            yield f"+ {count(row)}{name}"
        elif was[key]["accessory_id"] != row["accessory_id"]:
            yield f"{name} instead of {names.get(was[key]['accessory_id'], 'a part')}"
        elif was[key] != row:
            figures = dict.fromkeys(FIGURE_WORDS.get(f, f) for f in row if was[key].get(f) != row[f])
            yield f"{name}: {', '.join(figures)}"
    for key, row in was.items():
        if key not in now:
            yield f"− {count(row)}{names.get(row['accessory_id'], 'a part')}"


def count(row: dict[str, Any]) -> str:
    return "" if row["quantity"] == 1 else f"{row['quantity']} × "


def operation_details(before: list[dict], after: list[dict], done: dict[int, str]) -> Iterator[str]:
    was = {row["operation_id"]: row["quantity"] for row in before}
    now = {row["operation_id"]: row["quantity"] for row in after}
    for key in {**was, **now}:
        if was.get(key, 0) != now.get(key, 0):
            yield f"{done.get(key, 'An operation')}: {was.get(key, 0)} → {now.get(key, 0)}"
