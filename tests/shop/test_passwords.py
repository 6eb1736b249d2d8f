"""New passwords after NIST SP 800-63B-4, section 3.1.1.2 (from memory): length and a list, no composition rules."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from shop.accounts.passwords import own_part, without_runs
from shop.models import User

pytestmark = pytest.mark.django_db

OLGA = User(username="olga.owner", name="Olga Ownersen", email="olga@shop.example")


@pytest.mark.parametrize(
    "password",
    [
        "seven-dry-hatches",
        "correct horse battery staple",
        "an old green rope by the door",
        "ждём весну на тихой реке",
        "x7#qP2m!vL9z$Kd",
        "vierzehn nasse Handschuhe" * 4,
    ],
)
def test_long_ones_of_any_kind_are_taken(password):
    assert validate_password(password, OLGA) is None


@pytest.mark.parametrize(
    "password",
    [
        "twelve-chars",
        "fourteen chars",
        "hullbench-hullbench",
        "Hullbench2026!!",
        "qwertyuiopasdfgh",
        "123456789012345",
        "098765432109876",
        "aaaaaaaaaaaaaaaa",
        "abcdefghijklmnop",
        "abcabcabcabcabcabc",
        "password1234567",
        "Password-Password-1",
        "Olga Ownersen 1970",
        "olga.owner-12345",
        "mnbvcxz-lkjhgfdsa",
        "kayak-canoe-kayak",
    ],
)
def test_short_ones_and_those_of_known_words_and_runs_of_keys_are_refused(password):
    with pytest.raises(ValidationError):
        validate_password(password, OLGA)


def test_the_shop_s_own_name_counts_for_nothing():
    from catalog.models import ShopRates

    validate_password("Quillfeather rig 9", OLGA)
    ShopRates.objects.create(holds_from="2026-01-01", shop_name="Quillfeather Boats", currency="USD")
    with pytest.raises(ValidationError, match="easy to guess"):
        validate_password("Quillfeather rig 9", OLGA)


def test_what_is_left_is_counted_without_words_runs_and_repetitions():
    assert own_part("Hullbench-2026", ["hullbench"]) == "2026"
    assert own_part("xyxyxyxy", []) == "xy"
    assert without_runs("ab1234cd") == "abcd"
    assert without_runs("ab4321cd") == "abcd"
    assert without_runs("abc") == "abc"


def test_the_hash_is_slow(settings):
    """OWASP's cheat sheet on keeping passwords (from memory): PBKDF2 with SHA-256 and 600 000 rounds at least."""
    from django.conf import global_settings
    from django.contrib.auth.hashers import PBKDF2PasswordHasher

    assert global_settings.PASSWORD_HASHERS[0].endswith("PBKDF2PasswordHasher")
    assert PBKDF2PasswordHasher.iterations >= 600_000
