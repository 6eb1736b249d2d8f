"""Sessions last as the role needs, are shown and ended; the lock keeps what was typed."""

import pytest
from django.test import Client

from shop import roles
from shop.accounts import sessions
from shop.accounts.models import OpenSession
from shop.models import JournalEntry, User
from tests.shop.accounts_at_work import RIGHT, sign_in, with_password

pytestmark = pytest.mark.django_db

JSON = {"accept": "application/json"}


@pytest.fixture
def at_the_counter(counter, moved_clock):
    with_password(counter)
    client = Client()
    assert sign_in(client, "cora").status_code == 302
    return client


def test_every_role_has_its_stay_and_the_lock_comes_before_the_end():
    assert set(sessions.STAYS) == set(roles.ROLES)
    assert all(stay.locks_after < stay.at_most for stay in sessions.STAYS.values())


def test_a_session_ends_after_its_time_however_busy(at_the_counter, moved_clock):
    for _ in range(12 * 6 - 1):
        moved_clock.on(minutes=10)
        assert at_the_counter.get("/counter/tickets/").status_code == 200
    moved_clock.on(minutes=10)
    assert at_the_counter.get("/counter/tickets/").url == "/sign-in/?next=/counter/tickets/"


@pytest.mark.parametrize("role", roles.ROLES)
def test_left_alone_it_locks_after_the_role_s_time(cast, role, moved_clock):
    client = Client()
    client.force_login(cast[role])
    assert client.get("/me/").status_code == 200
    moved_clock.at += sessions.STAYS[role].locks_after
    assert client.get("/me/").status_code == 200
    moved_clock.at += sessions.STAYS[role].locks_after
    moved_clock.on(seconds=1)
    assert client.get("/me/").status_code == 401


def test_a_sign_of_life_keeps_it_open_for_one_who_types_for_long(at_the_counter, moved_clock):
    for _ in range(5):
        moved_clock.on(minutes=14)
        assert at_the_counter.post("/stay/").status_code == 204
    assert at_the_counter.get("/counter/").status_code == 200


def test_while_locked_every_page_says_so_and_shows_nothing(at_the_counter):
    assert at_the_counter.post("/lock/", headers=JSON).json() == {"locked": True}
    for path in ("/counter/", "/counter/tickets/", "/me/", "/counter/ticket/T-0001/"):
        answer = at_the_counter.get(path)
        assert answer.status_code == 401, path
        page = answer.content.decode()
        assert 'action="/unlock/"' in page and 'href="/' not in page.partition("<main")[2], path
    assert at_the_counter.get("/counter/", headers=JSON).json() == {"locked": True}
    by_htmx = at_the_counter.get("/counter/", headers={"hx-request": "true"})
    assert (by_htmx.status_code, by_htmx["X-Locked"]) == (401, "yes")


def test_the_same_person_s_password_leads_back_to_the_same_page(at_the_counter):
    page = at_the_counter.post("/lock/", headers={"referer": "http://testserver/counter/tickets/?q=x"}).content.decode()
    assert 'value="/counter/tickets/?q=x"' in page
    wrong = at_the_counter.post("/unlock/", {"password": "guess", "next": "/counter/tickets/"})
    assert wrong.status_code == 422 and 'value="/counter/tickets/"' in wrong.content.decode()
    before = at_the_counter.cookies["sessionid"].value
    assert at_the_counter.post("/unlock/", {"password": RIGHT, "next": "/counter/tickets/"}).url == "/counter/tickets/"
    assert at_the_counter.cookies["sessionid"].value != before
    assert at_the_counter.get("/counter/").status_code == 200


def test_another_person_s_password_does_not_open_the_lock(at_the_counter, tech):
    with_password(tech, "another-dry-hatch")
    at_the_counter.post("/lock/")
    assert at_the_counter.post("/unlock/", {"password": "another-dry-hatch"}, headers=JSON).status_code == 422


def test_guessing_at_the_lock_is_slowed(at_the_counter):
    at_the_counter.post("/lock/")
    statuses = [at_the_counter.post("/unlock/", {"password": f"g {n}"}, headers=JSON).status_code for n in range(8)]
    assert statuses == [422] * 5 + [429] * 3


def test_a_form_that_is_sent_too_late_comes_back_with_all_that_was_typed(at_the_counter, counter, moved_clock):
    moved_clock.on(hours=1)
    form = {"units": "us", "slash_key": "on", "note": 'two\nlines "quoted" <b>'}
    late = at_the_counter.post("/me/", form)
    assert late.status_code == 401
    assert "What was typed is kept" in late.content.decode()
    carried = {name: late.context[name] for name in ("fields", "next")}
    page = at_the_counter.post("/unlock/", carried | {"password": RIGHT})
    assert dict(page.context["fields"]) == form and page.context["to"] == "/me/"
    assert at_the_counter.post("/me/", form).status_code == 302
    assert User.objects.get(pk=counter.pk).units == "us"


def test_what_is_carried_belongs_to_the_person_and_cannot_be_forged(at_the_counter, tech, moved_clock):
    moved_clock.on(hours=1)
    fields = at_the_counter.post("/me/", {"units": "us"}).context["fields"]
    with_password(tech)
    other = Client()
    sign_in(other, "tam")
    for forged in (fields, fields + "x", "x"):
        other.post("/lock/")
        assert other.post("/unlock/", {"password": RIGHT, "fields": forged, "next": "/me/"}).url == "/me/"


def test_a_locked_session_can_be_ended_by_the_next_person(at_the_counter):
    at_the_counter.post("/lock/")
    assert at_the_counter.post("/sign-out/").url == "/sign-in/"
    assert at_the_counter.get("/counter/").status_code == 302


def test_unlocking_never_leads_to_another_site(at_the_counter):
    at_the_counter.post("/lock/")
    assert at_the_counter.post("/unlock/", {"password": RIGHT, "next": "https://elsewhere.example/"}).url == "/"


def test_signing_out_everywhere_ends_every_session_but_this(at_the_counter, counter):
    phone = Client()
    sign_in(phone, "cora")
    assert sessions.of(counter).count() == 2
    assert at_the_counter.post("/me/sessions/end/").status_code == 302
    assert (at_the_counter.get("/counter/").status_code, phone.get("/counter/").status_code) == (200, 302)
    assert JournalEntry.objects.get().action == "sign out everywhere"


def test_a_changed_password_ends_every_other_session(at_the_counter, counter):
    phone = Client()
    sign_in(phone, "cora")
    new = {"current": RIGHT, "password": "eleven-wet-paddles", "again": "eleven-wet-paddles"}
    assert at_the_counter.post("/me/password/", new | {"current": "guess"}).status_code == 422
    assert at_the_counter.post("/me/password/", new | {"password": RIGHT, "again": RIGHT}).status_code == 422
    assert at_the_counter.post("/me/password/", new).url == "/me/"
    assert (at_the_counter.get("/counter/").status_code, phone.get("/counter/").status_code) == (200, 302)
    assert counter.open_sessions.count() == 1
    assert sign_in(Client(), "cora").status_code == 422


def test_signing_in_gives_the_session_a_new_name(counter):
    with_password(counter)
    client = Client()
    client.get("/sign-in/")
    sign_in(client, "cora")
    first = client.cookies["sessionid"].value
    client.post("/sign-out/")
    sign_in(client, "cora")
    assert client.cookies["sessionid"].value != first
    assert OpenSession.objects.filter(session_key=first).count() == 0


def test_the_demo_s_people_have_no_password_and_a_press_opens_the_lock(client_of, counter, settings):
    counter.set_unusable_password()
    counter.save()
    client = client_of(counter)
    client.post("/lock/")
    assert "no password" in client.get("/counter/").content.decode()
    settings.DEMO = False
    assert client.post("/unlock/").status_code == 422
    settings.DEMO = True
    assert client.post("/unlock/", {"next": "/counter/"}).url == "/counter/"
