"""The demo shop's parts by themselves: stories that a seed tells, minutes drawn, hours of the bench, the press."""

import datetime
import json
import math
import random
import re
import statistics
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command

from builds import bridge
from builds.demo.actuals import RAN_LONG, ROUTING_OVER, drawn_ratio, worked
from builds.demo.hours import Hours
from builds.demo.press import Press
from builds.demo.writing import SEED, live, rehearse, write_year
from builds.demo.year import read, stories
from builds.documents import PaperFacts
from builds.estimator.document import read_sheet
from builds.estimator.estimate import estimate
from builds.estimator.files import catalogue as shipped_catalogue
from builds.models import HandOverSheet, Quote, Ticket, WorkOrder
from builds.states import STATES
from shop import journal
from shop.models import JournalEntry
from tests.builds.conftest import blank_page
from tests.builds.job_tickets import JOBS, open_job


def sheet_of(story):
    """The story's ticket as a build sheet, its boat as the catalogue has it."""
    hull_type = next(record for record in read("catalogue/hull_types.json") if record["id"] == story.hull_type)
    marks = {name: True for name in ("old", "salt_corroded") if story.job["hull"].get(name)}
    return {
        "format": "hullbench-build-sheet/1",
        "ticket": {"number": f"T-{story.place:04d}", "title": story.title},
        "hull": {name: value for name, value in hull_type.items() if name not in ("id", "source")} | marks,
        "lines": story.lines,
        **{name: story.job[name] for name in ("water", "air_temp_c", "people", "gear", "operations", "day_plan")},
    }


# The stories.


@pytest.mark.parametrize("seed", [SEED, 1, 2, 3])
def test_whatever_the_seed_every_job_can_be_quoted_unless_its_row_says_otherwise(seed):
    for story in stories(seed):
        stops = estimate(read_sheet(sheet_of(story), shipped_catalogue())).stops
        meant = "mended" in story.row or "without" in story.row
        assert bool(stops) == meant, (story.row, [stop.sentence for stop in stops])
        if "mended" in story.row:
            assert all(stop.mends for stop in stops)


def test_all_ten_job_sheets_are_told_each_time_a_little_differently():
    told = stories(SEED)
    assert len(JOBS) == 10
    assert set(JOBS) <= {story.row["job"] for story in told}
    assert len({json.dumps(story.job, sort_keys=True) for story in told}) >= 40
    rigs = [tuple(line["accessory"] for line in s.lines) for s in told if s.row["job"] == "first_fishing_rig"]
    assert len(set(rigs)) >= 3


def test_a_seed_tells_the_same_stories_each_time_and_another_seed_others():
    assert stories(SEED) == stories(SEED)
    assert stories(SEED) != stories(SEED + 1)


def test_no_name_of_a_person_or_a_maker_stands_in_the_words_of_the_demo():
    """Names are capitalised: within a sentence only the days of the week are."""
    words = ("asked", "why", "override")
    said = [row[key] for row in read("demo/year.json") for key in words if key in row]
    for job in read("demo/jobs.json").values():
        said += [*job["asked"], *([job["sheet"]["title"]] if "sheet" in job else [])]
    within = re.compile(r"(?<=[\w,;:] )[A-Z]\w*")
    assert len(said) > 40
    assert {word for text in said for word in within.findall(text)} <= {"Friday", "Saturday", "Screen"}
    assert not re.search(r"[™®©]|https?:|www\.", " ".join(said))


@pytest.mark.parametrize("name", JOBS)
def test_a_job_sheet_typed_in_as_a_ticket_estimates_as_the_sheet_itself_does(catalogue, name):
    """Both ways round the house: rows through the bridge, and the sheet as it lies in its file."""
    ticket = open_job(name)
    from_sheet = estimate(read_sheet(read(f"jobs/{name}.json"), bridge.catalogue()))
    from_ticket = bridge.estimate_of(ticket)
    assert len(ticket.lines.all()) == len(from_sheet.sheet.lines)
    assert from_ticket.price.total == from_sheet.price.total
    assert from_ticket.labour.p80_min == pytest.approx(from_sheet.labour.p80_min, rel=1e-12)
    assert from_ticket.weights.load_kg == pytest.approx(from_sheet.weights.load_kg, rel=1e-12)
    assert [caution.code for caution in from_ticket.cautions] == [caution.code for caution in from_sheet.cautions]
    assert [circuit.fuse_a for system in from_ticket.power for circuit in system.circuits] == [
        circuit.fuse_a for system in from_sheet.power for circuit in system.circuits
    ]


# The minutes.

LINE = {"line": "L1", "low_min": 30.0, "likely_min": 45.0, "high_min": 75.0}
LABOUR = {
    "lines": [LINE],
    "order": [{"line": "L1", "phase": phase, "minutes": 15.0} for phase in ("mark", "route", "route", "test")],
}


def test_a_lines_minutes_stay_between_the_low_and_the_high_of_its_type():
    chance = random.Random(1)
    drawn = [drawn_ratio(LINE, 1.0, chance) * 45 for _ in range(4000)]
    assert min(drawn) == 30
    assert max(drawn) == 75
    assert statistics.median(drawn) == pytest.approx(45, rel=0.02)


def test_the_spread_of_a_lines_minutes_is_log_normal_with_low_and_high_four_deviations_apart():
    """Within one deviation of a normal distribution lie 68.27 % (any handbook of statistics)."""
    chance = random.Random(2)
    deviation = math.log(75 / 30) / 4
    off = [abs(math.log(drawn_ratio(LINE, 1.0, chance))) for _ in range(4000)]
    assert sum(one <= deviation for one in off) / len(off) == pytest.approx(0.6827, abs=0.03)


def test_a_type_without_minutes_takes_what_the_order_of_work_says():
    assert drawn_ratio({"line": "L1", "low_min": 0, "likely_min": 0, "high_min": 0}, 1.0, random.Random(1)) == 1.0


def phases(**how):
    """Minutes by phase, in the mean of many tickets."""
    total = {}
    for n in range(400):
        for entry in worked(LABOUR, {"L1": "display_7in"}, SEED, random.Random(n), **how):
            total[entry.phase] = total.get(entry.phase, 0.0) + entry.minutes / 400
    return total


def test_steps_of_one_phase_are_written_down_together_to_the_half_minute():
    entries = list(worked(LABOUR, {"L1": "display_7in"}, SEED, random.Random(1)))
    assert [(entry.line, entry.accessory, entry.phase) for entry in entries] == [
        ("L1", "display_7in", "mark"),
        ("L1", "display_7in", "route"),
        ("L1", "display_7in", "test"),
    ]
    assert all((entry.minutes * 2).is_integer() for entry in entries)


def test_where_routing_runs_over_only_routing_does_and_an_old_hull_makes_everything_longer():
    usual, over, long = phases(), phases(routing_over=True), phases(ran_long=True)
    assert over["route"] / usual["route"] == pytest.approx(statistics.mean(ROUTING_OVER), rel=0.05)
    assert over["mark"] == pytest.approx(usual["mark"], rel=0.01)
    assert {phase: long[phase] / usual[phase] for phase in usual} == pytest.approx(
        dict.fromkeys(usual, statistics.mean(RAN_LONG)), rel=0.05
    )
    assert usual["route"] == pytest.approx(2 * usual["mark"], rel=0.05)


# The hours.

WEEK = Hours(datetime.UTC, (1, 2, 3, 4, 5), 6.0)
FRIDAY = datetime.date(2026, 11, 27)


def test_work_begun_on_a_friday_afternoon_ends_on_monday():
    """Six bench hours from nine: an hour is left at two o'clock, two more follow on Monday."""
    assert WEEK.after_work(WEEK.at(FRIDAY, 14), 180) == WEEK.at(FRIDAY + datetime.timedelta(days=3), 11)


def test_work_of_two_days_and_a_half_goes_over_the_nights():
    monday = FRIDAY + datetime.timedelta(days=3)
    assert WEEK.after_work(WEEK.at(monday, 8.5), 15 * 60) == WEEK.at(monday + datetime.timedelta(days=2), 12)


def test_work_that_just_fits_the_day_ends_with_it_and_begun_in_the_evening_waits_for_the_morning():
    assert WEEK.after_work(WEEK.at(FRIDAY, 9), 360) == WEEK.at(FRIDAY, 15)
    assert WEEK.after_work(WEEK.at(FRIDAY, 18), 30) == WEEK.at(FRIDAY + datetime.timedelta(days=3), 9.5)


def test_waiting_days_are_working_days():
    assert WEEK.working_day(FRIDAY) == FRIDAY
    assert WEEK.working_day(FRIDAY, 2) == FRIDAY + datetime.timedelta(days=4)
    assert WEEK.working_day(FRIDAY + datetime.timedelta(days=1)) == FRIDAY + datetime.timedelta(days=3)


def test_the_shop_opens_by_its_own_clock_on_both_sides_of_summer_time():
    """The clocks of the United Kingdom go forward on the last Sunday of March: 29 March in 2026."""
    london = Hours(ZoneInfo("Europe/London"), (1, 2, 3, 4, 5), 6.0)
    before, after = london.at(datetime.date(2026, 3, 27), 9), london.at(datetime.date(2026, 3, 30), 9)
    assert [moment.astimezone(datetime.UTC).hour for moment in (before, after)] == [9, 8]
    two_hours_from_friday_at_two = london.after_work(london.at(datetime.date(2026, 3, 27), 14), 120)
    assert two_hours_from_friday_at_two == london.at(datetime.date(2026, 3, 30), 10)


# The press.


def laid_out(facts, sheet, estimate, paper):
    return f"{facts.number} {paper}".encode()


def test_a_paper_is_handed_out_as_it_was_ordered_and_one_not_ordered_is_laid_out_then():
    first, second = (PaperFacts(ticket_number="T-0001", number=number) for number in ("Q-0001-1", "Q-0001-2"))
    estimate = {"sheet_sha256": "a"}
    with ThreadPoolExecutor(1) as pool:
        press = Press(pool)
        assert press.order(laid_out, first, {}, estimate, "a4") == b""
        assert len(press.ordered) == 1
        assert press.deliver(laid_out, second, {}, estimate, "a4") == b"Q-0001-2 a4"
        assert press.deliver(laid_out, first, {}, {"sheet_sha256": "b"}, "letter") == b"Q-0001-1 letter"
        assert len(press.ordered) == 1
        assert press.deliver(laid_out, first, {}, estimate, "a4") == b"Q-0001-1 a4"
        assert press.ordered == {}


class AtOnce(Executor):
    """Stands for the pool: every paper is a blank page."""

    def submit(self, *paper):
        done = Future()
        done.set_result(blank_page())
        return done


def test_every_paper_of_a_month_is_known_from_its_rehearsal_which_leaves_nothing_behind(catalogue):
    now, press = datetime.datetime(2026, 11, 25, 15, 0, tzinfo=datetime.UTC), Press(AtOnce())
    rehearse(now, SEED, press.order, 31)
    heard_of = len(press.ordered)
    assert Ticket.objects.count() == 0
    live(lambda text: None, now, SEED, press.deliver, 31)
    issued = [*Quote.objects.all(), *WorkOrder.objects.all(), *HandOverSheet.objects.all()]
    assert (heard_of, press.ordered) == (len(issued), {})
    assert heard_of > 3


# The command, and the year told again.


def test_without_a_catalogue_the_command_says_which_one_to_run_first(db):
    with pytest.raises(CommandError, match="load_catalogue"):
        call_command("load_demo_shop")
    assert Ticket.objects.count() == 0


def test_on_a_sunday_just_after_midnight_the_year_is_whole_and_nothing_lies_in_the_future(catalogue):
    """At an odd hour much is cut short; drafts of the day still are of that day."""
    sunday = datetime.datetime(2026, 11, 29, 0, 7, tzinfo=datetime.UTC)
    assert write_year(now=sunday, lay_out=lambda *paper: b"") == Ticket.objects.count() >= 40
    moments = list(JournalEntry.objects.order_by("number").values_list("at", flat=True))
    assert moments == sorted(moments)
    assert moments[-1] <= sunday
    assert journal.verify() is None
    assert {ticket.opened_at.date() for ticket in Ticket.objects.filter(state="draft")} == {sunday.date()}
    assert set(Ticket.objects.values_list("state", flat=True)) == {state for state, _ in STATES}
