"""What is refused before it is read: requests that are too large, and plain http from another machine."""

import ipaddress

from django.conf import settings
from django.http import HttpRequest, HttpResponse, QueryDict
from django.template.loader import render_to_string


class LimitsMiddleware:
    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.PLAIN_HTTP and not is_this_machine(request.META.get("REMOTE_ADDR", "")):
            return refusal("plain_http", 403)
        if "chunked" in request.headers.get("Transfer-Encoding", "").lower():
            # Its length is not known before it is read.
            return refusal("too_large", 411)
        if length_of(request) > settings.LARGEST_REQUEST_BYTES:
            return refusal("too_large", 413)
        return self.get_response(request)


class ZeroBytesMiddleware:
    """Takes zero bytes out of what is typed: no keyboard makes one, and PostgreSQL keeps no text with one in it."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.GET = without_zero_bytes(request.GET)
        if request.method == "POST":
            request.POST = without_zero_bytes(request.POST)
        return self.get_response(request)


def without_zero_bytes(sent: QueryDict) -> QueryDict:
    if not any("\x00" in value for values in sent.lists() for value in (values[0], *values[1])):
        return sent
    clean = QueryDict(mutable=True, encoding=sent.encoding)
    for name, values in sent.lists():
        clean.setlist(name.replace("\x00", ""), [value.replace("\x00", "") for value in values])
    clean._mutable = False
    return clean


def refusal(template: str, status: int) -> HttpResponse:
    context = {"most_mb": settings.LARGEST_REQUEST_BYTES // 1_000_000}
    return HttpResponse(render_to_string(f"errors/{template}.html", context), status=status)


def length_of(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0


def is_this_machine(address: str) -> bool:
    """Return whether an address is this machine's own; a socket of this machine has none."""
    if not address:
        return True
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    return (getattr(found, "ipv4_mapped", None) or found).is_loopback
