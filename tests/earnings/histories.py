"""Invented histories of tickets from a seed: quoted, changed, worked, used, come back. No database."""

import random
from collections.abc import Iterator
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from builds.earnings.facts import Facts, Plan, PlannedLine, Used, Worked

PHASES = ("check", "mark", "drill", "route", "bed", "mount", "terminate", "test")
CENT = Decimal("0.01")


def cents(number: Fraction) -> Decimal:
    """A fraction rounded half up to the cent, by Decimal's own rule."""
    return (Decimal(number.numerator) / Decimal(number.denominator)).quantize(CENT, ROUND_HALF_UP)


def amount(chance: random.Random, most: int) -> Decimal:
    return Decimal(chance.randint(0, most * 100)) / 100


def a_line(chance: random.Random, n: int) -> PlannedLine:
    sold = chance.random() < 0.85
    quantity = chance.randint(1, 6)
    price = amount(chance, 400) if sold else Decimal(0)
    cost = (price * chance.randint(30, 110) / 100).quantize(CENT) if sold else Decimal(0)
    accessory = chance.choice(("lamp", "tube", "track", "screen", "gland"))
    return PlannedLine(
        key=f"L{n}",
        accessory=accessory,
        category={"lamp": "power", "screen": "power", "tube": "fishing"}.get(accessory, "deck"),
        bundle=chance.choice(("", "", "night", "fishing")),
        quantity=quantity,
        unit_price=price,
        amount=price * quantity,
        unit_cost=cost,
        cost=cost * quantity,
        phases=some_minutes(chance),
    )


def some_minutes(chance: random.Random) -> dict[str, Fraction]:
    phases = chance.sample(PHASES, chance.randint(0, 5))
    return {phase: Fraction(chance.randint(1, 9000), chance.choice((60, 100, 700))) for phase in phases}


def a_plan(chance: random.Random, lines: list[PlannedLine], rate: Decimal, cost_rate: Decimal) -> Plan:
    operations = [PlannedLine(f"op_{n}", "", phases=some_minutes(chance)) for n in range(chance.randint(0, 3))]
    return totalled(
        Plan(
            lines=(*lines, *operations),
            consumables=amount(chance, 60),
            fees=chance.choice((Decimal(0), amount(chance, 80))),
            discount=Decimal(0),
            labour_discount=Decimal(0),
            consumables_cost=amount(chance, 40),
            parts=Decimal(0),
            labour=Decimal(0),
            parts_cost=Decimal(0),
            labour_cost=Decimal(0),
            quoted_min=Fraction(15 * chance.randint(0, 60)),
            labour_rate_per_h=rate,
            labour_cost_per_h=cost_rate,
        ),
        discount_percent=chance.choice((0, 0, 5, 10)),
    )


def totalled(plan: Plan, discount_percent: int) -> Plan:
    """The plan with the sums that its lines and rates make; the discount is on parts and labour, line by line."""
    labour = cents(plan.quoted_min / 60 * Fraction(plan.labour_rate_per_h))
    off = Decimal(discount_percent) / 100
    lines = tuple(replace(line, discount=(line.amount * off).quantize(CENT)) for line in plan.lines)
    labour_discount = (labour * off).quantize(CENT)
    return replace(
        plan,
        lines=lines,
        parts=sum((line.amount for line in lines), Decimal(0)),
        parts_cost=sum((line.cost for line in lines), Decimal(0)),
        labour=labour,
        labour_discount=labour_discount,
        discount=sum((line.discount for line in lines), labour_discount),
        labour_cost=cents(plan.minutes / 60 * Fraction(plan.labour_cost_per_h)),
    )


def changed(chance: random.Random, plan: Plan) -> Plan:
    """The plan after change orders: lines dropped, added, more or fewer, other prices, more minutes, at times rates."""
    lines = [line for line in plan.lines if line.accessory and chance.random() < 0.85]
    lines = [changed_line(chance, line) if chance.random() < 0.4 else line for line in lines]
    lines += [a_line(chance, 50 + n) for n in range(chance.randint(0, 2))]
    rates = plan.labour_rate_per_h, plan.labour_cost_per_h
    if chance.random() < 0.2:
        rates = rates[0] + 5, rates[1] + amount(chance, 4)
    return a_plan(chance, lines, *rates)


def changed_line(chance: random.Random, line: PlannedLine) -> PlannedLine:
    quantity = max(1, line.quantity + chance.randint(-2, 3))
    price = line.unit_price + (amount(chance, 9) if line.unit_price and chance.random() < 0.5 else 0)
    cost = line.unit_cost + (amount(chance, 6) if line.unit_cost and chance.random() < 0.3 else 0)
    return replace(
        line, quantity=quantity, unit_price=price, amount=price * quantity, unit_cost=cost, cost=cost * quantity
    )


def what_was_done(chance: random.Random, plan: Plan) -> Iterator[Worked]:
    for line in plan.lines:
        for phase, minutes in line.phases.items():
            for _ in range(chance.choice((0, 1, 1, 1, 2))):
                worked = Fraction(round(2 * minutes * Fraction(chance.randint(40, 240), 100)), 2)
                yield a_work(chance, line.key, line.accessory, phase, worked, plan.labour_cost_per_h, False)
    for _ in range(chance.choice((0, 0, 0, 1, 2))):
        yield a_work(chance, "L1", "lamp", "test", Fraction(chance.randint(1, 90)), plan.labour_cost_per_h, True)


def a_work(chance, line, accessory, phase, minutes, cost_per_h, come_back) -> Worked:
    rate = cost_per_h + chance.choice((0, 0, 0, Decimal("1.35"), Decimal("-0.70")))
    return Worked(line, accessory, phase, minutes, chance.choice(("1", "1", "2")), rate, come_back)


def what_was_used(chance: random.Random, plan: Plan) -> Iterator[Used]:
    for line in plan.lines:
        if line.accessory and chance.random() < 0.4:
            for _ in range(chance.randint(1, 2)):
                cost = max(Decimal(0), line.unit_cost + amount(chance, 8) - 4)
                yield Used(line.key, line.accessory, Fraction(chance.randint(0, 5)), cost)
    if chance.random() < 0.1:
        yield Used("L99", "gland", Fraction(chance.randint(1, 3), 2), amount(chance, 20))
    if chance.random() < 0.15:
        yield Used("", "", Fraction(1), amount(chance, 40), come_back=True)


def a_history(seed: int) -> Facts:
    chance = random.Random(seed)
    lines = [a_line(chance, n) for n in range(1, chance.randint(2, 7))]
    quoted = a_plan(chance, lines, Decimal(chance.randint(60, 120)), Decimal("38.00") + amount(chance, 9))
    agreed = changed(chance, quoted) if chance.random() < 0.4 else quoted
    worked, used = tuple(what_was_done(chance, agreed)), tuple(what_was_used(chance, agreed))
    came_back = any(one.come_back for one in (*worked, *used))
    return Facts(quoted, agreed, worked, used, came_back)
