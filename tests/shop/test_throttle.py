"""Guessing is slowed and the right person gets in.

NIST SP 800-63B-4, section 3.2.2 (from memory): no more than 100 wrong tries in a row on one account.
"""

import datetime

import pytest
from django.contrib.auth.backends import ModelBackend
from django.test import Client

from shop.accounts import devices, throttle
from shop.accounts.addresses import address_of, network_of
from shop.accounts.models import Bucket, SignInNote
from shop.accounts.throttle import Door, TooEarly, wait_after
from shop.models import User
from tests.shop.accounts_at_work import RIGHT, sign_in, with_password

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def from_anywhere(settings):
    """Callers of other addresses, which the demo does not answer."""
    settings.PLAIN_HTTP = False


@pytest.fixture
def looked(monkeypatch):
    """The user names whose password was looked at."""
    names, look = [], ModelBackend.authenticate

    def counted(self, request, username=None, password=None, **more):
        names.append(username)
        return look(self, request, username=username, password=password, **more)

    monkeypatch.setattr(ModelBackend, "authenticate", counted)
    return names


def test_of_a_thousand_guesses_fewer_than_a_hundred_are_looked_at_and_the_person_gets_in(tech, looked, moved_clock):
    """One guess a second, from another address each time."""
    with_password(tech)
    own_phone = Client()
    assert sign_in(own_phone, "tam").status_code == 302
    own_phone.post("/sign-out/")
    stranger, statuses = Client(), set()
    for n in range(1000):
        statuses.add(sign_in(stranger, "tam", f"guess {n}", REMOTE_ADDR=f"198.51.{n % 100}.{n // 100}").status_code)
        moved_clock.on(seconds=1)
    assert statuses == {422, 429}
    assert 10 < len(looked) - 1 < 100
    assert sign_in(own_phone, "tam").status_code == 302


def test_the_person_gets_in_on_a_new_device_as_soon_as_the_wait_is_over(tech, moved_clock):
    with_password(tech)
    for n in range(40):
        sign_in(Client(), "tam", f"guess {n}")
    answer = sign_in(Client(), "tam")
    assert answer.status_code == 429
    moved_clock.on(seconds=int(answer["Retry-After"]))
    assert sign_in(Client(), "tam").status_code == 302


def test_many_names_from_one_address_are_slowed_too(tech, looked, moved_clock):
    for n in range(400):
        sign_in(Client(), f"name{n}", "guess", REMOTE_ADDR="198.51.100.7")
        moved_clock.on(seconds=1)
    assert 20 < len(looked) < 40


def test_a_guess_that_comes_too_early_makes_nobody_wait_longer(moved_clock):
    door = Door("account", "tam")
    for _ in range(5):
        throttle.count(door)
    for _ in range(50):
        with pytest.raises(TooEarly):
            throttle.count(door)
    assert Bucket.objects.get(key_sha256=door.key).failures == 5


@pytest.mark.parametrize(("failures", "wait_s"), [(0, 0), (4, 0), (5, 1), (6, 2), (9, 16), (15, 900), (10_000, 900)])
def test_the_wait_doubles_from_one_second_to_a_quarter_of_an_hour(failures, wait_s):
    assert wait_after(failures, throttle.RULES["account"]) == datetime.timedelta(seconds=wait_s)


def test_a_known_device_waits_a_minute_at_most():
    assert wait_after(1000, throttle.RULES["device"]) == datetime.timedelta(minutes=1)


def test_a_name_that_nobody_has_is_answered_alike_and_its_password_is_hashed_too(tech, looked, monkeypatch):
    with_password(tech)
    hashed = []
    monkeypatch.setattr(User, "set_password", lambda self, raw: hashed.append(raw))
    known, unknown = sign_in(Client(), "tam", "guess"), sign_in(Client(), "tim", "guess")
    assert (known.status_code, unknown.status_code) == (422, 422)
    assert looked == ["tam", "tim"] and hashed == ["guess"]

    def words(answer):
        body = answer.content.decode()
        return body[body.index("There is a problem") : body.index("</ul>") if "</ul>" in body else None][:200]

    assert words(known).replace("tam", "") == words(unknown).replace("tim", "")


def test_an_unknown_name_is_slowed_like_a_known_one(moved_clock):
    answers = {name: [sign_in(Client(), name, "guess").status_code for _ in range(8)] for name in ("tam", "nobody")}
    assert answers["tam"] == answers["nobody"] == [422] * 5 + [429] * 3


def test_a_forged_or_foreign_device_cookie_opens_no_bucket_of_its_own(tech, counter, rf):
    with_password(tech), with_password(counter)
    phone = Client()
    sign_in(phone, "tam")
    request = rf.get("/")
    request.COOKIES[devices.cookie_name()] = phone.cookies[devices.cookie_name()].value
    assert devices.knows(request, tech)
    assert devices.knows(request, counter) == ""
    request.COOKIES[devices.cookie_name()] += "x"
    assert devices.knows(request, tech) == ""


def test_a_device_is_known_no_more_once_the_password_changed(tech, rf):
    with_password(tech)
    phone = Client()
    sign_in(phone, "tam")
    request = rf.get("/")
    request.COOKIES[devices.cookie_name()] = phone.cookies[devices.cookie_name()].value
    with_password(tech, "eight-dry-hatches")
    assert devices.knows(request, User.objects.get(pk=tech.pk)) == ""


def test_the_device_cookie_is_kept_from_scripts_and_from_other_sites(tech):
    with_password(tech)
    cookie = sign_in(Client(), "tam").cookies[devices.cookie_name()]
    assert cookie["httponly"] and cookie["samesite"] == "Lax" and int(cookie["max-age"]) > 300 * 24 * 3600


def test_the_owner_sees_sign_ins_and_refusals_counted_and_nothing_that_was_typed(tech, owner, client_of, moved_clock):
    with_password(tech)
    sign_in(Client(), "tam")
    for _ in range(9):
        sign_in(Client(), "tam", "a-typed-secret")
    sign_in(Client(), "my password by mistake", "x")
    rows = {(note.kind, note.user_id): note.count for note in SignInNote.objects.all()}
    assert rows == {("signed_in", tech.pk): 1, ("wrong", tech.pk): 5, ("slowed", tech.pk): 4, ("wrong", None): 1}
    page = client_of(owner).get("/office/people/sign-ins/").content.decode()
    assert "Tam Tech" in page and "a name nobody has" in page
    assert "a-typed-secret" not in page and "by mistake" not in page


def test_an_ipv6_caller_has_one_bucket_for_its_whole_network():
    assert network_of("2001:db8::1") == network_of("2001:db8::ffff") == "2001:db8::/64"
    assert network_of("192.0.2.7") == "192.0.2.7"


def test_behind_the_shop_s_proxy_the_address_is_the_one_that_the_proxy_wrote(rf, settings):
    request = rf.get("/", headers={"X-Forwarded-For": "203.0.113.9, 198.51.100.7"}, REMOTE_ADDR="127.0.0.1")
    settings.SECURE_PROXY_SSL_HEADER = None
    assert address_of(request) == "127.0.0.1"
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    assert address_of(request) == "198.51.100.7"


def test_old_tries_are_forgotten(moved_clock):
    door = Door("account", "tam")
    for _ in range(5):
        throttle.count(door)
    moved_clock.on(days=1)
    throttle.count(door)
    assert Bucket.objects.get(key_sha256=door.key).failures == 1
    moved_clock.on(days=3)
    throttle.count(Door("account", "tim"))
    assert not Bucket.objects.filter(key_sha256=door.key).exists()


def test_the_right_password_starts_the_account_anew_and_forgives_the_address_one(tech, moved_clock):
    with_password(tech)
    for _ in range(4):
        sign_in(Client(), "tam", "guess")
    assert sign_in(Client(), "tam", RIGHT).status_code == 302
    left = {
        door: Bucket.objects.get(key_sha256=door.key).failures
        for door in (Door("account", "tam"), Door("address", "127.0.0.1"))
    }
    assert list(left.values()) == [0, 4]
