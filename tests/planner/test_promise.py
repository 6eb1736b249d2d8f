"""The promise date, by the calendar of November and December 2026: hours by hand; common practice, no source."""

import datetime
import random
from dataclasses import replace

import pytest

from builds.planner.calendar import plan
from builds.planner.promise import Booked, late_by_days, promise, share_words
from builds.planner.workload import DAY, BenchTicket, Stretch, Tech, percentile_factor, stretches_of
from tests.planner.builders import SIX_HOURS, tech
from tests.planner.exact import BEGIN, random_ticket, random_week

WEEK = (1, 2, 3, 4, 5)
SHARE = 0.5


def day(text):
    return datetime.date.fromisoformat(text)


# 2026-11-25 is a Wednesday.
WEDNESDAY = day("2026-11-25")


def asked(start=WEDNESDAY, minutes=180, cure_h=0, after_min=0, **given):
    """A ticket that is agreed to on a day: some work, a cure after it, tests after the cure."""
    stretches = (Stretch(minutes, 60 * cure_h), *([Stretch(after_min, wet=True)] if after_min else []))
    return BenchTicket("T-9", 9, stretches, agreed_on=start, **given)


def booked(start=WEDNESDAY, agreed=(), techs=None):
    """One tech of six hours a day from nine, asked in the evening; `agreed` tickets are so many minutes each."""
    queue = [BenchTicket(f"T-{n}", n, (Stretch(minutes),)) for n, minutes in enumerate(agreed)]
    return Booked(techs or [tech()], queue, datetime.datetime.combine(start, datetime.time(18)), WEEK)


def promised(start=WEDNESDAY, agreed=(), techs=None, **given):
    return promise(asked(start, **given), booked(start, agreed, techs), SHARE)


def test_a_small_job_is_ready_on_the_next_working_day():
    assert promised().ready_on == day("2026-11-26")


def test_nobody_begins_on_the_day_of_the_yes():
    morning = Booked([tech()], [], datetime.datetime.combine(WEDNESDAY, datetime.time(8)), WEEK)
    assert promise(asked(), morning, SHARE).bench_from == day("2026-11-26")


def test_work_begins_after_the_weekend_where_the_yes_comes_on_friday():
    assert promised(day("2026-11-27")).bench_from == day("2026-11-30")


def test_bench_minutes_fill_the_days_of_six_hours():
    assert promised(minutes=360).bench_until == day("2026-11-26")
    assert promised(minutes=361).bench_until == day("2026-11-27")
    assert promised(minutes=730).bench_until == day("2026-11-30")


def test_cure_runs_over_nights_and_the_boat_is_handed_over_on_a_working_day():
    assert promised(cure_h=24).ready_on == day("2026-11-27")
    assert promised(cure_h=48).ready_on == day("2026-11-30")


def test_cure_across_the_weekend_costs_no_bench_day():
    """Bedded on Friday until noon, 48 h cure until Sunday noon; the leak test is Monday's first half hour."""
    found = promised(day("2026-11-26"), cure_h=48, after_min=30)
    assert found.cured_at == datetime.datetime(2026, 11, 29, 12)
    assert (found.bench_until, found.ready_on) == (day("2026-11-30"), day("2026-11-30"))


def test_the_cure_of_one_boat_leaves_the_tech_to_the_next():
    bedded = BenchTicket("T-0", 0, (Stretch(120, 48 * 60), Stretch(30, wet=True)))
    bench = Booked([tech()], [bedded], datetime.datetime.combine(WEDNESDAY, datetime.time(18)), WEEK)
    assert promise(asked(minutes=240), bench, SHARE).ready_on == day("2026-11-26")


def test_parts_on_order_hold_the_work_up_and_are_waited_for_by_the_calendar():
    assert promised(parts_on=day("2026-12-05")).bench_from == day("2026-12-07")


def test_earlier_tickets_hold_the_work_up_and_the_last_of_their_days_is_shared():
    # 9 h of earlier work: Thursday and half of Friday. 3 h fit into the rest of Friday, 4 h do not.
    assert promised(agreed=[540]).ready_on == day("2026-11-27")
    assert promised(agreed=[540], minutes=240).ready_on == day("2026-11-30")


def test_two_techs_with_a_full_week_take_the_ticket_where_the_first_is_free():
    """Tam has 30 h, Uma 27 h of earlier work: Uma is free from Wednesday noon, Tam from Thursday."""
    techs = [tech("Tam"), tech("Uma")]
    full = [
        BenchTicket(f"T-{n}", n, (Stretch(m),), tech=who, begun=True)
        for n, who, m in ((1, "Tam", 1800), (2, "Uma", 1620))
    ]
    bench = Booked(techs, full, datetime.datetime.combine(WEDNESDAY, datetime.time(18)), WEEK)
    assert promise(asked(), bench, SHARE).ready_on == day("2026-12-02")
    assert promise(asked(minutes=181), bench, SHARE).ready_on == day("2026-12-03")


def test_a_day_off_moves_the_date_unless_another_tech_is_here():
    off = tech("Tam", off=[day("2026-11-26"), day("2026-11-27")])
    assert promised(techs=[off]).ready_on == day("2026-11-30")
    assert promised(techs=[off, tech("Uma")]).ready_on == day("2026-11-26")


def test_parts_and_earlier_tickets_are_waited_for_together_not_after_one_another():
    assert promised(agreed=[720], parts_on=day("2026-11-27")).bench_from == day("2026-11-30")


def test_a_boat_whose_parts_come_late_is_worked_round_not_waited_for():
    waiting = BenchTicket("T-0", 0, (Stretch(600),), parts_on=day("2026-12-10"))
    bench = Booked([tech()], [waiting], datetime.datetime.combine(WEDNESDAY, datetime.time(18)), WEEK)
    assert promise(asked(), bench, SHARE).ready_on == day("2026-11-26")


def test_a_changed_ticket_has_its_own_place_back_and_the_others_keep_theirs():
    """The first of two tickets of a day each grows by three hours: its day, and three hours behind the second."""
    bench = booked(agreed=[360, 360])
    more = replace(asked(minutes=540), key="T-0")
    found = promise(more, bench, SHARE)
    assert (found.bench_from, found.ready_on) == (day("2026-11-26"), day("2026-11-30"))
    assert promise(more, bench, SHARE) == found


def test_a_longer_share_of_jobs_is_a_later_date():
    """Mean 300 min, sd 100: half are done in a day of six hours, 9 in 10 need 428 min and a second day."""
    shares = {0.5: "2026-11-26", 0.7: "2026-11-26", 0.9: "2026-11-27"}
    for share, ready_on in shares.items():
        stretches = stretches_of([(300.0, 0, False)], percentile_factor(300.0, 100.0, share))
        ticket = replace(asked(), stretches=stretches)
        found = promise(ticket, booked(), share)
        assert found.ready_on == day(ready_on)
    assert dict(found.working)["Bench work"] == "7\u202fh\u202f09, Thu 26 Nov to Fri 27 Nov"
    assert dict(found.working)["Long enough for"] == "9 in 10 such jobs"


def test_a_share_is_said_in_words():
    assert [share_words(share) for share in (0.5, 0.8, 0.85)] == [
        "half of such jobs",
        "8 in 10 such jobs",
        "85% of such jobs",
    ]


def test_the_date_opens_to_its_parts():
    found = promised(agreed=[60], cure_h=24, parts_on=day("2026-11-28"))
    assert found.working == (
        ("Agreed", "Wed 25 Nov"),
        ("Parts here", "Sat 28 Nov"),
        ("Other tickets before it", "1\u202fh\u202f00"),
        ("Bench work", "3\u202fh\u202f00, Mon 30 Nov"),
        ("Long enough for", "half of such jobs"),
        ("Cured", "Tue 1 Dec, 12:00"),
        ("Ready", "Tue 1 Dec"),
    )


def test_it_is_late_by_the_days_after_the_day_on_which_it_must_float():
    assert late_by_days(day("2026-11-26"), day("2026-11-24")) == 2
    assert late_by_days(day("2026-11-26"), day("2026-11-26")) == 0


def test_a_bench_without_a_day_or_an_hour_is_refused_and_one_that_is_full_for_years_promises_nothing():
    evening = datetime.datetime.combine(WEDNESDAY, datetime.time(18))
    for days, week in (((), SIX_HOURS), (WEEK, (0,) * 7)):
        with pytest.raises(ValueError, match="working day"):
            Booked([Tech("Tam", "Tam", week)], [], evening, days)
    assert promised(agreed=[3 * 260 * 360], minutes=10 * 360) is None


# The promise and the week agree, whatever the shop.

SHOPS = 40


def sold(techs, tickets, begin):
    """Sell tickets one after another, each promised what is free and agreed to at once."""
    agreed = []
    for ticket in tickets:
        new = replace(ticket, agreed_on=begin.date())
        found = promise(new, Booked(techs, agreed, begin, WEEK), SHARE)
        agreed.append(replace(new, promised_on=found.ready_on))
    return agreed


@pytest.mark.parametrize("seed", range(SHOPS))
def test_each_boat_is_in_the_week_ready_on_the_day_that_was_promised(seed):
    techs, tickets = random_week(seed)
    begin = BEGIN + datetime.timedelta(days=seed % 7, hours=11)
    made = plan(techs, sold(techs, tickets, begin), begin, WEEK)
    assert [(one.ticket.key, one.ready_on) for one in made.placed] == [
        (one.ticket.key, one.ticket.promised_on) for one in made.placed
    ]
    assert not made.unplaced


@pytest.mark.parametrize("seed", range(SHOPS))
def test_in_a_shop_that_is_late_a_new_boat_is_ready_by_the_day_that_was_promised(seed):
    """Every second promise was a day too early and a boat must float sooner than anyone can: the new one holds."""
    techs, tickets = random_week(seed)
    begin = BEGIN + datetime.timedelta(hours=11)
    agreed = [
        replace(one, promised_on=one.promised_on - (n % 2) * DAY, float_by=BEGIN.date() if n == 2 else None)
        for n, one in enumerate(sold(techs, tickets, begin))
    ]
    new = replace(random_ticket(random.Random(seed), 9), agreed_on=begin.date())
    found = promise(new, Booked(techs, agreed, begin, WEEK), SHARE)
    made = plan(techs, [*agreed, replace(new, promised_on=found.ready_on)], begin, WEEK, placings=2000)
    assert made[new.key].ready_on <= found.ready_on
