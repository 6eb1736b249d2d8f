"""Why a job missed: the parts of the way add up to the cent, and each is what the textbook's substitution gives."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from builds.earnings.facts import Facts, Plan, PlannedLine, Used, Worked
from builds.earnings.figures import CHANGE, COME_BACK, DISCOUNT, MINUTES, PARTS_COST, PRICE, QUANTITY, RATE
from builds.earnings.missed import apportion, effects, way_of
from tests.earnings.histories import a_history, totalled

HISTORIES = 10_000
SOME = 500


def test_the_parts_add_up_to_the_cent_on_ten_thousand_histories():
    for seed in range(HISTORIES):
        way = way_of(a_history(seed))
        assert way.planned + sum(part.amount for part in way.parts) == way.actual, seed


def test_nothing_is_hidden_in_the_rounding_and_every_kind_of_part_occurs():
    """Every part lies within a cent of what it is unrounded."""
    kinds = set()
    for seed in range(SOME):
        facts = a_history(seed)
        unrounded = {(kind, phase): amount for kind, phase, amount in effects(facts)}
        for part in way_of(facts).parts:
            assert abs(Fraction(part.amount) - unrounded[part.kind, part.phase]) <= Fraction(1, 100), (seed, part)
            kinds |= {part.kind} if part.amount else set()
    assert kinds == {PRICE, DISCOUNT, CHANGE, PARTS_COST, QUANTITY, MINUTES, RATE, COME_BACK}


def profit_of(lines, fees, consumables, quoted, rate, minutes, cost_rate, discount=0) -> Fraction:
    """Gross profit before anything is rounded, from quantities, prices, costs, minutes and rates alone."""
    parts = sum((q * (Fraction(p) - Fraction(c)) for q, p, c in lines.values()), Fraction(0))
    return (
        parts
        + Fraction(fees)
        + consumables
        + quoted / 60 * Fraction(rate)
        - minutes / 60 * Fraction(cost_rate)
        - Fraction(discount)
    )


def lines_of(plan):
    return {(x.key, x.accessory): (x.quantity, x.unit_price, x.unit_cost) for x in plan.lines}


def chain(facts):
    """The way by substitution: one thing after the other is put from what was quoted to what was agreed.

    First what change orders add and take at the quoted prices, then prices, then costs. Chain substitution of cost
    accounting; common practice, no source.
    """
    q, a = facts.quoted, facts.agreed
    before, after = lines_of(q), lines_of(a)
    extra = Fraction(a.consumables - a.consumables_cost), Fraction(q.consumables - q.consumables_cost)
    at_old = {key: (n, *(before.get(key) or (n, p, c))[1:]) for key, (n, p, c) in after.items()}
    at_old_cost = {key: (n, p, (before.get(key) or (n, p, c))[2]) for key, (n, p, c) in after.items()}
    quoted = (q.labour_rate_per_h, q.minutes, q.labour_cost_per_h)
    p0 = profit_of(before, q.fees, extra[1], q.quoted_min, *quoted)
    p1 = profit_of(at_old, q.fees, extra[0], a.quoted_min, q.labour_rate_per_h, a.minutes, q.labour_cost_per_h)
    p2 = profit_of(at_old_cost, a.fees, extra[0], a.quoted_min, a.labour_rate_per_h, a.minutes, q.labour_cost_per_h)
    p3 = profit_of(after, a.fees, extra[0], a.quoted_min, a.labour_rate_per_h, a.minutes, q.labour_cost_per_h)
    p4 = profit_of(after, a.fees, extra[0], a.quoted_min, a.labour_rate_per_h, a.minutes, a.labour_cost_per_h)
    return {CHANGE: p1 - p0, PRICE: p2 - p1, PARTS_COST: p3 - p2, RATE: p4 - p3}


@pytest.mark.parametrize("from_seed", (0, 500))
def test_what_change_orders_did_is_what_substituting_one_thing_after_the_other_gives(from_seed):
    for seed in range(from_seed, from_seed + 500):
        facts = a_history(seed)
        facts = replace(facts, worked=(), used=())
        found = {kind: amount for kind, phase, amount in effects(facts) if not phase}
        for kind, amount in chain(facts).items():
            # Labour is rounded to the cent on the quote and on the change order.
            assert abs(found[kind] - amount) <= Fraction(2, 100), (seed, kind)


@pytest.mark.parametrize("from_seed", (0, 500))
def test_what_the_bench_did_is_what_each_entry_cost_beside_the_estimate(from_seed):
    """Minutes at the estimated cost of an hour, then the cost of an hour: together what the work cost beyond."""
    for seed in range(from_seed, from_seed + 500):
        facts = a_history(seed)
        facts = replace(facts, quoted=facts.agreed)
        way = way_of(facts)
        paid = sum((w.minutes * Fraction(w.cost_per_h) / 60 for w in facts.worked if not w.come_back), Fraction(0))
        over = paid - facts.agreed.minutes / 60 * Fraction(facts.agreed.labour_cost_per_h)
        cents = len(way.parts) * Fraction(1, 100)
        assert abs(Fraction(way.of(MINUTES) + way.of(RATE)) + over) <= cents, seed
        bought = sum((u.quantity * Fraction(u.unit_cost) for u in facts.used if not u.come_back), Fraction(0))
        replaced = {u.line for u in facts.used if not u.come_back}
        listed = sum((Fraction(line.cost) for line in facts.agreed.lines if line.key in replaced), Fraction(0))
        assert abs(Fraction(way.of(PARTS_COST) + way.of(QUANTITY)) + bought - listed) <= cents, seed


# By hand.

LAMP = PlannedLine(
    "L1",
    "lamp",
    quantity=2,
    unit_price=Decimal("30.00"),
    amount=Decimal("60.00"),
    unit_cost=Decimal("18.00"),
    cost=Decimal("36.00"),
    phases={"drill": Fraction(20), "route": Fraction(40)},
)
NOTHING = Decimal("0.00")


def plan(*lines, quoted_min=60, discount_percent=0, **given):
    usual = {
        "consumables": Decimal("8.00"),
        "fees": NOTHING,
        "discount": NOTHING,
        "labour_discount": NOTHING,
        "consumables_cost": Decimal("5.00"),
        "parts": NOTHING,
        "labour": NOTHING,
        "parts_cost": NOTHING,
        "labour_cost": NOTHING,
        "labour_rate_per_h": Decimal("90.00"),
        "labour_cost_per_h": Decimal("36.00"),
    }
    return totalled(Plan(lines=lines, quoted_min=Fraction(quoted_min), **(usual | given)), discount_percent)


def worked(phase, minutes, **given):
    usual = {"line": "L1", "accessory": "lamp", "tech": "1", "cost_per_h": Decimal("36.00")}
    return Worked(phase=phase, minutes=Fraction(minutes), **(usual | given))


def parts_of(facts):
    way = way_of(facts)
    return way.planned, {(part.kind, part.phase): part.amount for part in way.parts if part.amount}, way.actual


def test_a_job_that_went_as_estimated_has_no_part():
    """60.00 lamps + 90.00 work + 8.00 small stuff - 36.00 - 36.00 - 5.00 = 81.00."""
    facts = Facts(plan(LAMP), plan(LAMP), (worked("drill", 20), worked("route", 40)))
    assert parts_of(facts) == (Decimal("81.00"), {}, Decimal("81.00"))


def test_minutes_over_cost_what_an_hour_was_estimated_at_and_a_dearer_hour_is_told_apart():
    """50 min of route instead of 40: 10 / 60 x 36.00 = 6.00; 20 of drill at 39.00: 20 / 60 x 3.00 = 1.00."""
    facts = Facts(plan(LAMP), plan(LAMP), (worked("drill", 20, cost_per_h=Decimal("39.00")), worked("route", 50)))
    found = {(MINUTES, "route"): Decimal("-6.00"), (RATE, ""): Decimal("-1.00")}
    assert parts_of(facts) == (Decimal("81.00"), found, Decimal("74.00"))


def test_a_part_that_was_dearer_and_one_that_was_spoiled():
    """Three lamps at 19.50 instead of two at 18.00: 3 x 1.50 = 4.50 dearer, 1 x 18.00 more used."""
    as_estimated = (worked("drill", 20), worked("route", 40))
    facts = Facts(plan(LAMP), plan(LAMP), as_estimated, (Used("L1", "lamp", Fraction(3), Decimal("19.50")),))
    found = {(PARTS_COST, ""): Decimal("-4.50"), (QUANTITY, ""): Decimal("-18.00")}
    assert parts_of(facts) == (Decimal("81.00"), found, Decimal("58.50"))


def test_a_discount_and_a_change_order_and_a_come_back():
    """10 % off 60.00 + 90.00 = 15.00. A third lamp: 30.00 - 18.00 = 12.00, and 15 min quoted of which 10 estimated:
    22.50 - 6.00 = 16.50. 25 min on a leak: 25 / 60 x 36.00 = 15.00, and 4.00 of parts.
    """
    three = replace(LAMP, quantity=3, amount=Decimal("90.00"), cost=Decimal("54.00"))
    three = replace(three, phases={"drill": Fraction(30), "route": Fraction(40)})
    agreed = plan(three, quoted_min=75, discount_percent=10)
    facts = Facts(
        plan(LAMP),
        agreed,
        (worked("drill", 30), worked("route", 40), worked("test", 25, come_back=True)),
        (Used("", "", Fraction(1), Decimal("4.00"), come_back=True),),
    )
    planned, found, actual = parts_of(facts)
    # 90.00 + 112.50, 10 % of each: 9.00 and 11.25
    assert found == {
        (DISCOUNT, ""): Decimal("-20.25"),
        (CHANGE, ""): Decimal("28.50"),
        (COME_BACK, ""): Decimal("-19.00"),
    }
    assert (planned, actual) == (Decimal("81.00"), Decimal("70.25"))


def test_a_price_agreed_later_and_a_fee_are_price():
    dearer = replace(LAMP, unit_price=Decimal("33.00"), amount=Decimal("66.00"))
    facts = Facts(plan(LAMP), plan(dearer, fees=Decimal("12.00")), (worked("drill", 20), worked("route", 40)))
    assert parts_of(facts) == (Decimal("81.00"), {(PRICE, ""): Decimal("18.00")}, Decimal("99.00"))


def test_a_line_that_became_another_type_is_one_gone_and_one_new():
    """24.00 of lamps go (60.00 - 36.00), 20.00 come (50.00 - 30.00)."""
    other = replace(LAMP, accessory="beacon", unit_price=Decimal("25.00"), amount=Decimal("50.00"))
    other = replace(other, unit_cost=Decimal("15.00"), cost=Decimal("30.00"))
    facts = Facts(plan(LAMP), plan(other), (worked("drill", 20), worked("route", 40)))
    assert parts_of(facts) == (Decimal("81.00"), {(CHANGE, ""): Decimal("-4.00")}, Decimal("77.00"))


def test_cents_left_over_go_to_the_largest_remainders_and_never_to_what_is_whole():
    thirds = [Fraction(100, 3)] * 3
    assert apportion(thirds, 100) == [34, 33, 33]
    assert apportion([Fraction(-1200), Fraction(-59, 10)], -1206) == [-1200, -6]
    assert apportion([Fraction(-1200), Fraction(32, 10)], -1198) == [-1200, 2]
    assert apportion([Fraction(0), Fraction(5), Fraction(0)], 6) == [0, 6, 0]
    assert apportion([Fraction(0), Fraction(0)], 1) == [1, 0]
