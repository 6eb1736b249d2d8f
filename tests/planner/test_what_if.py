"""What a move does to the others, told before anything is written."""

import datetime

import pytest

from builds.planner.calendar import plan
from builds.planner.what_if import Circle, ahead_of, behind, what_if
from builds.planner.workload import Held
from tests.planner.builders import MONDAY, december, tech, ticket

DAYS = [ticket("T-1", 360), ticket("T-2", 360), ticket("T-3", 360, promised_on=december(2).date())]
"""Three tickets of a day each, Monday to Wednesday; the third is promised for Wednesday."""


def moved(key, held, tickets=DAYS, techs=None):
    return what_if(techs or [tech()], tickets, MONDAY, key, held)


def order(made):
    return [one.ticket.key for one in made.placed]


def test_the_plan_as_it_is_says_who_is_ahead_and_behind():
    made = plan([tech()], DAYS, MONDAY)
    assert order(made) == ["T-1", "T-2", "T-3"]
    assert (ahead_of(made, "T-1"), ahead_of(made, "T-3")) == ("", "T-2")
    assert (behind(made, "T-1"), behind(made, "T-3")) == ("T-2", "")


def test_earlier_puts_it_before_the_other_and_tells_both_days():
    said = moved("T-2", Held(before="T-1"))
    assert order(said.after) == ["T-2", "T-1", "T-3"]
    assert (said.own.ready_before, said.own.ready_after, said.own.days) == (december(1).date(), MONDAY.date(), -1)
    assert [(s.ticket.key, s.days, s.becomes_late) for s in said.others] == [("T-1", 1, False)]


def test_later_puts_it_behind_the_other_and_says_which_promise_breaks():
    said = moved("T-3", Held(after="T-2"))
    assert order(said.after) == ["T-1", "T-2", "T-3"]
    assert (said.own.ready_after, said.own.becomes_late) == (december(2).date(), False)
    blocked = moved("T-1", Held(day=MONDAY.date()), [*DAYS[:2], ticket("T-3", 360, promised_on=MONDAY.date())])
    assert [s.ticket.key for s in blocked.others if s.becomes_late] == ["T-3"]


def test_a_day_and_another_tech():
    said = moved("T-2", Held(tech="Uma", day=december(3).date()), techs=[tech("Tam"), tech("Uma")])
    assert (said.own.tech_after, said.own.start_after) == ("Uma", december(3, 9))


def test_looking_changes_nothing():
    before = [str(one) for one in DAYS]
    first = plan([tech()], DAYS, MONDAY)
    moved("T-2", Held(before="T-1"))
    assert ([str(one) for one in DAYS], plan([tech()], DAYS, MONDAY)) == (before, first)


def test_what_the_look_showed_is_what_the_move_does():
    said = moved("T-2", Held(before="T-1"))
    tickets = [ticket("T-1", 360), ticket("T-2", 360, held=Held(before="T-1")), DAYS[2]]
    assert plan([tech()], tickets, MONDAY) == said.after


def test_moving_back_puts_everything_where_it_was():
    there = moved("T-2", Held(before="T-1"))
    tickets = [DAYS[0], ticket("T-2", 360, held=Held(before="T-1")), DAYS[2]]
    back = moved("T-2", Held(), tickets)
    assert [(p.ticket.key, p.blocks) for p in back.after.placed] == [
        (p.ticket.key, p.blocks) for p in there.before.placed
    ]


def test_a_circle_is_refused_by_name_and_an_unknown_ticket_too():
    tickets = [ticket("T-1", held=Held(before="T-2")), ticket("T-2", held=Held(before="T-3")), ticket("T-3")]
    with pytest.raises(Circle, match="T-3 would have to begin before itself, by way of T-2"):
        moved("T-3", Held(before="T-1"), tickets)
    with pytest.raises(KeyError):
        moved("T-9", Held(day=datetime.date(2026, 12, 1)))
