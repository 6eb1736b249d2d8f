"""What one ticket earned, as figures that add up, and its shares by type, category, bundle, tech and phase."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from shop.money import from_minor, to_minor

from .facts import Facts, PlannedLine, exact
from .figures import MINUTE_NAMES, MINUTES, MONEY_NAMES, WHY, Figures, total_of
from .missed import Way, apportion, come_back_costs, labour_cost, rounded_cost, used_by_line, way_of

ACCESSORY, CATEGORY, BUNDLE, TECH, PHASE = "accessory", "category", "bundle", "tech", "phase"
WHOLE = ""
"""The key of what belongs to no accessory type, bundle or tech: shop operations, consumables, fees."""
HUNDREDTHS = 100
# What a tech's share does not speak of: the way from the quote is the ticket's.
NOT_SHARED = ("planned", *(f"why_{kind}" for kind in WHY))


@dataclass(frozen=True)
class Share:
    """A part of a ticket's figures: by what, and by which of these."""

    by: str
    key: str
    figures: Figures


@dataclass(frozen=True)
class Earned:
    """A ticket's figures and its shares. By type, category, bundle and tech the shares add up to the ticket."""

    figures: Figures
    shares: tuple[Share, ...]


def earned(facts: Facts) -> Earned:
    """Return what a ticket earned.

    Labour charged and the labour cost estimated go to lines and operations in proportion to their estimated minutes,
    what was worked to the line it was worked for, everything of the boat as a whole to no type. Minutes are rounded to
    hundredths on the ticket; shares of money and of minutes are whole units that add up to the ticket's, by largest
    remainder. Two techs share a ticket by the minutes that each worked. Common practice, no source.
    """
    lines, known = of_lines(facts), lines_of(facts)
    whole = total_of(lines.values())
    way = way_of(facts)
    whys: dict[str, Any] = {f"why_{kind}": way.of(kind) for kind in WHY}
    figures = replace(whole, planned=way.planned, **whys)
    shares = [
        *by_key(ACCESSORY, lines, {line.key: line.accessory for line in known}),
        *by_key(CATEGORY, lines, {line.key: line.category for line in known}),
        *by_key(BUNDLE, lines, {line.key: line.bundle for line in known}),
        *by_tech(facts, figures),
        *by_phase(facts, way),
    ]
    return Earned(figures, tuple(shares))


def lines_of(facts: Facts) -> list[PlannedLine]:
    """Return every line and operation that was agreed, and those that were only worked or used for, without figures."""
    found = {line.key: line for line in facts.agreed.lines}
    before = {line.key: line for line in facts.quoted.lines}
    for key, accessory in [(w.line, w.accessory) for w in facts.worked] + [(u.line, u.accessory) for u in facts.used]:
        if key not in found:
            gone = before.get(key)
            category = gone.category if gone and gone.accessory == accessory else ""
            found[key] = PlannedLine(key, accessory, category=category)
    return list(found.values())


def of_lines(facts: Facts) -> dict[str, Figures]:
    """Return the figures of each line and operation; under no key what belongs to the boat as a whole."""
    agreed, currency = facts.agreed, facts.agreed.currency
    keys = [line.key for line in lines_of(facts)]
    planned = {line.key: line for line in agreed.lines}
    weights = [planned[key].minutes if key in planned else Fraction(0) for key in keys]
    worked = [cost_of(facts, key, come_back=False) for key in keys]
    back = [cost_of(facts, key, come_back=True) for key in keys]
    back_labour, back_parts = come_back_costs(facts)
    used = {key: rounded_cost(some, facts) for key, some in used_by_line(facts).items()}
    back_used = [sum((u.cost for u in facts.used if u.come_back and u.line == key), Fraction(0)) for key in keys]
    labour = spread(agreed.labour, weights, currency)
    labour_discount = spread(agreed.labour_discount, weights, currency)
    labour_agreed = spread(agreed.labour_cost, weights, currency)
    columns: dict[str, list[Any]] = {
        "labour_cost": spread(labour_cost(facts), worked, currency),
        "come_back_labour_cost": spread(back_labour, back, currency),
        "come_back_parts_cost": spread(back_parts, back_used, currency),
        "labour_discount": labour_discount,
        "estimated_min": spread_minutes(agreed.minutes, weights),
        "quoted_min": spread_minutes(agreed.quoted_min, weights),
        "worked_min": spread_minutes(*minutes_of(facts, keys, come_back=False)),
        "come_back_min": spread_minutes(*minutes_of(facts, keys, come_back=True)),
    }
    found = {
        WHOLE: Figures(
            consumables=agreed.consumables,
            fees=agreed.fees,
            consumables_cost=agreed.consumables_cost,
            agreed_cost=agreed.consumables_cost,
            came_back=int(facts.came_back),
        )
    }
    for place, key in enumerate(keys):
        line = planned.get(key)
        cost = used.get(key, line.cost if line else Decimal(0))
        charged: dict[str, Any] = {"labour" if line and line.accessory else "operations": labour[place]}
        figures = Figures(
            parts=line.amount if line else Decimal(0),
            parts_cost=cost,
            discount=(line.discount if line else Decimal(0)) + labour_discount[place],
            agreed_cost=(line.cost if line else Decimal(0)) + labour_agreed[place],
            **charged,
            **{name: shares[place] for name, shares in columns.items()},
        )
        found[key] = total_of([found[key], figures]) if key in found else figures
    return found


def cost_of(facts: Facts, key: str, *, come_back: bool) -> Fraction:
    some = facts.on_come_backs if come_back else facts.at_the_bench
    return sum((one.cost for one in some if one.line == key), Fraction(0))


def minutes_of(facts: Facts, keys: Sequence[str], *, come_back: bool) -> tuple[Fraction, list[Fraction]]:
    some = facts.on_come_backs if come_back else facts.at_the_bench
    each = [sum((one.minutes for one in some if one.line == key), Fraction(0)) for key in keys]
    return sum(each, Fraction(0)), each


def by_key(by: str, lines: Mapping[str, Figures], named: Mapping[str, str]) -> list[Share]:
    """Return the figures of lines with the same name added up."""
    groups: dict[str, list[Figures]] = {}
    for key, figures in lines.items():
        groups.setdefault(named.get(key, WHOLE), []).append(figures)
    return [Share(by, key, total_of(some)) for key, some in groups.items()]


def by_tech(facts: Facts, figures: Figures) -> list[Share]:
    """Return the ticket's figures shared by the minutes that each tech worked; nobody worked: the ticket as a whole."""
    weights: dict[str, Fraction] = {}
    for one in facts.at_the_bench or facts.worked:
        weights[one.tech] = weights.get(one.tech, Fraction(0)) + one.minutes
    techs = [tech for tech, minutes in weights.items() if minutes] or [WHOLE]
    shares = [weights.get(tech, Fraction(1)) for tech in techs]
    currency = facts.agreed.currency
    columns = {name: spread(getattr(figures, name), shares, currency) for name in MONEY_NAMES if name not in NOT_SHARED}
    columns |= {name: spread_minutes(exact(getattr(figures, name)), shares) for name in MINUTE_NAMES}
    return [
        Share(
            TECH,
            tech,
            Figures(came_back=figures.came_back, **{name: column[place] for name, column in columns.items()}),
        )
        for place, tech in enumerate(techs)
    ]


def by_phase(facts: Facts, way: Way) -> list[Share]:
    """Return the minutes of each phase, estimated and worked, and what they gained or lost."""
    estimated = facts.agreed.by_phase
    worked: dict[str, Fraction] = {}
    for one in facts.at_the_bench:
        worked[one.phase] = worked.get(one.phase, Fraction(0)) + one.minutes
    amounts = {part.phase: part.amount for part in way.parts if part.kind == MINUTES}
    phases = list(amounts)
    all_estimated = spread_minutes(facts.agreed.minutes, [estimated.get(phase, Fraction(0)) for phase in phases])
    all_worked = spread_minutes(sum(worked.values(), Fraction(0)), [worked.get(phase, Fraction(0)) for phase in phases])
    return [
        Share(
            PHASE,
            phase,
            Figures(why_minutes=amounts[phase], estimated_min=all_estimated[i], worked_min=all_worked[i]),
        )
        for i, phase in enumerate(phases)
    ]


# Sums and shares.


def spread(amount: Decimal, weights: Sequence[Fraction], currency: str) -> list[Decimal]:
    """Return shares of an amount in proportion to weights, in whole minor units that add up to it [money].

    No weight at all: the first share takes everything.
    """
    return [from_minor(share, currency) for share in shared(to_minor(amount, currency), weights)]


def spread_minutes(minutes: Fraction, weights: Sequence[Fraction]) -> list[Decimal]:
    """Return shares of minutes in hundredths that add up to the minutes rounded half up [min]."""
    whole = floor(minutes * HUNDREDTHS + Fraction(1, 2))
    return [Decimal(share).scaleb(-2) for share in shared(whole, weights)]


def shared(units: int, weights: Sequence[Fraction]) -> list[int]:
    """Return whole shares of whole units in proportion to weights, by largest remainder."""
    whole = sum(weights, Fraction(0))
    if not whole:
        return [units if place == 0 else 0 for place in range(len(weights))]
    return apportion([units * weight / whole for weight in weights], units)
