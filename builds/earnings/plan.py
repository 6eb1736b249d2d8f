"""A kept estimate read as a plan: money as Decimal, minutes as they are written."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from .facts import NO_STEP, ZERO, Plan, PlannedLine, exact


def plan_of(
    estimate: Mapping[str, Any],
    shop: Mapping[str, Any],
    accessories: Mapping[str, str],
    bundles: Mapping[str, str] | None = None,
    categories: Mapping[str, str] | None = None,
) -> Plan:
    """Return the plan that an estimate's document is.

    `accessories` says which type each line is, `bundles` which bundle brought it, `categories` which category each type
    is of; `shop` holds the rates of the sheet.
    """
    price, labour = estimate["price"], estimate["labour"]
    phases = {line["line"]: mean_by_phase(line) for line in labour["lines"]}
    lines = [
        replace(
            line_of(row, phases.get(row["line"], {})),
            accessory=(accessory := accessories.get(row["line"], "")),
            bundle=(bundles or {}).get(row["line"], ""),
            category=(categories or {}).get(accessory, ""),
        )
        for row in price["lines"]
    ]
    known = {line.key for line in lines}
    lines += [PlannedLine(key, "", phases=minutes) for key, minutes in phases.items() if key not in known]
    money = {
        name: Decimal(price[name])
        for name in (
            "parts",
            "labour",
            "consumables",
            "fees",
            "discount",
            "labour_discount",
            "parts_cost",
            "consumables_cost",
            "labour_cost",
        )
    }
    return Plan(
        lines=tuple(lines),
        quoted_min=exact(labour["quoted_min"]),
        labour_rate_per_h=Decimal(shop["labour_rate_per_h"]),
        labour_cost_per_h=Decimal(shop["labour_cost_per_h"]),
        currency=price["currency"],
        **money,
    )


def line_of(row: Mapping[str, Any], phases: Mapping[str, Fraction]) -> PlannedLine:
    sold = row["sold"]
    return PlannedLine(
        key=row["line"],
        accessory="",
        quantity=row["quantity"],
        unit_price=Decimal(row["unit_price"]) if sold and row["unit_price"] is not None else ZERO,
        amount=Decimal(row["amount"]),
        discount=Decimal(row["discount"]),
        unit_cost=Decimal(row["unit_cost"]) if sold and row["unit_cost"] is not None else ZERO,
        cost=Decimal(row["cost"]),
        phases=phases,
    )


def mean_by_phase(line: Mapping[str, Any]) -> dict[str, Fraction]:
    """Return a line's mean minutes by phase, in the proportion of its likely ones [min]."""
    mean, likely = exact(line["mean_min"]), exact(line["likely_min"])
    if not likely:
        return {NO_STEP: mean} if mean else {}
    return {phase: exact(minutes) * mean / likely for phase, minutes in line["by_phase"].items()}
