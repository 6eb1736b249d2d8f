"""The bench's week: who works on what when; a move is shown before it is written; the feed tells no price."""

import datetime

import pytest
from django.core.exceptions import PermissionDenied

from builds.actions import planning
from builds.actions.ground import Refused
from builds.bench_now import bench_now
from builds.models import DayOff, FeedLink, HeldPlace
from builds.planner.workload import Held
from shop import clock
from shop.models import JournalEntry
from tests.builds.conftest import agreed_on_paper

pytestmark = pytest.mark.usefixtures("blank_papers")

WEDNESDAY = datetime.datetime(2026, 12, 2, 9, 0, tzinfo=datetime.UTC)


@pytest.fixture(autouse=True)
def a_wednesday():
    with clock.at(WEDNESDAY):
        yield


@pytest.fixture
def job(rig, counter, tech):
    return agreed_on_paper(counter, rig)


def first_day(number):
    return bench_now().plan()[number].blocks[0].day


def test_an_agreed_ticket_has_its_place_in_working_hours(job, tech):
    made = bench_now().plan()
    blocks = made[job.number].blocks
    estimate = job.agreed_quote.estimate
    assert sum(block.minutes for block in blocks) >= estimate["labour"]["bench_min"] - 1
    assert all(block.day.isoweekday() <= 5 for block in blocks)


def test_nobody_works_on_a_day_off(job, tech):
    before = first_day(job.number)
    planning.take_day_off(tech, tech, before)
    assert first_day(job.number) > before
    planning.work_that_day(tech, tech, before)
    assert first_day(job.number) == before
    assert not DayOff.objects.exists()


def test_a_tech_writes_the_own_days_off_and_the_owner_the_hours(job, tech, counter, owner):
    with pytest.raises(PermissionDenied):
        planning.take_day_off(counter, tech, clock.today())
    with pytest.raises(PermissionDenied):
        planning.set_hours(tech, tech, [60] * 7, 540)
    with pytest.raises(Refused, match="That day has passed"):
        planning.take_day_off(tech, tech, clock.today() - datetime.timedelta(days=1))
    planning.set_hours(owner, tech, [0, 0, 0, 0, 0, 480, 0], 540)
    assert {block.day.isoweekday() for block in bench_now().plan()[job.number].blocks} == {6}


def test_a_move_is_shown_first_and_written_only_when_it_is_confirmed(job, tech, client):
    client.force_login(tech)
    later = clock.today() + datetime.timedelta(days=12)
    page = f"/bench/week/move/{job.number}/"
    shown = client.get(page, {"how": "place", "day": str(later)}).content.decode()
    assert "What it does" in shown and "Move it" in shown
    assert not HeldPlace.objects.exists()
    wrong = client.get(page, {"how": "place"})
    assert (wrong.status_code, "Name a day, a tech or both" in wrong.content.decode()) == (422, True)
    assert client.post(f"{page}confirm/", {"day": str(later)}).status_code == 302
    assert first_day(job.number) >= later
    planning.move_ticket(tech, job, Held())
    assert first_day(job.number) < later


def test_a_moved_ticket_says_who_moved_it_in_its_history(job, tech):
    planning.move_ticket(tech, job, Held(tech=str(tech.pk)))
    entry = JournalEntry.objects.latest("number")
    assert (entry.actor_name, entry.action, entry.after["tech"]) == (str(tech), "move at the bench", str(tech))


def test_the_pages_show_the_week_to_all_and_a_price_to_nobody(job, cast, client):
    price = f"{job.agreed_quote.total:,}"
    for role in ("counter", "tech", "owner"):
        client.force_login(cast[role])
        for address in ("/bench/week/", "/bench/hours/"):
            page = client.get(address)
            assert (page.status_code, price in page.content.decode()) == (200, False)
    monday = first_day(job.number)
    assert job.number in client.get("/bench/week/", {"week": str(monday)}).content.decode()
    assert client.get("/bench/week/", {"week": "soon"}).status_code == 200
    client.force_login(cast["counter"])
    assert client.get(f"/bench/week/move/{job.number}/").status_code == 403
    assert client.get("/bench/week.pdf").headers["Content-Type"] == "application/pdf"


def test_a_week_shows_what_is_left_of_it_and_none_that_is_over(job, tech, client):
    client.force_login(tech)
    page = client.get("/bench/week/").content.decode()
    assert "Wed 2 Dec, today" in page and "Fri 4 Dec" in page
    assert "Tue 1 Dec" not in page and "Week before" not in page
    assert "Week before" in client.get("/bench/week/?week=2026-12-07").content.decode()
    assert "Nobody works at the bench any more" in client.get("/bench/week/?week=2026-11-23").content.decode()


def test_the_week_takes_the_same_queries_with_one_ticket_and_with_six(
    job, counter, tech, client, django_assert_max_num_queries
):
    from builds.actions import lines, tickets

    client.force_login(tech)
    for _ in range(5):
        more = tickets.open_ticket(counter, hull_type=job.hull.hull_type)
        lines.add_line(counter, more, job.lines.first().accessory)
        agreed_anyhow(more, job)
    client.get("/bench/week/")  # reads the shelf, which is kept until something moves
    with django_assert_max_num_queries(12):
        assert client.get("/bench/week/").status_code == 200


def agreed_anyhow(ticket, like):
    ticket.state, ticket.agreed_quote = "accepted", like.agreed_quote
    ticket.save()


def test_the_feed_is_for_who_has_its_address_and_tells_no_price_and_no_customer(job, tech, client):
    secret = planning.make_feed(tech)
    answer = client.get(f"/bench-feed/{secret}.ics")
    text = answer.content.decode()
    assert answer.headers["Content-Type"].startswith("text/calendar")
    assert text.startswith("BEGIN:VCALENDAR") and job.number in text
    assert "Customer 0412" not in text and str(job.agreed_quote.total) not in text
    assert secret not in FeedLink.objects.get().secret_sha256
    planning.withdraw_feed(tech)
    assert client.get(f"/bench-feed/{secret}.ics").status_code == 404
    assert client.get("/bench-feed/x.ics").status_code == 404
