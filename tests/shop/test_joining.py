"""The first owner, invitations, and links to a new password."""

import datetime

import pytest
from django.test import Client

from shop import journal
from shop.accounts import first_owner, invitations
from shop.accounts.models import Invitation
from shop.models import JournalEntry, User
from tests.shop.accounts_at_work import RIGHT, sign_in, with_password

pytestmark = pytest.mark.django_db

OLGA = {"name": "Olga", "initials": "O", "username": "olga", "password": RIGHT, "again": RIGHT}
ULLA = OLGA | {"name": "Ulla", "username": "ulla", "initials": "U"}


@pytest.fixture
def fresh_shop(settings):
    settings.DEMO = False


def test_a_fresh_shop_has_no_account_and_asks_for_the_first_owner(client, fresh_shop):
    assert not User.objects.exists()
    assert client.get("/", follow=True).redirect_chain[-1][0] == "/begin/"


def test_whoever_reads_the_console_becomes_the_first_owner_and_the_page_is_gone(client, fresh_shop):
    assert first_owner.secret() in first_owner.console_words()
    assert client.post("/begin/", OLGA | {"secret": first_owner.secret().lower()}).url == "/"
    assert client.get("/", follow=True).redirect_chain[-1][0] == "/office/"
    assert User.objects.get().role == "owner"
    assert client.get("/begin/").status_code == Client().get("/begin/").status_code == 404
    assert [entry.action for entry in JournalEntry.objects.all()] == ["make_person"]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"secret": "AAAA-BBBB"}, "This is not the secret"),
        ({"again": "another-dry-hatch"}, "The two passwords differ"),
        ({"password": "short", "again": "short"}, "too short"),
        ({"username": "a b"}, "valid username"),
    ],
)
def test_a_wrong_secret_or_a_weak_password_makes_nobody_and_keeps_what_was_typed(client, fresh_shop, change, told):
    answer = client.post("/begin/", OLGA | {"secret": first_owner.secret()} | change)
    page = answer.content.decode()
    assert answer.status_code == 422 and told in page
    assert 'value="Olga"' in page and RIGHT not in page
    assert not User.objects.exists()


def test_the_secret_holds_128_bits_and_guessing_it_is_slowed(client, fresh_shop, moved_clock):
    assert len(first_owner.secret().replace("-", "")) * 5 >= 128
    pages = [client.post("/begin/", OLGA | {"secret": f"guess {n}"}).content.decode() for n in range(30)]
    assert "Too many tries" in pages[-1] and "Too many tries" not in pages[0]


def test_the_demo_has_its_own_people_and_no_such_page(client):
    assert client.get("/begin/").status_code == 404


def invite(client_of, owner, role="tech"):
    client = client_of(owner)
    sign_in_again(client, owner)
    page = client.post("/office/people/", {"name": "Ulla", "role": role})
    return page.context["link"].removeprefix("http://testserver")


def sign_in_again(client, owner):
    with_password(owner)
    client.logout()
    assert sign_in(client, owner.username).status_code == 302


def test_the_owner_invites_by_a_link_and_the_person_sets_name_and_password(client_of, owner):
    link = invite(client_of, owner)
    assert link.rsplit("/", 2)[1] not in str(Invitation.objects.values_list())
    assert len(link.rsplit("/", 2)[1]) * 6 >= 128
    phone = Client()
    assert "Join as tech" in phone.get(link).content.decode()
    assert phone.post(link, ULLA).url == "/"
    assert phone.get("/bench/").status_code == 200
    ulla = User.objects.get(username="ulla")
    assert (ulla.role, ulla.name, ulla.initials) == ("tech", "Ulla", "U")
    assert [entry.action for entry in JournalEntry.objects.all()] == ["invite", "make_person"]
    assert journal.verify() is None


def test_a_link_opens_once(client_of, owner):
    link = invite(client_of, owner)
    Client().post(link, ULLA)
    assert Client().get(link).status_code == 410
    assert Client().post(link, ULLA | {"username": "other"}).status_code == 410
    assert User.objects.count() == 2


@pytest.mark.parametrize("spoil", ["late", "taken back", "inviter left", "mistyped"])
def test_a_link_that_does_not_hold_makes_nobody(client_of, owner, moved_clock, spoil):
    link = invite(client_of, owner)
    if spoil == "late":
        moved_clock.on(days=7, seconds=1)
    elif spoil == "taken back":
        pk = Invitation.objects.get().pk
        assert Client().post(f"/office/people/invitations/{pk}/take-back/").url.startswith("/sign-in/")
        invitations.take_back(owner, Invitation.objects.get())
    elif spoil == "inviter left":
        User.objects.update(is_active=False)
    else:
        link = link[:-2] + "/"
    assert Client().post(link, ULLA).status_code == 410
    assert not User.objects.filter(username="ulla").exists()


def test_a_taken_name_or_a_weak_password_keeps_the_link_open(client_of, owner):
    link = invite(client_of, owner)
    taken = Client().post(link, ULLA | {"username": "olga"})
    assert (taken.status_code, "Someone has this user name already" in taken.content.decode()) == (422, True)
    assert Client().post(link, ULLA | {"password": "ulla-ulla-ulla-1", "again": "ulla-ulla-ulla-1"}).status_code == 422
    assert Client().post(link, ULLA).status_code == 302


def test_a_link_to_a_new_password_ends_every_session_and_opens_once(tech, owner):
    with_password(tech)
    old = Client()
    sign_in(old, "tam")
    secret = invitations.link_to_new_password(owner, tech)
    phone = Client()
    new = {"password": "eleven-wet-paddles", "again": "eleven-wet-paddles"}
    assert phone.post(f"/invitation/{secret}/", new).url == "/"
    assert phone.get("/bench/").status_code == 200
    assert old.get("/bench/").status_code == 302
    assert Client().post(f"/invitation/{secret}/", new).status_code == 410


def test_a_link_to_a_new_password_runs_out_in_a_day_and_a_later_one_ends_it(tech, owner, moved_clock):
    first = invitations.link_to_new_password(owner, tech)
    second = invitations.link_to_new_password(owner, tech)
    assert invitations.of(first) is None and invitations.of(second) is not None
    moved_clock.on(days=1)
    assert invitations.of(second) is None
    assert datetime.timedelta(days=1) == invitations.PASSWORD_LINK_HOLDS
