"""The second factor: asked for at sign-in and before risky acts, each code accepted once."""

import pytest
from django.test import Client

from shop import journal
from shop.accounts import second_factor, totp
from shop.accounts.models import RecoveryCode, SecondFactor
from shop.models import JournalEntry
from tests.shop.accounts_at_work import RIGHT, sign_in, with_password

pytestmark = pytest.mark.django_db


def code_now(person, moved_clock):
    import base64

    secret = SecondFactor.objects.get(user=person).secret
    return totp.hotp(base64.b32decode(secret), totp.step_at(moved_clock.at.timestamp()))


@pytest.fixture
def taken_on(owner, moved_clock):
    """The owner with a second factor in force, and the recovery codes that were shown."""
    with_password(owner)
    client = Client()
    sign_in(client, "olga")
    page = client.get("/me/second-factor/").content.decode()
    assert "<svg" in page
    assert client.post("/me/second-factor/", {"code": "000000"}).status_code == 422
    shown = client.post("/me/second-factor/", {"code": code_now(owner, moved_clock)})
    moved_clock.on(seconds=90)
    return shown.context["codes"]


def test_the_password_alone_opens_nothing_once_a_code_is_asked_for(taken_on, owner, moved_clock):
    client = Client()
    assert sign_in(client, "olga").url == "/sign-in/code/"
    assert client.get("/me/").status_code == 302
    assert client.post("/sign-in/code/", {"code": "123 456"}).status_code == 422
    assert client.post("/sign-in/code/", {"code": code_now(owner, moved_clock)}).url == "/"
    assert client.get("/me/").status_code == 200


def test_a_code_is_accepted_once(taken_on, owner, moved_clock):
    code = code_now(owner, moved_clock)
    for status in (302, 422):
        client = Client()
        sign_in(client, "olga")
        assert client.post("/sign-in/code/", {"code": code}).status_code == status


def test_the_step_between_password_and_code_runs_out(taken_on, owner, moved_clock):
    client = Client()
    sign_in(client, "olga")
    moved_clock.on(minutes=6)
    assert client.post("/sign-in/code/", {"code": code_now(owner, moved_clock)}).url == "/sign-in/"
    assert Client().get("/sign-in/code/").url == "/sign-in/"


def test_each_recovery_code_opens_once_and_only_its_hash_is_kept(taken_on, owner):
    assert len(taken_on) == 10 == RecoveryCode.objects.count()
    assert taken_on[0].replace(" ", "") not in str(RecoveryCode.objects.values_list())
    for status in (302, 422):
        client = Client()
        sign_in(client, "olga")
        assert client.post("/sign-in/code/", {"code": taken_on[0].lower()}).status_code == status
    assert "use recovery code" in JournalEntry.objects.values_list("action", flat=True)


def test_new_recovery_codes_end_the_old_ones(taken_on, owner):
    second_factor.renew_codes(owner)
    assert not second_factor.spend_recovery(owner, second_factor.bare(taken_on[0]))


def test_guessing_codes_is_slowed(taken_on, owner, moved_clock):
    client = Client()
    sign_in(client, "olga")
    statuses = [client.post("/sign-in/code/", {"code": f"{n:06d}"}).status_code for n in range(50)]
    assert statuses.count(429) >= 40


def test_risky_acts_ask_again_after_ten_minutes_and_nothing_typed_is_lost(taken_on, owner, moved_clock):
    client = Client()
    sign_in(client, "olga")
    client.post("/sign-in/code/", {"code": code_now(owner, moved_clock)})
    assert client.get("/office/people/").status_code == 200
    moved_clock.on(minutes=9)
    client.get("/me/")
    moved_clock.on(minutes=2)
    form = {"name": "Ulla", "role": "tech"}
    asked = client.post("/office/people/", form, headers={"referer": "http://testserver/office/people/"})
    assert asked.url.startswith("/confirm/")
    assert "Code" in client.get(asked.url).content.decode()
    assert client.post(asked.url, {"code": "000000"}).status_code == 422
    page = client.post(asked.url, {"code": code_now(owner, moved_clock)})
    assert dict(page.context["fields"]) == form and page.context["to"] == "/office/people/"
    assert client.post("/office/people/", form).context["link"]


def test_without_a_second_factor_the_password_is_asked_for(owner, moved_clock):
    with_password(owner)
    client = Client()
    client.force_login(owner)
    assert client.get("/office/people/").url == "/confirm/?next=%2Foffice%2Fpeople%2F"
    assert client.post("/confirm/", {"password": "guess"}).status_code == 422
    assert client.post("/confirm/", {"password": RIGHT}).url == "/office/people/"


def test_it_is_taken_off_by_its_person_or_by_an_owner_and_both_are_journalled(taken_on, owner, moved_clock):
    second_factor.take_off(owner, owner)
    assert sign_in(Client(), "olga").url == "/"
    assert not RecoveryCode.objects.exists()
    acts = list(JournalEntry.objects.values_list("action", flat=True))
    assert acts[0] == "take second factor" and acts[-1] == "take second factor off"
    assert journal.verify() is None


def test_a_secret_that_was_not_confirmed_asks_for_nothing(owner, moved_clock):
    with_password(owner)
    second_factor.begin(owner)
    assert sign_in(Client(), "olga").url == "/"
