"""How long someone stays signed in, when the screen locks, and the sessions a person has open: one table by role.

The names in settings point here: it is the session engine too.
"""

import copy
import datetime
from dataclasses import dataclass

from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.db import OperationalError
from django.db.models import QuerySet
from django.http import HttpRequest

from shop import clock, roles
from shop.accounts.addresses import address_of
from shop.accounts.models import Invitation, OpenSession
from shop.models import SignInLink, User


@dataclass(frozen=True)
class Stay:
    """How long a session lasts whatever happens, and after how long without a sign of life it is locked."""

    at_most: datetime.timedelta
    locks_after: datetime.timedelta


# Common practice, no source: the counter's PC is shared and in view of customers, the tech's phone has a lock of its
# own and wet hands before it, the owner's laptop shows costs.
STAYS = {
    roles.COUNTER: Stay(at_most=datetime.timedelta(hours=12), locks_after=datetime.timedelta(minutes=15)),
    roles.TECH: Stay(at_most=datetime.timedelta(hours=14), locks_after=datetime.timedelta(hours=2)),
    roles.OWNER: Stay(at_most=datetime.timedelta(hours=12), locks_after=datetime.timedelta(minutes=10)),
}
BEGAN, SEEN, LOCKED, ADDRESS, CONFIRMED = "began", "seen", "locked", "address", "confirmed"
SEEN_AGAIN_S = 30
"""A sign of life is written down at most this often."""


class SessionStore(DatabaseStore):
    """The database's sessions, each with the person it belongs to."""

    @classmethod
    def get_model_class(cls):
        return OpenSession

    def load(self):
        said = super().load()
        self.as_read = copy.deepcopy(without_seen(said))
        return said

    def save(self, must_create=False):
        """A sign of life that the database does not take is let go: reading goes on while it is full or held."""
        try:
            super().save(must_create)
        except UpdateError as error:
            if not isinstance(error.__context__, OperationalError):
                raise
            if without_seen(self._get_session(no_load=True)) != getattr(self, "as_read", None):
                raise error.__context__ from None

    def create_model_instance(self, data):
        row = super().create_model_instance(data)
        began = data.get(BEGAN)
        row.user_id = int(data["_auth_user_id"]) if "_auth_user_id" in data else None
        row.began = datetime.datetime.fromtimestamp(began, datetime.UTC) if began else None
        row.address = data.get(ADDRESS, "")
        return row


def without_seen(said: dict) -> dict:
    return {name: value for name, value in said.items() if name != SEEN}


def begin(request: HttpRequest) -> None:
    """Give a session that has just begun its end and its first sign of life."""
    now = clock.now()
    request.session[BEGAN] = request.session[SEEN] = now.timestamp()
    request.session[ADDRESS] = address_of(request)
    request.session.set_expiry(now + STAYS[request.user.role].at_most)


def is_over(request: HttpRequest) -> bool:
    began = datetime.datetime.fromtimestamp(request.session[BEGAN], datetime.UTC)
    return clock.now() >= began + STAYS[request.user.role].at_most


def is_locked(request: HttpRequest) -> bool:
    """Return whether the session waits for its person's password: locked by hand, or left alone for too long."""
    quiet_s = clock.now().timestamp() - request.session[SEEN]
    return request.session.get(LOCKED, False) or quiet_s > STAYS[request.user.role].locks_after.total_seconds()


def seen(request: HttpRequest) -> None:
    now = clock.now().timestamp()
    if now - request.session[SEEN] >= SEEN_AGAIN_S:
        request.session[SEEN] = now


def lock(request: HttpRequest) -> None:
    request.session[LOCKED] = True


def unlock(request: HttpRequest) -> None:
    """Open the session again, under a new name for the browser."""
    request.session.pop(LOCKED, None)
    request.session[SEEN] = clock.now().timestamp()
    request.session.cycle_key()


def of(person: User) -> QuerySet[OpenSession]:
    """Return the sessions a person has open, the latest first."""
    return OpenSession.objects.filter(user=person, expire_date__gt=clock.now()).order_by("-began")


def end_all(person: User, but: str | None = None) -> int:
    """End every session of a person, but the one that is named; return how many."""
    ended, _ = OpenSession.objects.filter(user=person).exclude(session_key=but or "").delete()
    return ended


def end_everything(person: User) -> None:
    """End what lets a person in: sessions, sign-in links, links to a new password. Call inside a transaction."""
    end_all(person)
    SignInLink.objects.filter(user=person).delete()
    Invitation.objects.filter(person=person).delete()
