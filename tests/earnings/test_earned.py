"""What a ticket earned equals an independent recomputation from its entries, and its shares add up to it."""

import sqlite3
from decimal import Decimal
from fractions import Fraction

import pytest

from builds.earnings.earned import ACCESSORY, BUNDLE, CATEGORY, PHASE, TECH, WHOLE, earned
from builds.earnings.figures import MINUTE_NAMES, MONEY_NAMES, NAMES, WHY, Figures, total_of
from builds.earnings.recovery import recoveries
from tests.earnings.histories import a_history

HISTORIES = 300


@pytest.fixture(scope="module")
def histories():
    return [(facts, earned(facts)) for facts in map(a_history, range(HISTORIES))]


@pytest.fixture(scope="module")
def ledger(histories):
    """Every entry as a row of a plain table, in whole cents and in 42,000ths of a minute: SQL adds them up."""
    base = sqlite3.connect(":memory:")
    base.execute("create table sold (ticket, kind, cents)")
    base.execute("create table spent (ticket, kind, line, cents)")
    base.execute("create table worked (ticket, back, ticks, cents_per_h)")
    for n, (facts, _) in enumerate(histories):
        a = facts.agreed
        sold = [("parts", line.unit_price * line.quantity) for line in a.lines]
        sold += [("work", a.labour), ("small", a.consumables), ("fee", a.fees)]
        sold += [("off", -line.discount) for line in a.lines] + [("off", -a.labour_discount)]
        base.executemany("insert into sold values (?, ?, ?)", [(n, kind, int(m * 100)) for kind, m in sold])
        replaced = {u.line for u in facts.used if not u.come_back}
        spent = [("small", "", a.consumables_cost)]
        spent += [("planned", x.key, x.unit_cost * x.quantity) for x in a.lines if x.key not in replaced]
        base.executemany("insert into spent values (?, ?, ?, ?)", [(n, k, x, int(m * 100)) for k, x, m in spent])
        used = [
            (n, "back" if u.come_back else "used", u.line, float(u.quantity * Fraction(u.unit_cost) * 100))
            for u in facts.used
        ]
        base.executemany("insert into spent values (?, ?, ?, ?)", used)
        worked = [(n, w.come_back, int(w.minutes * 42000), int(w.cost_per_h * 100)) for w in facts.worked]
        base.executemany("insert into worked values (?, ?, ?, ?)", worked)
    return base


def whole_cents(number):
    return int(number + 0.5)


def test_revenue_cost_profit_and_margin_are_those_of_the_entries(histories, ledger):
    for n, (_, found) in enumerate(histories):
        figures = found.figures
        [[revenue]] = ledger.execute("select sum(cents) from sold where ticket = ?", (n,))
        by_line = ledger.execute("select sum(cents) from spent where ticket = ? group by kind, line", (n,))
        spent = sum(whole_cents(cents) for (cents,) in by_line)
        by_back = ledger.execute(
            "select sum(ticks * cents_per_h) from worked where ticket = ? group by back", (n,)
        ).fetchall()
        worked = sum(int(Fraction(ticks, 42000 * 60) + Fraction(1, 2)) for (ticks,) in by_back)
        assert figures.revenue == Decimal(revenue) / 100, n
        assert figures.cost == Decimal(spent + worked) / 100, n
        assert figures.profit == Decimal(revenue - spent - worked) / 100, n
        assert figures.margin == (Decimal(revenue - spent - worked) / revenue if revenue else None), n


def test_minutes_are_those_of_the_entries_to_the_hundredth(histories):
    for facts, found in histories:
        for back, name in ((False, "worked_min"), (True, "come_back_min")):
            minutes = sum((w.minutes for w in facts.worked if w.come_back == back), Fraction(0))
            assert getattr(found.figures, name) == Decimal(int(minutes * 100 + Fraction(1, 2))) / 100


def test_the_way_leads_from_the_planned_profit_to_the_one_that_came(histories):
    for _, found in histories:
        figures = found.figures
        assert figures.planned + sum(getattr(figures, f"why_{kind}") for kind in WHY) == figures.profit


@pytest.mark.parametrize("by", [ACCESSORY, CATEGORY, BUNDLE, TECH])
def test_the_shares_add_up_to_the_ticket(by, histories):
    for _, found in histories:
        shares = [share.figures for share in found.shares if share.by == by]
        whole = total_of(shares)
        for name in (*MONEY_NAMES, *MINUTE_NAMES):
            if name != "planned" and not name.startswith("why_"):
                assert getattr(whole, name) == getattr(found.figures, name), name
        assert len({share.key for share in found.shares if share.by == by}) == len(shares)


def test_the_phases_add_up_to_the_tickets_minutes(histories):
    for _, found in histories:
        whole = total_of(share.figures for share in found.shares if share.by == PHASE)
        for name in ("why_minutes", "estimated_min", "worked_min"):
            assert getattr(whole, name) == getattr(found.figures, name), name


def test_parts_go_to_their_type_and_operations_to_the_boat_as_a_whole(histories):
    for facts, found in histories:
        for share in found.shares:
            if share.by == ACCESSORY and share.key != WHOLE:
                parts = sum(x.amount for x in facts.agreed.lines if x.accessory == share.key)
                assert (share.figures.parts, share.figures.operations, share.figures.fees) == (parts, 0, 0)


def test_the_three_ways_to_speak_of_labour_recovery():
    """600 min quoted at 90.00 an hour = 900.00, 5 % off; 640 worked and 20 on a come-back at 36.00 an hour."""
    some = Figures(
        labour=Decimal("600.00"),
        operations=Decimal("300.00"),
        labour_discount=Decimal("45.00"),
        discount=Decimal("45.00"),
        labour_cost=Decimal("384.00"),
        come_back_labour_cost=Decimal("12.00"),
        quoted_min=Decimal(600),
        worked_min=Decimal(640),
        come_back_min=Decimal(20),
    )
    found = {one.key: one.value for one in recoveries(some)}
    assert round(found["hours"], 4) == Decimal("0.9091")  # 600 / 660
    assert round(found["cost"], 4) == Decimal("2.1591")  # 855 / 396
    assert round(found["rate"], 2) == Decimal("77.73")  # 855 / 11 h
    assert found["posted"] == Decimal("90.00")


def test_nothing_worked_and_nothing_sold_has_no_recovery_and_no_margin():
    assert [one.value for one in recoveries(Figures())] == [None] * 4
    assert Figures().margin is None
    assert {getattr(Figures(), name) for name in NAMES} == {0}
