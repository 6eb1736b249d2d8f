"""Sign-in links: one address per person of the demo, instead of a password that everyone would know."""

import datetime
import hashlib
import secrets

from django.conf import settings
from django.utils import timezone

from shop.models import SignInLink, User

SECRET_BYTES = 16
LIFETIME = datetime.timedelta(days=30)


def make_link(user: User) -> str:
    """The secret part of a new link for `user`; only its hash is kept."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    SignInLink.objects.filter(expires__lt=timezone.now()).delete()
    SignInLink.objects.create(user=user, secret_sha256=_hash(secret), expires=timezone.now() + LIFETIME)
    return secret


def user_of(secret: str) -> User | None:
    """Who the link lets in: nobody outside the demo, after it expired, or once the person has left."""
    if not settings.DEMO:
        return None
    links = SignInLink.objects.filter(secret_sha256=_hash(secret), expires__gt=timezone.now(), user__is_active=True)
    link = links.select_related("user").first()
    return link.user if link else None


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
