"""The calendar held to an exact solver: HiGHS (Huangfu and Hall 2018) through scipy's milp.

A run on a change looks at two of five weeks; `HULLBENCH_LONG=1` at all of them.
"""

import datetime
import os
from dataclasses import replace

from builds.planner.calendar import plan
from builds.planner.workload import DAY
from tests.planner.exact import BEGIN, can_end, hours_to, random_week

EVERY_DAY = (1, 2, 3, 4, 5, 6, 7)
LONG = bool(os.environ.get("HULLBENCH_LONG"))
WEEKS, HASTY_WEEKS = (200, 100) if LONG else (80, 40)


def least_end(techs, tickets, ours):
    """The least hour at which all of a week's tickets can be done; ours is one at which they can."""
    too_early, enough = 0, ours
    if not can_end(techs, tickets, [ours - 1] * len(tickets)):
        return ours
    while enough - too_early > 1:
        middle = (too_early + enough) // 2
        if can_end(techs, tickets, [middle] * len(tickets)):
            enough = middle
        else:
            too_early = middle
    return enough


def test_the_last_ticket_of_each_week_is_done_within_5_percent_of_the_least_time(capsys):
    """The makespan: hours by the clock from Monday's midnight until the last ticket's work and cure are over."""
    above = []
    for seed in range(WEEKS):
        techs, tickets = random_week(seed)
        ours = hours_to(plan(techs, tickets, BEGIN, EVERY_DAY).finish)
        assert can_end(techs, tickets, [ours] * len(tickets)), f"the solver's rules and ours differ in week {seed}"
        above.append(ours / least_end(techs, tickets, ours) - 1)
    least = sum(share == 0 for share in above)
    with capsys.disabled():
        print(f"\n{WEEKS} weeks: {least} in the least time, the worst {max(above):.1%} above it")
    assert max(above) <= 0.05
    assert least >= 0.95 * WEEKS


def late_days(made):
    return sum(max(0, (one.ready_on - one.ticket.float_by).days) for one in made.placed)


def test_a_week_in_which_every_boat_can_float_on_its_day_is_planned_so(capsys):
    """One boat has to float a day before an easy plan has it, others up to two days later: can all of it be met?

    Where ours misses a day, the solver finds no plan that meets them all.
    """
    met = missed = 0
    for seed in range(1000, 1000 + HASTY_WEEKS):
        techs, tickets = random_week(seed)
        easy = plan(techs, tickets, BEGIN, EVERY_DAY, placings=0)
        hasty = seed % len(tickets)
        moved = [-1 if n == hasty else n % 3 for n in range(len(tickets))]
        days = {one.ticket.key: one.finish.date() + moved[n] * DAY for n, one in enumerate(easy.placed)}
        tickets = [replace(ticket, float_by=days[ticket.key]) for ticket in tickets]
        limits = [hours_to(datetime.datetime.combine(t.float_by + DAY, datetime.time.min)) - 1 for t in tickets]
        if late_days(plan(techs, tickets, BEGIN, EVERY_DAY)) == 0:
            met += 1
        elif can_end(techs, tickets, limits):
            missed += 1
    with capsys.disabled():
        print(f"\n{HASTY_WEEKS} hasty weeks: {met} in time, {missed} missed of those that can be")
    assert 0.1 * HASTY_WEEKS <= met <= 0.8 * HASTY_WEEKS
    assert missed == 0
