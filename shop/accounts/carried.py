"""What was typed into a form that came too early or too late: carried along as hidden fields, and sent afterwards."""

import json

from django.core import signing
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

SALT = "shop.accounts.carried"
LEFT_OUT = ("csrfmiddlewaretoken", "password")
KEPT_S = 24 * 3600


def fields_of(request: HttpRequest) -> str:
    """Return the posted fields as one signed text, which holds for the same person alone; files don't travel."""
    kept = {name: values for name, values in request.POST.lists() if name not in LEFT_OUT}
    return signing.dumps([request.user.pk, request.get_full_path(), json.dumps(kept)], salt=SALT, compress=True)


def unpacked(request: HttpRequest, text: str) -> tuple[str, list[tuple[str, str]]]:
    """Return where the carried fields go and what they are; nothing from a forged text or another person's."""
    try:
        person, path, kept = signing.loads(text, salt=SALT, max_age=KEPT_S)
    except (signing.BadSignature, ValueError):
        return "", []
    if person != request.user.pk:
        return "", []
    return path, [(name, value) for name, values in json.loads(kept).items() for value in values]


def safe_path(request: HttpRequest, path: str, otherwise: str = "/") -> str:
    """Return a path of this site, or another where the one given leads elsewhere."""
    same = url_has_allowed_host_and_scheme(path, {request.get_host()}, require_https=request.is_secure())
    return path if path and same else otherwise
