"""The bench's calendar by the rules of the trade; numbers by hand from Monday 23 November 2026, 9:00."""

import datetime
from dataclasses import replace
from itertools import pairwise

import pytest

from builds.planner.calendar import plan
from builds.planner.reasons import late_in
from builds.planner.what_if import Circle, what_if
from builds.planner.workload import BenchTicket, Held, Stretch, Tech, stretches_of
from tests.planner.exact import random_week

MONDAY = datetime.date(2026, 11, 23)
BEGIN = datetime.datetime.combine(MONDAY, datetime.time(9))
SIX_HOURS = (360,) * 5 + (0, 0)


def day(n):
    return MONDAY + datetime.timedelta(days=n)


def at(n, hour, minute=0):
    return datetime.datetime.combine(day(n), datetime.time(hour, minute))


def tech(key="tam", **changes):
    return Tech(key, key.title(), **({"week_min": SIX_HOURS} | changes))


def ticket(key, minutes=60, cure_h=0, wet=0, **changes):
    stretches = (Stretch(minutes, cure_h * 60), *((Stretch(wet, wet=True),) if wet else ()))
    return BenchTicket(key, int(key[1:]), stretches, **changes)


def spans(placed):
    return [(block.start, block.end) for block in placed.blocks]


def test_a_cure_does_not_keep_the_tech_from_another_boat():
    made = plan([tech()], [ticket("T1", 120, cure_h=24, wet=30), ticket("T2", 60)], BEGIN)
    assert spans(made["T1"])[0] == (at(0, 9), at(0, 11))
    assert spans(made["T2"]) == [(at(0, 11), at(0, 12))]


def test_the_leak_test_waits_for_the_cure_which_runs_at_night():
    made = plan([tech()], [ticket("T1", 120, cure_h=24, wet=30)], BEGIN)
    assert made["T1"].cures == ((at(0, 11), at(1, 11)),)
    assert spans(made["T1"])[1] == (at(1, 11), at(1, 11, 30))
    assert made["T1"].finish == at(1, 11, 30)


def test_nobody_works_on_a_day_off_nor_beyond_the_hours_of_a_day():
    made = plan([tech(days_off=frozenset({day(1)}))], [ticket("T1", 500)], BEGIN)
    assert spans(made["T1"]) == [(at(0, 9), at(0, 15)), (at(2, 9), at(2, 11, 20))]


def test_no_work_before_the_parts_are_here():
    made = plan([tech()], [ticket("T1", parts_on=day(3)), ticket("T2", 600)], BEGIN)
    assert made["T1"].start >= at(3, 9)
    assert made["T2"].start == at(0, 9)


def test_two_techs_share_the_tickets_but_never_one_ticket():
    made = plan([tech("tam"), tech("uma")], [ticket("T1", 300), ticket("T2", 300)], BEGIN)
    assert {made["T1"].tech, made["T2"].tech} == {"tam", "uma"}
    assert made.finish == at(0, 14)
    for one in made.placed:
        assert {block.tech for block in one.blocks} == {one.tech}


def test_the_boat_that_must_float_first_goes_first_whatever_was_agreed_first():
    made = plan([tech()], [ticket("T1", 360), ticket("T2", 360, float_by=day(0))], BEGIN)
    assert made["T2"].ready_on == day(0)


def test_a_boat_that_is_done_on_saturday_is_handed_over_on_monday():
    made = plan([tech()], [ticket("T1", 60, cure_h=24 * 5)], BEGIN)
    assert made["T1"].finish == at(5, 10)
    assert made["T1"].ready_on == day(7)


def test_the_same_week_gives_the_same_plan_in_whatever_order_it_is_told():
    techs, tickets = random_week(7)
    again = plan(list(reversed(techs)), list(reversed(tickets)), BEGIN)
    assert plan(techs, tickets, BEGIN) == again == plan(techs, tickets, BEGIN)


def test_no_tech_is_in_two_places_in_a_hundred_random_weeks():
    for seed in range(100):
        techs, tickets = random_week(seed)
        made = plan(techs, tickets, BEGIN, placings=2000)
        for tech_ in techs:
            own = [block for block in made.blocks if block.tech == tech_.key]
            assert all(one.end <= following.start for one, following in pairwise(own))
            for block in own:
                assert block.minutes <= tech_.minutes_on(block.day)
        for one in made.placed:
            assert sum(block.minutes for block in one.blocks) == one.ticket.minutes


def test_work_that_no_hours_of_a_tech_ever_hold_is_told_as_such():
    made = plan([tech(week_min=(0,) * 7)], [ticket("T1")], BEGIN)
    assert [one.key for one in made.unplaced] == ["T1"]


def test_what_if_tells_the_dates_before_and_after_and_changes_nothing():
    techs, tickets = [tech()], [ticket("T1", 360), ticket("T2", 360, promised_on=day(1))]
    before = plan(techs, tickets, BEGIN)
    found = what_if(techs, tickets, BEGIN, "T2", Held(day=day(2)))
    assert found.before == before == plan(techs, tickets, BEGIN)
    assert (found.own.ready_before, found.own.ready_after) == (before["T2"].ready_on, day(2))
    assert found.own.becomes_late
    assert found.others == ()


def test_while_the_order_of_acceptance_keeps_every_promised_day_nobodys_week_changes():
    """The second would be done early with the first behind it, and the sum of both be less; both days hold as it is."""
    told = [ticket("T1", 600, promised_on=day(1)), ticket("T2", 60, promised_on=day(2))]
    made = plan([tech()], told, BEGIN)
    assert spans(made["T1"])[0][0] == at(0, 9)
    assert plan([tech()], [*told, ticket("T3", 30, promised_on=day(3))], BEGIN)["T1"] == made["T1"]


def test_no_ticket_is_made_late_for_one_that_is_late_already():
    told = [ticket("T1", 360, promised_on=day(0)), ticket("T2", 360, promised_on=day(0), float_by=day(0))]
    made = plan([tech()], told, BEGIN)
    assert (made["T1"].ready_on, made["T2"].ready_on) == (day(0), day(1))
    easy = plan([tech()], [replace(told[0], promised_on=day(1)), told[1]], BEGIN)
    assert (easy["T1"].ready_on, easy["T2"].ready_on) == (day(1), day(0))


def test_nobody_begins_on_the_day_of_the_yes_unless_a_person_holds_it_there():
    late = ticket("T1", agreed_on=day(0))
    assert plan([tech()], [late], BEGIN)["T1"].start == at(1, 9)
    assert plan([tech()], [replace(late, held=Held(day=day(0)))], BEGIN)["T1"].start == at(0, 9)


def test_a_ticket_that_was_moved_keeps_its_place_when_others_come():
    techs = [tech("tam"), tech("uma")]
    held = ticket("T9", 120, held=Held(tech="uma", day=day(2)))
    for others in ([], [ticket(f"T{n}", 300, float_by=day(2)) for n in range(1, 6)]):
        made = plan(techs, [held, *others], BEGIN)
        assert (made["T9"].tech, made["T9"].start) == ("uma", at(2, 9))


def test_a_ticket_held_behind_another_begins_after_it():
    made = plan([tech()], [ticket("T1", 60, held=Held(after="T2")), ticket("T2", 60)], BEGIN)
    assert made["T1"].start >= made["T2"].start


def test_tickets_that_would_wait_for_each_other_are_refused():
    tickets = [ticket("T1", held=Held(after="T2")), ticket("T2")]
    with pytest.raises(Circle, match="T2 would have to begin before itself"):
        what_if([tech()], tickets, BEGIN, "T2", Held(after="T1"))


@pytest.mark.parametrize(
    ("late", "others", "why"),
    [
        (ticket("T1", 800, float_by=day(1)), [], "Its own work"),
        (ticket("T1", 60, parts_on=day(3), float_by=day(1)), [], "Its parts are here on Thu 26 Nov"),
        (ticket("T1", 60, held=Held(day=day(3)), float_by=day(1)), [], "It is held where it is"),
        (ticket("T1", 360, float_by=day(0)), [ticket("T2", 300, begun=True, tech="tam")], "The bench is busy before"),
        (ticket("T1", 360, float_by=day(-1)), [], "The day has passed"),
    ],
)
def test_a_late_ticket_says_why(late, others, why):
    techs = [tech()]
    found = late_in(plan(techs, [late, *others], BEGIN), techs)
    assert found[0].ticket.key == "T1"
    assert found[0].why.startswith(why)


def test_a_late_ticket_is_late_for_a_day_off_where_nothing_else_is_in_its_way():
    techs = [tech(days_off=frozenset({day(0), day(1)}))]
    found = late_in(plan(techs, [ticket("T1", float_by=day(1))], BEGIN), techs)
    assert found[0].why.startswith("Days off")


def test_steps_become_stretches_that_end_where_something_begins_to_cure():
    steps = [(30, 0, False), (15.5, 24, False), (20, 0, False), (10, 0, True), (5, 0, False)]
    assert stretches_of(steps) == (Stretch(46, 1440), Stretch(20), Stretch(15, wet=True))
    assert stretches_of(steps, 2.0)[1] == Stretch(40)


def test_a_cure_that_runs_already_holds_the_leak_test_up():
    rest = replace(ticket("T1", 30), stretches=(Stretch(30, wet=True),), cured_at=at(1, 13))
    assert spans(plan([tech()], [rest], BEGIN)["T1"]) == [(at(1, 13), at(1, 13, 30))]
