"""One-time codes against the tables of RFC 4226, appendix D, and RFC 6238, appendix B (SHA-1)."""

import base64

import pytest

from shop.accounts import totp

KEY = b"12345678901234567890"
BASE32 = base64.b32encode(KEY).decode()

RFC_4226 = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]
RFC_6238 = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}


@pytest.mark.parametrize(("counter", "code"), list(enumerate(RFC_4226)))
def test_hotp_gives_the_values_of_rfc_4226(counter, code):
    assert totp.hotp(KEY, counter) == code


@pytest.mark.parametrize(("moment_s", "code"), list(RFC_6238.items()))
def test_totp_gives_the_values_of_rfc_6238(moment_s, code):
    assert totp.hotp(KEY, totp.step_at(moment_s), digits=8) == code


def test_a_code_holds_one_step_before_and_after_and_no_longer():
    code = totp.hotp(KEY, totp.step_at(1111111109))
    at = {shift: totp.matching_step(BASE32, code, 1111111109 + shift, after=0) for shift in (-60, -30, 0, 30, 60)}
    assert [found is not None for found in at.values()] == [False, True, True, True, False]


def test_a_step_that_was_used_or_passed_is_not_accepted_again():
    step = totp.step_at(59)
    assert totp.matching_step(BASE32, totp.hotp(KEY, step), 59, after=step - 1) == step
    assert totp.matching_step(BASE32, totp.hotp(KEY, step), 59, after=step) is None


@pytest.mark.parametrize("code", ["", "0", "28708", "2870822", "abcdef", "２８７０８２", "-1"])
def test_what_is_no_code_is_refused(code):
    assert totp.matching_step(BASE32, code, 59, after=0) is None


def test_a_secret_has_160_bits_and_the_address_names_shop_and_person():
    assert len(base64.b32decode(totp.new_secret())) == 20
    assert totp.address("ABC", "olga o", "Hullbench").startswith("otpauth://totp/Hullbench%3Aolga%20o?secret=ABC&")
