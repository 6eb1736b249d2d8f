"""What a customer is told and what the bench's week says are one: the day of a quote, of a way, of a change order."""

import datetime

import pytest
from django.template.loader import render_to_string

from builds import bridge, promise
from builds.actions import changes, coming_back, handing, lines, papers, planning, tickets, work
from builds.actions.ground import Refused
from builds.bench_now import bench_now
from builds.feed import feed_of
from builds.models import ComeBackTime
from catalog import shelf
from catalog.models import CatalogueVersion, ShopRates
from shop import clock, roles
from shop.models import User
from tests.builds.conftest import agreed_on_paper, fresh, whole

pytestmark = pytest.mark.usefixtures("blank_papers")

WEDNESDAY = datetime.datetime(2026, 12, 2, 9, 0, tzinfo=datetime.UTC)
DAY = datetime.timedelta(days=1)


@pytest.fixture(autouse=True)
def a_wednesday():
    with clock.at(WEDNESDAY):
        yield


def like(counter, rig):
    """Another ticket with the lines of the rig."""
    other = tickets.open_ticket(counter, hull_type=rig.hull.hull_type, title="The same again")
    for line in rig.lines.select_related("accessory"):
        lines.add_line(counter, other, line.accessory, station=line.station, mounting=line.mounting)
    return other


def asked(ticket):
    """The promise for a ticket, were it agreed to today."""
    found = bridge.estimate_of(whole(ticket))
    return promise.promise_of(found, shelf.rates_on(clock.today()), clock.today(), ticket=whole(ticket))


def in_the_week(ticket):
    return bench_now().plan()[ticket.number].ready_on


def second_tech():
    return User.objects.create_user("uma", name="Uma Tech", initials="UT", role=roles.TECH)


@pytest.fixture
def three_more(rig, counter, tech):
    """Two techs with a full week: three rigs are agreed to, the fourth is asked for."""
    second_tech()
    for _ in range(3):
        agreed_on_paper(counter, like(counter, rig))
    return rig


def test_each_quote_is_promised_the_day_on_which_the_week_has_it(three_more, counter):
    promised = asked(three_more).ready_on
    last = agreed_on_paper(counter, three_more)
    assert last.agreed_quote.ready_on == promised
    made = bench_now().plan()
    assert {one.ticket.key: one.ready_on for one in made.placed} == {
        one.ticket.key: one.ticket.promised_on for one in made.placed
    }


def test_the_page_says_the_day_of_the_quote_and_opens_it_to_its_parts(three_more, counter, client):
    client.force_login(counter)
    day = asked(three_more).ready_on
    page = client.get(f"/counter/ticket/{three_more.number}/").content.decode()
    assert f"{day:%a} {day.day} {day:%b}" in page
    assert all(words in page for words in ("Other tickets before it", "Long enough for", "half of such jobs", "Cured"))


def test_a_second_tech_and_a_day_off_move_the_date_at_once(rig, counter, tech):
    agreed_on_paper(counter, like(counter, rig))
    alone = asked(rig).ready_on
    other = second_tech()
    both = asked(rig).ready_on
    assert both < alone
    for n in range(1, 9):
        planning.take_day_off(other, other, clock.today() + n * DAY)
    assert asked(rig).ready_on == alone


def test_a_shop_that_quotes_for_more_of_its_jobs_promises_later(rig, counter, tech):
    half = asked(rig)
    ShopRates.objects.update(labour_percentile=0.9)
    CatalogueVersion.move_on()
    most = asked(rig)
    assert most.ready_on >= half.ready_on
    minutes = [dict(one.working)["Bench work"].partition(",")[0] for one in (half, most)]
    assert minutes[1] > minutes[0]
    assert dict(most.working)["Long enough for"] == "9 in 10 such jobs"
    assert agreed_on_paper(counter, rig).agreed_quote.ready_on == most.ready_on == in_the_week(rig)


def test_a_fresh_shop_promises_by_the_hours_of_its_rates(rig, counter):
    """Nobody works at the bench yet: one tech of six hours a day, as the rates say."""
    promised = asked(rig)
    User.objects.create_user("tam", name="Tam Tech", role=roles.TECH)
    assert asked(rig) == promised


def test_hours_on_saturday_alone_are_all_that_can_be_promised(rig, counter, tech, owner):
    planning.set_hours(owner, tech, [0, 0, 0, 0, 0, 480, 0], 540)
    assert asked(rig).bench_from == datetime.date(2026, 12, 5)


def test_a_bench_without_an_hour_left_promises_nothing_and_no_quote_is_issued(rig, counter, tech, owner, monkeypatch):
    monkeypatch.setattr("builds.planner.free_time.MOST_DAYS", 1)
    assert asked(rig) is None
    with pytest.raises(Refused, match="no free hours"):
        papers.issue_quote(counter, whole(rig))


def test_parts_on_order_are_waited_for(rig, counter, tech, monkeypatch):
    monkeypatch.setattr("builds.stock.wait_days", lambda *which: 9)
    later = asked(rig)
    assert later.bench_from == datetime.date(2026, 12, 11)
    assert dict(later.working)["Parts here"] == "Fri 11 Dec"


def test_a_change_order_has_the_place_of_its_ticket_back_and_leaves_the_others_theirs(rig, counter, tech, kind):
    job, behind = agreed_on_paper(counter, rig), agreed_on_paper(counter, like(counter, rig))
    changes.begin_change(counter, job)
    unchanged = asked(job)
    assert unchanged.ready_on == job.agreed_quote.ready_on
    lines.add_line(counter, whole(job), kind("anchor_trolley"))
    more = asked(job)
    assert unchanged.ready_on <= more.ready_on
    new = [place.letters for place in changes.proposed(whole(job)).new_places]
    consent = changes.Consent("Customer 0412", "counter")
    entry = changes.agree_change(counter, whole(job), why="Wanted", consent=consent, places=new)
    assert entry.ready_on == more.ready_on
    assert in_the_week(job) <= entry.ready_on
    assert in_the_week(behind) <= max(behind.agreed_quote.ready_on, entry.ready_on)


# Boats that came back.


@pytest.fixture
def gone(rig, counter, tech, owner):
    job = agreed_on_paper(counter, rig)
    papers.issue_work_order(counter, whole(job))
    work.check(tech, fresh(job), why="Ticked on paper.")
    handing.hand_over(owner, whole(job), why="Tested on paper.", unpaid="On account")
    return fresh(job)


def test_a_boat_that_came_back_takes_its_time_from_what_can_be_promised(gone, counter, tech):
    ticket = like(counter, gone)
    before = asked(ticket).bench_from
    back = coming_back.open_come_back(counter, gone, cause="leak", words="Wet after an hour")
    assert asked(ticket).bench_from == before and not bench_now().tickets
    coming_back.estimate_come_back(tech, back, minutes=3 * 360)
    assert asked(ticket).bench_from > before
    coming_back.work_on(tech, back, minutes=60)
    (planned,) = bench_now().tickets
    assert (planned.minutes, planned.who) == (3 * 360 - 60, str(tech.pk))
    coming_back.end_come_back(tech, back, words="New bead at hole C")
    assert asked(ticket).bench_from == before


@pytest.fixture
def texts(blank_papers, monkeypatch):
    """What papers say, as they are laid out."""
    seen: list[str] = []

    def laid_out(*what):
        seen.append(render_to_string(*what))
        return seen[-1]

    monkeypatch.setattr("builds.documents.render_to_string", laid_out)
    return seen


def test_the_week_the_paper_and_the_feed_name_a_boat_that_came_back_with_its_cause(gone, counter, tech, client, texts):
    client.force_login(counter)
    said = {"cause": "leak", "words": "Wet after an hour", "time": "1 h 30"}
    assert client.post(f"/counter/ticket/{gone.number}/come-backs/", said).status_code == 302
    assert ComeBackTime.objects.get().minutes == 90
    assert "are kept for it" in client.get(f"/counter/ticket/{gone.number}/come-backs/").content.decode()
    client.force_login(tech)
    page = client.get("/bench/week/").content.decode()
    assert "Came back: leak" in page and "Wet after an hour" in page
    assert f"/bench/ticket/{gone.number}/come-back-1/" in page
    client.get("/bench/week.pdf")
    assert "Came back: leak" in texts[-1]
    feed = feed_of(tech, "bench.example").decode().replace("\r\n ", "")
    assert f"UID:{gone.number}-back-1-1@bench.example" in feed and "Came back: leak" in feed


def test_a_time_that_is_no_time_is_told_and_nothing_typed_is_lost(gone, counter, tech, client):
    client.force_login(counter)
    page = client.post(f"/counter/ticket/{gone.number}/come-backs/", {"cause": "leak", "words": "Wet", "time": "soon"})
    assert page.status_code == 422
    assert 'value="soon"' in page.content.decode() and ">Wet<" in page.content.decode()
    back = coming_back.open_come_back(counter, gone, cause="leak", words="Wet")
    client.force_login(tech)
    address = f"/bench/ticket/{gone.number}/come-back-{back.n}/time/"
    assert client.post(address, {"time": ""}).status_code == 422
    assert client.post(address, {"time": "45"}).status_code == 302
    assert ComeBackTime.objects.get().minutes == 45
