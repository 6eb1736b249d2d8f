"""A form that is sent twice does its work once.

A form carries a random token ({% once %}). The action that does the form's work spends it inside its transaction, so a
refused or failed act leaves it unspent and the form can be sent again.
"""

import datetime
import re
import secrets
from contextvars import ContextVar
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from shop import clock
from shop.models import SentForm

FIELD = "once"
TOKEN = re.compile(r"[A-Za-z0-9_-]{16,64}")
TOKEN_BYTES = 16
KEPT_DAYS = 30
SWEPT_AT_ONCE = 50


@dataclass
class _Token:
    text: str
    spent: bool = False


_token: ContextVar[_Token | None] = ContextVar("once", default=None)


class AlreadySent(Exception):
    """The form did its work before; `where` is the page that shows it, if that is known."""

    def __init__(self, where: str):
        self.where = where
        super().__init__("This form was sent before.")


def new_token() -> str:
    return secrets.token_urlsafe(TOKEN_BYTES)


def spend(where: str = "") -> None:
    """Spend the token of the form that is being answered; call inside the transaction of its work.

    Nothing happens where the form carries none. Two at once: the later waits for the earlier one's commit. Raises
    AlreadySent where the token is spent.
    """
    token = _token.get()
    if token is None or token.spent:
        return
    # A row that is there already is left alone and no error ends the transaction: then who wrote it is asked.
    mark = secrets.token_hex(8)
    SentForm.objects.bulk_create(
        [SentForm(token=token.text, mark=mark, at=clock.now(), where=where)], ignore_conflicts=True
    )
    row = SentForm.objects.get(token=token.text)
    if row.mark != mark:
        raise AlreadySent(row.where)
    token.spent = True
    sweep()


def sweep() -> None:
    """Forget tokens that no browser sends any more, a few at a time."""
    old = SentForm.objects.filter(at__lt=clock.now() - datetime.timedelta(days=KEPT_DAYS))
    SentForm.objects.filter(pk__in=list(old.values_list("pk", flat=True)[:SWEPT_AT_ONCE])).delete()


class OnceMiddleware:
    """Holds the token of a posted form for the time of its answer, and answers the one that was sent before."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        text = request.POST.get(FIELD, "") if request.method == "POST" else ""
        held = _token.set(_Token(text) if TOKEN.fullmatch(text) else None)
        try:
            return self.get_response(request)
        finally:
            _token.reset(held)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, AlreadySent):
            return None
        where = error.where or came_from(request)
        if getattr(request, "htmx", False):
            return HttpResponse(headers={"HX-Redirect": where})
        return HttpResponseRedirect(where, status=303)


def came_from(request: HttpRequest) -> str:
    """Return the page of this site that the form stood on."""
    parts = urlsplit(request.headers.get("Referer", ""))
    if parts.netloc != request.get_host():
        return "/"
    return parts.path + (f"?{parts.query}" if parts.query else "")
