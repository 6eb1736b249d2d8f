"""The page of what was learned: each proposal beside what the catalogue says now, and what was taken of it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.urls import reverse
from django.utils.safestring import SafeString

from builds.actions.learning import key_of, offers_of
from builds.drawings.ranges import Pair, Range, ranges
from builds.estimator.labour import pert_mean
from builds.learning.learn import BELIEVED_FACTOR
from builds.models import LearnedChange, Reckoning
from builds.pictures import on_page
from catalog import shelf
from shop import clock
from shop.units import number

WORTH_SHARE, WORTH_TICKETS, WORTH_RULE_TICKETS = 0.05, 3, 20
DRAWN_AT_MOST = 10
FACTOR_NAMES = {
    "no_hand_reach": "no hand behind",
    "laminate": "laminate hull",
    "old_hull": "old hull",
    "salt_corroded": "salt-corroded fittings",
}
CORRELATION_NAME = "how far lines of one ticket run long together"
OPEN, TAKEN, MOVED = "open", "taken", "moved"


@dataclass(frozen=True)
class Row:
    """One figure that was learned: what it is now and what is proposed, how sure, what it does, and where it stands.

    `state` is open, taken, or moved where the catalogue says something else by now.
    """

    key: str
    kind: str
    name: str
    address: str
    tickets: int
    left_out: int
    weight: float | None
    before: Any
    after: Any
    effect: Mapping[str, Any] | None
    state: str
    taken: LearnedChange | None

    @property
    def has_minutes(self) -> bool:
        return isinstance(self.before, list)

    @property
    def mean_before(self) -> float:
        return pert_mean(*self.before) if self.has_minutes else self.before

    @property
    def mean_after(self) -> float:
        return pert_mean(*self.after) if self.has_minutes else self.after

    @property
    def share(self) -> float:
        """By which part the expected minutes change."""
        return self.mean_after / self.mean_before - 1 if self.mean_before else 0.0

    @property
    def is_worth(self) -> bool:
        """Whether it moves something, and rests on enough tickets; a rule of all tickets needs more of them."""
        if not self.has_minutes and (self.tickets < WORTH_RULE_TICKETS or (self.weight or 1.0) < BELIEVED_FACTOR):
            return False
        return abs(self.share) >= WORTH_SHARE and self.tickets >= WORTH_TICKETS

    @property
    def minutes_a_ticket(self) -> float | None:
        return self.effect["mean_min"] / self.effect["tickets"] if self.effect else None

    @property
    def money_a_ticket(self) -> Decimal | None:
        return cents(Decimal(self.effect["labour"]) / self.effect["tickets"]) if self.effect else None


def rows_of(reckoning: Reckoning) -> list[Row]:
    """Return what was learned, the figures that change most tickets most before the others."""
    changes: dict[tuple[str, str], LearnedChange] = {}
    for change in LearnedChange.objects.select_related("by").order_by("id"):
        changes[change.kind, change.code] = change
    said = {one["kind"]: one for one in reckoning.found["proposals"]}
    rows = [row_of(offer, said, changes.get((offer["kind"], offer["code"]))) for offer in offers_of(reckoning)]
    return sorted(rows, key=lambda row: (-abs(row.mean_after - row.mean_before) * row.tickets, row.key))


def row_of(offer: dict[str, Any], said: Mapping[str, Any], change: LearnedChange | None) -> Row:
    kind, code = offer["kind"], offer["code"]
    proposal = said.get(key_of(offer), {})
    taken = change if change and change.after == offer["after"] and not change.takes_back_id else None
    name, address, now = place_of(kind, code)
    state = TAKEN if taken else OPEN if now == offer["before"] else MOVED
    return Row(
        key=key_of(offer),
        kind=kind,
        name=name,
        address=address,
        tickets=offer["tickets"],
        left_out=proposal.get("left_out", 0),
        weight=offer["credibility"],
        before=offer["before"],
        after=offer["after"],
        effect=proposal.get("effect"),
        state=state,
        taken=taken,
    )


def place_of(kind: str, code: str) -> tuple[str, str, Any]:
    """Return name, address and present figure of what was learned."""
    records = shelf.records()
    if kind == "type" and (record := records["accessories"].get(code)):
        return record["name"], reverse("catalog:type", args=[code]), minutes_in(record)
    if kind == "operation" and (record := records["shop_operations"].get(code)):
        return record["name"], reverse("catalog:change_operation", args=[code]), minutes_in(record)
    shop, address = shelf.shop_record(clock.today()), reverse("catalog:rates_list")
    if kind == "factor":
        return FACTOR_NAMES.get(code, code), address, shop["factors"].get(code)
    return (CORRELATION_NAME, address, shop["labour_correlation"]) if kind == "correlation" else (code, "", None)


def minutes_in(record: Mapping[str, Any]) -> list[float]:
    return [record["labour"][name] for name in ("low_min", "likely_min", "high_min")]


def name_of(key: str) -> str:
    return place_of(*key.split(":", 1))[0]


def picture_of(rows: Iterable[Row]) -> SafeString | str:
    """Return the minutes of the types that change most, before and after."""
    pairs = [Pair(row.name, Range(*row.before), Range(*row.after)) for row in rows if row.has_minutes][:DRAWN_AT_MOST]
    return on_page(ranges(pairs, "learned", "Minutes of the catalogue and of the shop", "min")) if pairs else ""


@dataclass(frozen=True)
class TakenRow:
    """A change that was taken, or taken back, in words."""

    change: LearnedChange
    name: str
    before: str
    after: str
    can_take_back: bool


def taken_rows(most: int = 20) -> list[TakenRow]:
    """Return the latest changes; the latest of each figure can be taken back."""
    rows, seen = [], set()
    for change in LearnedChange.objects.select_related("by")[:most]:
        key = change.kind, change.code
        latest = key not in seen and not change.takes_back_id
        seen.add(key)
        name = place_of(*key)[0]
        rows.append(TakenRow(change, name, words_of(change.before), words_of(change.after), latest))
    return rows


def words_of(figure: Any) -> str:
    """Return minutes or a figure as a reader sees it."""
    if isinstance(figure, list):
        low, likely, high = (number(one, 1 if one != round(one) else 0) for one in figure)
        return f"{likely} min, {low} to {high}"
    return f"× {number(figure, 2)}"


@dataclass(frozen=True)
class Promise:
    """How often a promise held, in words."""

    what: str
    k: int
    n: int
    sentence: str


def promises_of(found: Mapping[str, Any]) -> list[Promise]:
    return [Promise(one["what"], one["k"], one["n"], sentence_of(one)) for one in found["held"]]


def sentence_of(held: Mapping[str, Any]) -> str:
    """Return the share with its interval in plain words, and whether it agrees with what was meant."""
    if not held["n"]:
        return "No ticket was timed throughout yet."
    of_hundred = number(100 * held["k"] / held["n"], 0)
    low, high = number(100 * held["low"], 0), number(100 * held["high"], 0)
    said = f"That is {of_hundred} in 100; by so many tickets the true share lies between {low} and {high} in 100."
    if held["chance"] is None:
        return said
    meant = 100 * held["chance"]
    if held["low"] <= held["chance"] <= held["high"]:
        return f"{said} It agrees with the {number(meant, 0)} in 100 that are meant."
    more = "less" if held["high"] < held["chance"] else "more"
    return f"{said} It held {more} often than the {number(meant, 0)} in 100 that are meant."


def earned(found: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the tickets of the sample earned, and would have earned quoted with everything that was learned."""
    together = found["together"]
    before, after, cost = (Decimal(together[name]) for name in ("revenue_before", "revenue_after", "cost_worked"))
    return {
        "tickets": together["tickets"],
        "before": (before - cost) / before if before else None,
        "after": (after - cost) / after if after else None,
        "labour": cents(after - before),
        "quoted_min": together["quoted_min"],
    }


def left_out_of(found: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [{**one, "name": name_of(one["kind"])} for one in found["left_out"]]


def table_of(rows: Iterable[Row]) -> Iterator[list[Any]]:
    """Yield the table as a file holds it."""
    yield [
        "what", "code", "name", "tickets", "left out", "weight of own tickets",
        "low before, min", "likely before, min", "high before, min", "low after, min", "likely after, min",
        "high after, min", "figure before", "figure after", "expected minutes a ticket", "labour a ticket", "state",
    ]  # fmt: skip
    for row in rows:
        kind, code = row.key.split(":", 1)
        minutes = [*row.before, *row.after] if row.has_minutes else [None] * 6
        figures = [None, None] if row.has_minutes else [row.before, row.after]
        yield [kind, code, row.name, row.tickets, row.left_out, row.weight, *minutes, *figures,
               row.minutes_a_ticket, row.money_a_ticket, row.state]  # fmt: skip


def cents(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"))
