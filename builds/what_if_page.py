"""What a what-if shows: what was asked in words, the sums before and after, and the tickets that change most."""

from collections.abc import Iterator, Mapping
from dataclasses import fields
from decimal import Decimal
from typing import Any

from django.utils.safestring import SafeString

from builds.drawings.bars import ACTUAL, QUOTED, Bar, bars
from builds.drawings.bars import Row as Bars
from builds.models import Reckoning
from builds.pictures import on_page
from builds.what_if import Row, read_row
from shop.units import THIN, number

KIND_WORDS = {"parts": "parts", "labour": "labour", "consumables": "consumables", "fees": "fees"}
FIGURES = ("revenue", "tax", "total", "profit")


def asked_words(asked: Mapping[str, Any]) -> list[str]:
    """Return what is different, a sentence for each."""
    words = []
    if rate := asked.get("labour_rate_per_h"):
        words.append(f"Labour at {rate} an hour")
    if share := asked.get("labour_percentile"):
        words.append(f"quoted minutes that hold in {number(100 * share, 0)} of 100 jobs")
    if (least := asked.get("minimum_charge_min")) is not None:
        words.append(f"at least {number(least, 0)}{THIN}min charged")
    if scale := asked.get("markup_scale"):
        steps = ", ".join(
            f"below {step['below']}: {step['factor']}" if step["below"] else f"above: {step['factor']}"
            for step in scale
        )
        words.append(
            f"mark-up {steps}, for {'all parts of known cost' if asked.get('scale_all') else 'unpriced parts'}"
        )
    for kind, rate in (asked.get("tax") or {}).items():
        words.append(f"tax on {KIND_WORDS[kind]} {number(100 * float(rate), 2)}{THIN}%")
    return words


def shown_of(reckoning: Reckoning) -> dict[str, Any]:
    """Return the sums of an ended reckoning as the page shows them."""
    found = reckoning.found
    return {
        "found": found,
        "all": side_by_side(found["all"]),
        "handed": side_by_side(found["handed"]) if found["handed"]["tickets"] else None,
        "handed_count": found["handed"]["tickets"],
        "most": [read_row(row) for row in found["most"]],
        "picture": picture_of(found["all"]),
    }


def side_by_side(sums: Mapping[str, Any]) -> dict[str, Any]:
    """Return each figure before, after, and its change."""
    said: dict[str, Any] = {}
    for name in FIGURES:
        before, after = (Decimal(sums[when][name]) for when in ("before", "after"))
        said[name] = {"before": before, "after": after, "change": after - before}
    for name in ("margin", "minutes"):
        before, after = (sums[when][name] for when in ("before", "after"))
        change = None if before is None or after is None else after - before
        said[name] = {"before": before, "after": after, "change": change}
    said["margin"]["points"] = points_of(said["margin"]["change"])
    return said | {"cost": Decimal(sums["cost"])}


def points_of(change: float | None) -> str:
    """Return the change of a margin: points of a hundred, not a part of the margin."""
    return "" if change is None else f"{'+' if change >= 0 else ''}{number(100 * change, 1)} points"


def picture_of(sums: Mapping[str, Any]) -> SafeString:
    """Return revenue and gross profit before and after as bars."""
    rows = [
        Bars(
            label,
            tuple(Bar(float(sums[when][name]), kind) for when, kind in (("before", QUOTED), ("after", ACTUAL))),
        )
        for label, name in (("Revenue", "revenue"), ("Gross profit", "profit"))
    ]
    return on_page(bars(rows, "what-if", "Before, open, and after, solid", width=640.0))


def csv_of(reckoning: Reckoning) -> Iterator[list[Any]]:
    """Yield every ticket as a file holds it."""
    names = [one.name for one in fields(Row)]
    yield [name.replace("_", " ") for name in names]
    for part in reckoning.slices.values_list("found", flat=True):
        for said in part["rows"]:
            row = read_row(said)
            yield [getattr(row, name) for name in names]
