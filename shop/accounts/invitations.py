"""Invitations: a link to an account of one's own, or to a new password. 128 bits, kept as a hash, for one use."""

import datetime
import hashlib
import secrets

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from shop import clock, journal, people
from shop.accounts import sessions
from shop.accounts.models import Invitation
from shop.models import User

SECRET_BYTES = 16
HOLDS = datetime.timedelta(days=7)
PASSWORD_LINK_HOLDS = datetime.timedelta(days=1)


class Gone(Exception):
    """The link has run out, was used, or never was."""


def invite(actor: User, *, role: str, name: str) -> str:
    """Return the secret of a link by which a new person joins; it is kept nowhere."""
    return make(actor, HOLDS, role=role, name=name)


def link_to_new_password(actor: User, person: User) -> str:
    """Return the secret of a link by which a person sets a new password; an earlier one ends."""
    Invitation.objects.filter(person=person).delete()
    return make(actor, PASSWORD_LINK_HOLDS, role=person.role, name=person.name, person=person)


def make(actor: User, holds: datetime.timedelta, **said) -> str:
    secret, now = secrets.token_urlsafe(SECRET_BYTES), clock.now()
    with transaction.atomic():
        invitation = Invitation.objects.create(
            secret_sha256=hash_of(secret), made_by=actor, made_at=now, expires=now + holds, **said
        )
        what = "send link to new password" if invitation.person_id else "invite"
        told = {"role": invitation.role, "expires": invitation.expires}
        journal.record(actor, what, invitation.person or invitation, {}, told)
    return secret


def open_ones() -> list[Invitation]:
    """Return the invitations of new people that still hold."""
    return list(Invitation.objects.filter(person=None, expires__gt=clock.now()).select_related("made_by"))


def take_back(actor: User, invitation: Invitation) -> None:
    with transaction.atomic():
        journal.record(actor, "take invitation back", invitation, {"role": invitation.role})
        invitation.delete()


def of(secret: str) -> Invitation | None:
    """Return the invitation that still holds, of an inviter and a person who still work here."""
    links = Invitation.objects.filter(secret_sha256=hash_of(secret), expires__gt=clock.now(), made_by__is_active=True)
    return links.exclude(person__is_active=False).select_related("person").first()


def spend(invitation: Invitation) -> None:
    """Use the link up, inside the transaction of what it is for. Raises Gone where another was quicker."""
    gone, _ = Invitation.objects.filter(pk=invitation.pk).delete()
    if not gone:
        raise Gone


def join(invitation: Invitation, *, username: str, name: str, initials: str, password: str) -> User:
    """Make the invited person's account. Raises ValidationError, or Gone."""
    with transaction.atomic():
        spend(invitation)
        return people.make_person(
            None, username=username, name=name, role=invitation.role, initials=initials, password=password
        )


def set_password(invitation: Invitation, password: str) -> User:
    """Give the person of the link a new password; all sessions end. Raises ValidationError, or Gone."""
    person = invitation.person
    with transaction.atomic():
        spend(invitation)
        change_password(person, person, password)
    return person


def change_password(actor: User | None, person: User, password: str, keep_session: str | None = None) -> None:
    """Set a new password; all sessions but one end, and links with them. Raises ValidationError on a weak one."""
    if person.check_password(password):
        raise ValidationError("This is the password you have. Choose another.")
    validate_password(password, person)
    person.set_password(password)
    with transaction.atomic():
        people.save_person(actor, person)
        sessions.end_all(person, but=keep_session)
        Invitation.objects.filter(person=person).delete()


def hash_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
