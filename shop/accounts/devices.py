"""Devices that a person signed in on before: a long-lived, signed cookie, void once the password changes."""

import secrets

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from shop.models import User

SALT = "shop.accounts.devices"
LIFETIME_S = 400 * 24 * 3600
MOST_PEOPLE = 12


def cookie_name() -> str:
    return f"{settings.HOST_ONLY}device"


def read(request: HttpRequest) -> tuple[str, dict[str, str]]:
    """Return the device's own name and a mark for each person who signed in on it; nothing from a forged cookie."""
    try:
        text = request.COOKIES.get(cookie_name(), "")
        said = signing.loads(text, salt=SALT, max_age=LIFETIME_S)
        return str(said["id"]), dict(said["people"])
    except (signing.BadSignature, KeyError, TypeError, ValueError):
        return "", {}


def mark_of(user: User) -> str:
    return salted_hmac(SALT, f"{user.pk}:{user.password}").hexdigest()[:16]


def knows(request: HttpRequest, user: User) -> str:
    """Return the device's name where this person signed in on it before, with the password that still holds."""
    device, people = read(request)
    return device if people.get(str(user.pk)) == mark_of(user) else ""


def remember(request: HttpRequest, response: HttpResponse, user: User) -> HttpResponse:
    """Let the device be known for this person from now on."""
    device, people = read(request)
    kept = {pk: mark for pk, mark in people.items() if pk != str(user.pk)}
    kept = dict(list(kept.items())[-MOST_PEOPLE + 1 :]) | {str(user.pk): mark_of(user)}
    response.set_cookie(
        cookie_name(),
        signing.dumps({"id": device or secrets.token_urlsafe(12), "people": kept}, salt=SALT),
        max_age=LIFETIME_S,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response
