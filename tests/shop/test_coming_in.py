import datetime

import pytest
from django.core.exceptions import SuspiciousOperation
from django.test import Client
from django.utils import timezone

from shop import sign_in_links
from shop.models import SignInLink

pytestmark = pytest.mark.django_db

DOORS = [("counter", "/counter/"), ("tech", "/bench/"), ("owner", "/office/")]


@pytest.mark.parametrize(("role", "door"), DOORS)
def test_each_role_starts_at_its_own_door(client_of, cast, role, door):
    assert client_of(cast[role]).get("/").url == door


@pytest.mark.parametrize(("role", "door"), DOORS)
def test_a_door_opens_to_its_role_and_to_the_owner(client_of, cast, role, door):
    answers = {each: client_of(person).get(door).status_code for each, person in cast.items()}
    assert answers == {each: 200 if each in (role, "owner") else 403 for each in cast}


def test_a_stranger_is_sent_to_sign_in_and_then_to_what_was_asked(client, tech):
    tech.set_password("seven-dry-hatches")
    tech.save()
    page = client.get("/bench/").url
    assert page == "/sign-in/?next=/bench/"
    answer = client.post(page, {"username": "tam", "password": "seven-dry-hatches", "next": "/bench/"})
    assert answer.url == "/bench/"


def test_a_wrong_password_keeps_the_name_typed_and_says_what_is_wrong(client, tech):
    page = client.post("/sign-in/", {"username": "tam", "password": "guess"}).content.decode()
    assert 'value="tam"' in page
    assert "do not go together" in page
    assert "guess" not in page


def test_sign_in_never_leads_to_another_site(client, tech):
    tech.set_password("seven-dry-hatches")
    tech.save()
    form = {"username": "tam", "password": "seven-dry-hatches", "next": "https://elsewhere.example/"}
    assert client.post("/sign-in/", form).url == "/"


def test_signing_out_takes_a_press_of_a_button_not_a_link(client_of, tech):
    client = client_of(tech)
    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/").url == "/sign-in/"
    assert client.get("/bench/").status_code == 302


def test_a_sign_in_link_opens_the_door_of_its_person(client, tech):
    secret = sign_in_links.make_link(tech)
    assert client.get(f"/sign-in/link/{secret}/").url == "/bench/"
    assert client.get("/bench/").status_code == 200


def test_of_a_link_only_the_hash_is_kept_and_it_holds_128_bits(tech):
    secret = sign_in_links.make_link(tech)
    assert secret not in str(SignInLink.objects.values_list())
    assert len(secret) * 6 >= 128


@pytest.mark.parametrize("spoil", ["production", "expired", "left", "mistyped"])
def test_a_link_that_does_not_hold_is_no_page(client, tech, settings, spoil):
    secret = sign_in_links.make_link(tech)
    if spoil == "production":
        settings.DEMO = False
    elif spoil == "expired":
        SignInLink.objects.update(expires=timezone.now() - datetime.timedelta(seconds=1))
    elif spoil == "left":
        tech.is_active = False
        tech.save()
    else:
        secret = secret[:-1]
    assert client.get(f"/sign-in/link/{secret}/").status_code == 404
    assert client.get("/bench/").status_code == 302


def test_one_who_left_is_signed_out_at_once(client_of, tech):
    client = client_of(tech)
    tech.is_active = False
    tech.save()
    assert client.get("/bench/").status_code == 302


def test_health_answers_without_signing_in(client):
    assert client.get("/health/").content.startswith(b"ok\n")


def test_the_pages_that_say_no_say_it_in_words(client_of, tech, monkeypatch):
    client = client_of(tech)
    assert "There is no such page" in client.get("/nowhere/").content.decode()
    assert "<h1>" in client.get("/office/").content.decode()
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(tech)
    assert "This form is no longer valid" in strict.post("/sign-out/").content.decode()

    def raising(error):
        def open_link(secret):
            raise error

        return open_link

    client.raise_request_exception = False
    monkeypatch.setattr("shop.views.user_of", raising(SuspiciousOperation("odd")))
    assert "<h1>" in client.get("/sign-in/link/x/").content.decode()
    monkeypatch.setattr("shop.views.user_of", raising(ZeroDivisionError()))
    answer = client.get("/sign-in/link/x/")
    assert answer.status_code == 500
    assert "Something went wrong" in answer.content.decode()
