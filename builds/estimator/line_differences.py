"""What differs from line to line between two sheets: added, left out, or changed, with price and minutes of each."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import Any

from shop.money import minor_digits
from shop.units import number

from .difference import Difference, Document, full, kind_of, name_of, told
from .sheet import Line

FIXED_BY = {
    "gear_track_t_bolt": "T-bolt on a gear track",
    "flush_cutout": "flush cut-out",
    "in_hull": "a place inside the hull",
    "drop_in": "dropping in",
}
SUPPLIED = {"shop": "supplied by shop", "customer": "supplied by customer", "already_fitted": "already fitted"}
WIRING = ("circuit", "switch", "direct")
# What the customer does not see of a catalogue entry, and what the price of the line says by itself.
UNSAID_OF_TYPE = ("name", "price", "cost", "source")

Said = Iterator[tuple[str, str]]


@dataclass(frozen=True)
class Side:
    """One line as one of two sheets has it; `record` has every field, `each` is its unit price as a text, or None."""

    sheet: Document
    record: dict[str, Any]
    name: str
    each: str | None
    amount: Decimal
    mean_min: float
    plain_min: float
    digits: int

    @property
    def quantity(self) -> int:
        return int(self.record["quantity"])

    @property
    def kind(self) -> Document:
        return kind_of(self.sheet, self.record)

    @property
    def counted(self) -> str:
        return self.name if self.quantity == 1 else f"{self.quantity} × {self.name}"

    @property
    def mounting(self) -> str:
        return str(self.record["mounting"] or next(iter(self.kind.get("mountings", ())), ""))

    @property
    def priced(self) -> str:
        return "no price" if self.each is None else number(float(self.each), self.digits)

    @property
    def place(self) -> str:
        """The name of its station as the boat has it."""
        stations = (self.sheet.get("hull") or {}).get("stations") or ()
        names = {station["id"]: station["name"] for station in stations}
        return str(names.get(self.record["station"], self.record["station"]))

    @property
    def feeder(self) -> str | None:
        """The id of the battery line that feeds it: the one named, else the only one that can (`links.candidates`)."""
        named: str | None = self.record["battery"]
        if named is not None or not any(self.kind.get(part) for part in ("load", "distribution", "converter")):
            return named
        batteries: dict[str, list[str]] = {"house": [], "drive": []}
        for line in self.sheet["lines"]:
            if kind_of(self.sheet, line).get("battery"):
                batteries[line.get("role") or "house"].append(line["id"])
        drive = batteries["drive"] if (self.kind.get("load") or {}).get("propulsion") else []
        able = drive or batteries["house"]
        return able[0] if len(able) == 1 else None


def sides_of(sheet: Document, estimate: Document) -> dict[str, Side]:
    """Return the lines of a sheet by id, in its order, each with its price and minutes of the estimate."""
    lines = sheet.get("lines") or ()
    worked, priced = estimate["labour"]["lines"], estimate["price"]["lines"]
    digits = minor_digits(estimate["price"]["currency"])
    return {
        line["id"]: Side(
            sheet=sheet,
            record=full(Line, line),
            name=name_of(sheet, line),
            each=price["unit_price"],
            amount=Decimal(price["amount"]),
            mean_min=minutes["mean_min"],
            plain_min=minutes["plain_min"],
            digits=digits,
        )
        for line, price, minutes in zip(lines, priced, islice(worked, len(lines)), strict=True)
    }


def line_differences(old: dict[str, Side], new: dict[str, Side]) -> Iterator[Difference]:
    """Yield what differs line by line, matched by id: lines changed or left out in the old order, then lines added.

    A changed line is one difference, with all that changed of it in its words; its price is the change of its own
    amount, its minutes the change of its own mean.
    """
    for key, was in old.items():
        now = new.get(key)
        if now is None:
            yield Difference("removed", key, f"{was.counted} left out", -was.amount, -was.mean_min)
            continue
        lead, said = lead_of(was, now), list(changes(was, now))
        kinds = [kind for kind, _ in said]
        if lead or said:
            words = ", ".join(phrase for _, phrase in said)
            text = f"{lead[1]}, {words}" if lead and words else lead[1] if lead else f"{now.name} {words}"
            kind = lead[0] if lead else kinds[0]
            yield Difference(kind, key, text, now.amount - was.amount, now.mean_min - was.mean_min)
    for key, now in new.items():
        if key not in old:
            yield Difference("added", key, f"{now.counted} added", now.amount, now.mean_min)


def lead_of(was: Side, now: Side) -> tuple[str, str] | None:
    """Return kind and words of another type or another count, or None where both are the same."""
    if was.record["accessory"] != now.record["accessory"]:
        return "replaced", f"{now.counted} instead of {was.counted}"
    if was.quantity != now.quantity:
        return "quantity", f"{now.quantity} of {now.name} instead of {was.quantity}"
    return None


def changes(was: Side, now: Side) -> Said:
    """Yield kind and words of each further thing that changed of one line."""
    same_type = was.record["accessory"] == now.record["accessory"]
    yield from placed(was, now)
    if was.mounting != now.mounting:
        yield "mounting", f"fixed by {fixed_by(now.mounting)} instead of {fixed_by(was.mounting)}"
    if was.record["supplied_by"] != now.record["supplied_by"]:
        yield "supplied", SUPPLIED[now.record["supplied_by"]]
    elif same_type and was.each != now.each:
        yield "price", f"at {now.priced} each instead of {was.priced}"
    yield from fed(was, now)
    yield from rated(was, now)
    if same_type and entry(was) != entry(now):
        yield "catalogue", "as the catalogue now has it"


def placed(was: Side, now: Side) -> Said:
    if was.record["station"] != now.record["station"]:
        yield "moved", "without a place" if now.record["station"] is None else f"moved to {now.place}"
    elif was.record["offset_m"] != now.record["offset_m"]:
        yield "moved", "moved" if now.record["station"] is None else f"moved at {now.place}"


def fixed_by(mounting: str) -> str:
    return FIXED_BY.get(mounting, mounting.replace("_", " "))


def fed(was: Side, now: Side) -> Said:
    if was.feeder != now.feeder:
        yield "wiring", "fed from another battery"
    if any(was.record[name] != now.record[name] for name in WIRING):
        yield "wiring", "wired another way"
    run_m = now.record["measured_run_m"]
    if was.record["measured_run_m"] != run_m:
        yield "wiring", "with its run no longer measured" if run_m is None else "with its run measured"


def rated(was: Side, now: Side) -> Said:
    if not now.kind.get("battery"):
        return
    if was.record["role"] != now.record["role"]:
        yield "battery", f"as {now.record['role']} battery"
    if was.record["health"] != now.record["health"]:
        yield "battery", f"taken at {now.record['health']:.0%} of its capacity instead of {was.record['health']:.0%}"


def entry(side: Side) -> dict[str, Any]:
    """Return what the catalogue says of a type beyond its name and money."""
    return {key: value for key, value in told(side.kind).items() if key not in UNSAID_OF_TYPE}
