"""A second factor: a code of the person's phone, or one of the recovery codes, each accepted once."""

import base64
import hashlib
import re
import secrets

from django.db import transaction
from django.http import HttpRequest

from shop import clock, journal
from shop.accounts import notes, throttle, totp
from shop.accounts.addresses import address_of
from shop.accounts.models import RecoveryCode, SecondFactor
from shop.accounts.passwords import Wrong
from shop.accounts.throttle import Door, TooEarly
from shop.models import User

CODES = 10
CODE_BYTES = 15
"""120 bits: 24 letters and figures, in six groups of four."""


def of(user: User) -> SecondFactor | None:
    """Return a person's second factor that is in force."""
    return SecondFactor.objects.filter(user=user, confirmed_at__isnull=False).first()


def begin(user: User) -> SecondFactor:
    """Return the factor that waits for its first code; one that is in force is left alone."""
    factor, _ = SecondFactor.objects.get_or_create(user=user, defaults={"secret": totp.new_secret()})
    return factor


def take_on(user: User, code: str) -> list[str]:
    """Put the waiting factor in force by a first code; return the recovery codes, shown this once. Raises Wrong."""
    with transaction.atomic():
        factor = SecondFactor.objects.select_for_update().filter(user=user, confirmed_at=None).first()
        step = factor and totp.matching_step(factor.secret, bare(code), clock.now().timestamp(), factor.last_step)
        if not step:
            raise Wrong
        factor.confirmed_at, factor.last_step = clock.now(), step
        factor.save()
        journal.record(user, "take second factor", user)
        return new_codes(user)


def renew_codes(user: User) -> list[str]:
    """Return new recovery codes; the old ones open nothing any more."""
    with transaction.atomic():
        journal.record(user, "new recovery codes", user)
        return new_codes(user)


def new_codes(user: User) -> list[str]:
    codes = [base64.b32encode(secrets.token_bytes(CODE_BYTES)).decode() for _ in range(CODES)]
    RecoveryCode.objects.filter(user=user).delete()
    RecoveryCode.objects.bulk_create(RecoveryCode(user=user, code_sha256=hash_of(code)) for code in codes)
    return [" ".join(re.findall(".{4}", code)) for code in codes]


def take_off(actor: User, user: User) -> None:
    """Let the person in by the password alone again."""
    with transaction.atomic():
        SecondFactor.objects.filter(user=user).delete()
        RecoveryCode.objects.filter(user=user).delete()
        journal.record(actor, "take second factor off", user)


def check(request: HttpRequest, user: User, typed: str) -> None:
    """Accept a code, once. Raises Wrong, or TooEarly without having looked."""
    door, address, code = Door("code", str(user.pk)), address_of(request), bare(typed)
    try:
        throttle.count(door)
    except TooEarly:
        notes.note(notes.Kind.SLOWED, user, address)
        raise
    recovering = len(code) > totp.DIGITS
    if not (spend_recovery(user, code) if recovering else spend(user, code)):
        notes.note(notes.Kind.WRONG_CODE, user, address)
        raise Wrong
    throttle.forgive(door)
    if recovering:
        notes.note(notes.Kind.RECOVERED, user, address)


def spend(user: User, code: str) -> bool:
    with transaction.atomic():
        factor = SecondFactor.objects.select_for_update().get(user=user, confirmed_at__isnull=False)
        step = totp.matching_step(factor.secret, code, clock.now().timestamp(), factor.last_step)
        if step is None:
            return False
        factor.last_step = step
        factor.save()
        return True


def spend_recovery(user: User, code: str) -> bool:
    with transaction.atomic():
        spent, _ = RecoveryCode.objects.filter(user=user, code_sha256=hash_of(code)).delete()
        if spent:
            journal.record(user, "use recovery code", user)
    return bool(spent)


def bare(typed: str) -> str:
    return re.sub(r"[\s-]", "", typed).upper()


def hash_of(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()
