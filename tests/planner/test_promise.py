"""The promise date, by the calendar of November and December 2026; common practice, no source."""

import datetime

import pytest

from builds.planner.promise import late_by_days, promise

WEEK = (1, 2, 3, 4, 5)


def day(text):
    return datetime.date.fromisoformat(text)


# 2026-11-25 is a Wednesday.
WEDNESDAY = day("2026-11-25")


def promised(start=WEDNESDAY, **changes):
    figures = {"parts_days": 0, "queue_min": 0.0, "bench_min": 180.0, "ready_h": 3.0} | changes
    return promise(start, bench_hours_per_day=6.0, working_days=WEEK, **figures)


def test_a_small_job_is_ready_on_the_next_working_day():
    assert promised().ready_on == day("2026-11-26")


def test_work_begins_after_the_weekend_where_the_yes_comes_on_friday():
    assert promised(day("2026-11-27")).bench_from == day("2026-11-30")


def test_bench_minutes_fill_the_days_of_six_hours():
    assert promised(bench_min=360.0, ready_h=6.0).bench_until == day("2026-11-26")
    assert promised(bench_min=361.0, ready_h=6.1).bench_until == day("2026-11-27")
    assert promised(bench_min=730.0, ready_h=12.2).bench_until == day("2026-11-30")


def test_cure_beyond_the_bench_runs_over_nights_and_ends_on_a_working_day():
    # Three hours of work on Thursday, 24 h of cure: Friday.
    assert promised(ready_h=27.0).ready_on == day("2026-11-27")
    # 48 h would end on Saturday: Monday.
    assert promised(ready_h=51.0).ready_on == day("2026-11-30")


def test_parts_on_order_hold_the_work_up_and_are_waited_for_by_the_calendar():
    later = promised(parts_days=10)
    assert (later.parts_here_on, later.bench_from) == (day("2026-12-05"), day("2026-12-07"))


def test_earlier_tickets_hold_the_work_up_and_the_last_of_their_days_is_shared():
    # 9 h of queue: Thursday and half of Friday. 3 h fit into the rest of Friday, 4 h do not.
    assert promised(queue_min=540.0).ready_on == day("2026-11-27")
    assert promised(queue_min=540.0, bench_min=240.0, ready_h=4.0).ready_on == day("2026-11-30")


def test_parts_and_queue_are_waited_for_together_not_after_one_another():
    both = promised(parts_days=2, queue_min=720.0)
    assert both.bench_from == day("2026-11-30")


def test_the_date_opens_to_its_parts():
    names = [name for name, _ in promised(parts_days=3, queue_min=60.0, ready_h=27.0).working]
    assert names == [
        "Agreed",
        "Parts here",
        "Bench free of earlier tickets",
        "Bench work",
        "Cure beyond the bench",
        "Ready",
    ]


def test_it_is_late_by_the_days_after_the_day_on_which_it_must_float():
    assert late_by_days(promised(), day("2026-11-24")) == 2
    assert late_by_days(promised(), day("2026-11-26")) == 0


def test_a_bench_without_a_day_or_an_hour_is_refused():
    for days, hours in (((), 6.0), (WEEK, 0.0)):
        with pytest.raises(ValueError, match="working day"):
            promise(
                WEDNESDAY,
                parts_days=0,
                queue_min=0,
                bench_min=1,
                ready_h=1,
                bench_hours_per_day=hours,
                working_days=days,
            )
