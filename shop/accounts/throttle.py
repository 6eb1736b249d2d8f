"""Guessing is slowed, nobody is locked out.

Each try is written down before it is looked at, so that many at once, in any number of processes, are counted too; a
try that comes too early is not looked at and makes nobody wait longer. A device that a person signed in on before has a
bucket of its own, which a stranger's guesses don't fill.
"""

import datetime
import hashlib
import math
from dataclasses import dataclass

from django.db import transaction

from shop import clock
from shop.accounts.models import Bucket

FORGOTTEN_AFTER = datetime.timedelta(days=1)
SWEPT_AT_ONCE = 50


@dataclass(frozen=True)
class Rule:
    """How many wrong tries cost nothing, and the longest wait after more of them."""

    free: int
    most_s: int


RULES = {
    "account": Rule(free=5, most_s=900),
    "address": Rule(free=20, most_s=900),
    "device": Rule(free=5, most_s=60),
    "code": Rule(free=5, most_s=900),
}


@dataclass(frozen=True)
class Door:
    """What a try is counted against; `kind` is a name in RULES."""

    kind: str
    name: str

    @property
    def key(self) -> str:
        return hashlib.sha256(f"{self.kind}:{self.name}".encode()).hexdigest()


class TooEarly(Exception):
    """The try was not looked at; the next counts in `wait_s` seconds."""

    def __init__(self, wait: datetime.timedelta):
        self.wait_s = max(1, math.ceil(wait.total_seconds()))
        super().__init__(f"Too many tries. The next one counts in {words(self.wait_s)}.")


def words(seconds: int) -> str:
    if seconds < 90:
        return f"{seconds} s"
    return f"{math.ceil(seconds / 60)} min"


def wait_after(failures: int, rule: Rule) -> datetime.timedelta:
    """Return how long the next try has to wait: nothing at first, then 1 s, 2 s, 4 s ... up to the rule's most."""
    over = failures - rule.free
    return datetime.timedelta(seconds=0 if over < 0 else min(rule.most_s, 2 ** min(over, 30)))


def count(*doors: Door) -> None:
    """Write a try down against every door before it is looked at. Raises TooEarly where one of them is not free."""
    now = clock.now()
    with transaction.atomic():
        rows = locked(doors, now)
        free_from = max(row.free_from for row in rows.values())
        if free_from > now:
            raise TooEarly(free_from - now)
        for door, row in rows.items():
            row.failures = (row.failures if now - row.last_at < FORGOTTEN_AFTER else 0) + 1
            row.last_at, row.free_from = now, now + wait_after(row.failures, RULES[door.kind])
            row.save()
    sweep(now)


def forgive(*doors: Door) -> None:
    """Take the try back, since it was right; an account, a device and a code start anew, an address forgets one."""
    now = clock.now()
    with transaction.atomic():
        for door, row in locked(doors, now).items():
            row.failures = max(0, row.failures - 1) if door.kind == "address" else 0
            row.free_from = now
            row.save()


def locked(doors: tuple[Door, ...], now: datetime.datetime) -> dict[Door, Bucket]:
    """Return the doors' rows, made where there are none, held until the transaction ends, always in one order."""
    by_key = {door.key: door for door in doors}
    fresh = [Bucket(key_sha256=key, last_at=now, free_from=now) for key in sorted(by_key)]
    Bucket.objects.bulk_create(fresh, ignore_conflicts=True)
    rows = Bucket.objects.select_for_update().filter(key_sha256__in=by_key).order_by("key_sha256")
    return {by_key[row.key_sha256]: row for row in rows}


def sweep(now: datetime.datetime) -> None:
    """Forget old tries, a few at a time."""
    old = Bucket.objects.filter(last_at__lt=now - 2 * FORGOTTEN_AFTER)
    Bucket.objects.filter(pk__in=list(old.values_list("pk", flat=True)[:SWEPT_AT_ONCE])).delete()
