"""What learned minutes would do: a sample of kept sheets is estimated again with them."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import Any

from builds.estimator.accessory import UnitMinutes
from builds.estimator.fitted import fit_lines
from builds.estimator.labour import Minutes as Labour
from builds.estimator.labour import labour_of
from builds.estimator.pricing import hours_at
from builds.estimator.runs import route_loads
from builds.kept import KeptTicket
from builds.learning.learn import Learned
from builds.learning.minutes import Minutes


@dataclass
class Effect:
    """What one change does to the tickets of the sample that have it: sums of minutes and money."""

    tickets: int = 0
    mean_min: float = 0.0
    quoted_min: float = 0.0
    labour: Decimal = Decimal(0)

    def add(self, before: Labour, after: Labour, sheet) -> None:
        self.tickets += 1
        self.mean_min += after.mean_min - before.mean_min
        self.quoted_min += after.quoted_min - before.quoted_min
        self.labour += labour_price(after, sheet) - labour_price(before, sheet)


def effects_of(
    sample: Iterable[KeptTicket], learned: Learned, worked: Mapping[int, Mapping[Any, Mapping[int, Any]]]
) -> tuple[dict[str, dict[str, Any]], dict[str, Any]]:
    """Return the effect of each change by itself, by key, and of all changes together on what the sample earned.

    `worked` are the minutes by ticket, of which the cost follows that the sample had.
    """
    after = {one.kind: one.after for one in learned.proposals if one.after != one.before}
    alone: dict[str, Effect] = {}
    whole = Effect()
    revenue = cost = Decimal(0)
    for ticket in sample:
        sheet = ticket.build_sheet
        before = labour_with(sheet, {})
        used = {key for key in after if is_on(key, sheet)}
        for key in used:
            alone.setdefault(key, Effect()).add(before, labour_with(sheet, {key: after[key]}), sheet)
        whole.add(before, labour_with(sheet, {key: after[key] for key in used}), sheet)
        price = ticket.estimate["price"]
        minutes = sum(spent for people in worked.get(ticket.pk, {}).values() for spent, _ in people.values())
        revenue += Decimal(price["revenue"])
        cost += Decimal(price["parts_cost"]) + Decimal(price["consumables_cost"])
        cost += hours_at(minutes, sheet.shop.labour_cost_per_h, sheet.shop.currency)
    return {key: asdict(one) for key, one in alone.items()}, {
        **asdict(whole),
        "revenue_before": revenue,
        "revenue_after": revenue + whole.labour,
        "cost_worked": cost,
    }


def is_on(key: str, sheet) -> bool:
    kind, code = key.split(":", 1)
    if kind == "type":
        return any(line.accessory == code and line.supplied_by != "already_fitted" for line in sheet.lines)
    return any(row.operation == code for row in sheet.operations)


def labour_with(sheet, after: Mapping[str, Minutes]) -> Labour:
    """Return the labour of a sheet where some types and operations take other minutes."""
    kinds, operations = dict(sheet.accessories), dict(sheet.shop_operations)
    for key, minutes in after.items():
        kind, code = key.split(":", 1)
        if kind == "type":
            ratio = kinds[code].labour.repeat_ratio
            kinds[code] = replace(kinds[code], labour=UnitMinutes(**asdict(minutes), repeat_ratio=ratio))
        else:
            labour = replace(operations[code].labour, **asdict(minutes))
            operations[code] = replace(operations[code], labour=labour)
    changed = replace(sheet, accessories=kinds, shop_operations=operations) if after else sheet
    fitted = fit_lines(changed)
    return labour_of(changed, fitted, route_loads(changed, fitted))


def labour_price(labour: Labour, sheet) -> Decimal:
    """Return what the labour is charged, the discount off [money]."""
    shop = sheet.shop
    charged = hours_at(labour.quoted_min, shop.labour_rate_per_h, shop.currency)
    return charged - charged * sheet.discount.fraction
