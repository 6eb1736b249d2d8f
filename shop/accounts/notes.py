"""What happened at the door, for the owner: each sign-in, and how often something was refused."""

import datetime

from django.db import transaction
from django.db.models import F, QuerySet

from shop import clock
from shop.accounts.models import SignInNote
from shop.models import User

Kind = SignInNote.Kind
KEPT = datetime.timedelta(days=400)
SWEPT_AT_ONCE = 50
SINGLE = (Kind.SIGNED_IN, Kind.RECOVERED)


def note(kind: str, user: User | None, address: str) -> None:
    """Write down what happened; refusals of one kind and person within an hour are one row with a count.

    `user` is None for a user name that nobody has; what was typed is not kept.
    """
    now = clock.now()
    hour = now.replace(minute=0, second=0, microsecond=0)
    with transaction.atomic():
        if kind not in SINGLE:
            same = SignInNote.objects.filter(kind=kind, user=user, first_at__gte=hour)
            if same.update(count=F("count") + 1, last_at=now, address=address):
                return
        SignInNote.objects.create(kind=kind, user=user, address=address, first_at=now, last_at=now)
        old = SignInNote.objects.filter(last_at__lt=now - KEPT)
        SignInNote.objects.filter(pk__in=list(old.values_list("pk", flat=True)[:SWEPT_AT_ONCE])).delete()


def latest(count: int) -> QuerySet[SignInNote]:
    """Return the latest notes, with whose they are."""
    return SignInNote.objects.select_related("user")[:count]


def latest_of(user: User, count: int) -> QuerySet[SignInNote]:
    """Return the latest notes about one person."""
    return SignInNote.objects.filter(user=user)[:count]
