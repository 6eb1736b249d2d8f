"""The office's bar: what a shop learns from 500 tickets makes its next 100 estimates right (`-s` prints the table).

The estimates are the real estimator's labour, with the catalogue's minutes and with what was learned. The shops are
those of `simulated_shops`. "Best" is the error of who knew every true minute and neither the person nor the day.
"""

from dataclasses import asdict, replace
from functools import cache

import pytest

from builds.estimator.accessory import UnitMinutes
from builds.estimator.fitted import fit_lines
from builds.estimator.labour import labour_of, phase_factors
from builds.estimator.runs import route_loads
from builds.learning.calibration import held
from builds.learning.learn import learn
from builds.learning.minutes import Minutes
from builds.learning.timed import Timed
from tests.learning.simulated_shops import BOOK_IS_RIGHT, SHOPS, Year

SEEDS = (1, 2, 3, 4, 5)
TICKETS, NEXT = 500, 100


def estimated(sheet):
    fitted = fit_lines(sheet)
    return fitted, labour_of(sheet, fitted, route_loads(sheet, fitted))


def timed_work(job):
    """The phases of a ticket's estimate beside what its timers brought home."""
    fitted, labour = estimated(job.sheet)
    of_line = {one.id: one for one in fitted}
    for line in labour.lines:
        one = of_line.get(line.line)
        kind = one.kind.id if one else line.line
        for phase, planned in line.by_phase.items():
            yield Timed(
                ticket=job.number,
                kind=kind,
                phase=phase,
                planned_min=planned,
                worked_min=job.recorded.get((line.line, kind, phase), 0.0),
                units=one.quantity if one else 1,
                factors=phase_factors(phase, one, job.sheet.hull) if one else (),
                tech=job.tech,
            )


def book_of(catalogue):
    rows = {**catalogue.accessories, **catalogue.operations}
    return {code: Minutes(row.labour.low_min, row.labour.likely_min, row.labour.high_min) for code, row in rows.items()}


def taken(sheet, learned):
    """The sheet as it is estimated once the owner took every proposal."""
    new = {one.kind: asdict(one.after) for one in learned.proposals}
    kinds = {
        code: replace(kind, labour=UnitMinutes(**new[code], repeat_ratio=kind.labour.repeat_ratio))
        for code, kind in sheet.accessories.items()
        if code in new
    }
    operations = {
        code: replace(one, labour=type(one.labour)(**new[code]))
        for code, one in sheet.shop_operations.items()
        if code in new
    }
    factors = replace(sheet.shop.factors, **{one.factor: one.after for one in learned.factors if one.is_carried})
    return replace(
        sheet,
        accessories={**sheet.accessories, **kinds},
        shop_operations={**sheet.shop_operations, **operations},
        shop=replace(sheet.shop, factors=factors, labour_correlation=learned.correlation),
    )


def mean_error(pairs):
    return sum(abs(estimate - worked) for estimate, worked in pairs) / len(pairs)


@cache
def run(shop, seed):
    """One year of a shop and its next 100 tickets: errors [min] and how often 8-in-10 held, before and after."""
    year = Year(shop, seed)
    past = year.tickets(TICKETS)
    learned = learn(
        [row for job in past for row in timed_work(job)], book_of(year.book), asdict(past[0].sheet.shop.factors)
    )
    coming = year.tickets(NEXT, start=TICKETS)
    before = [estimated(job.sheet)[1] for job in coming]
    after = [estimated(taken(job.sheet, learned))[1] for job in coming]
    worked = [job.true_min for job in coming]
    return {
        "before": mean_error(list(zip([one.mean_min for one in before], worked, strict=True))),
        "after": mean_error(list(zip([one.mean_min for one in after], worked, strict=True))),
        "best": mean_error([(job.expected_min, job.true_min) for job in coming]),
        "true before": mean_error([(one.mean_min, job.expected_min) for one, job in zip(before, coming, strict=True)]),
        "true after": mean_error([(one.mean_min, job.expected_min) for one, job in zip(after, coming, strict=True)]),
        "held before": held(zip([one.p80_min for one in before], worked, strict=True), 0.8),
        "held after": held(zip([one.p80_min for one in after], worked, strict=True), 0.8),
        "left out": len(learned.left_out),
        "learned": learned,
    }


def table(shop, runs):
    print(f"\n{shop.name}: mean absolute error of the next {NEXT} estimates, min")
    print("     to the true minutes     | to the minutes worked            | 8 in 10 held, of 100 |")
    print("seed  before   after   ratio |  before   after    best of all | before     after    | left out, of entries")
    for seed, one in runs.items():
        print(
            f"{seed:4} {one['true before']:7.1f} {one['true after']:7.1f} {one['true after'] / one['true before']:7.2f}"
            f" | {one['before']:7.1f} {one['after']:7.1f} {one['best']:14.1f}"
            f" | {one['held before'].k:6} {one['held after'].k:9}    | {one['left out']:6}"
        )
    print(f"8 in 10 held, all seeds: {sum(one['held after'].k for one in runs.values())} of {NEXT * len(runs)}")


def check_promises(runs):
    """Of all the tickets 75 to 85 % held; of each hundred 68 to 92: three standard errors of 4."""
    held_of_all = sum(one["held after"].k for one in runs.values()) / (NEXT * len(runs))
    assert 0.75 <= held_of_all <= 0.85
    assert all(68 <= one["held after"].k <= 92 for one in runs.values())


@pytest.mark.parametrize("shop", SHOPS, ids=lambda shop: shop.name)
def test_learning_halves_the_error_of_the_next_estimates(shop):
    """To the true minutes at least by half, in every year; to the minutes worked, by three quarters of what can be.

    What is left of the error to the minutes worked is the person, the day and luck, which no estimate knows: in two
    of the three shops that alone is more than half of the error before.
    """
    runs = {seed: run(shop, seed) for seed in SEEDS}
    table(shop, runs)
    for one in runs.values():
        assert one["true after"] <= 0.5 * one["true before"]
        assert one["after"] - one["best"] <= 0.25 * (one["before"] - one["best"])
    check_promises(runs)


def test_the_shop_whose_every_job_takes_longer_halves_its_error_to_the_minutes_worked_too():
    one = run(SHOPS[0], SEEDS[0])
    assert one["after"] <= 0.5 * one["before"]


def test_where_the_book_is_right_nothing_is_made_worse_that_matters():
    runs = {seed: run(BOOK_IS_RIGHT, seed) for seed in SEEDS}
    table(BOOK_IS_RIGHT, runs)
    assert sum(one["after"] for one in runs.values()) <= 1.02 * sum(one["before"] for one in runs.values())
    check_promises(runs)


def test_the_hull_factors_of_the_shop_are_found():
    """The true factors are 1.8 for an old hull, 1.9 without reach; the book says 1.2 and 1.45."""
    found = {one.factor: one for one in run(SHOPS[2], SEEDS[0])["learned"].factors}
    for name, true in SHOPS[2].hulls.items():
        one = found[name]
        assert one.is_carried
        assert abs(one.after - true) < max(0.12, 0.5 * abs(one.before - true))


def test_the_people_of_the_shop_are_told_apart():
    """Their ratios are those of the simulation to each other, within 4 %."""
    learned = run(SHOPS[2], SEEDS[0])["learned"]
    people = SHOPS[2].people
    for one in learned.persons:
        first = learned.persons[0]
        assert one.ratio / first.ratio == pytest.approx(people[one.name] / people[first.name], rel=0.04)


def test_forgotten_timers_of_an_hour_and_more_are_mostly_found():
    """Of the timers left running for an hour or more beyond the line's minutes 9 in 10 are left out."""
    year = Year(SHOPS[0], SEEDS[0])
    past = year.tickets(TICKETS)
    learned = learn([row for job in past for row in timed_work(job)], book_of(year.book), {})
    out = {(one.datum.ticket, one.datum.kind) for one in learned.left_out}
    forgotten = {(job.number, kind) for job in past for (_, kind), extra in job.left_running.items() if extra >= 60}
    assert len(forgotten & out) >= 0.9 * len(forgotten) > 50
