"""Where a request comes from."""

import ipaddress

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str:
    """Return the caller's address; behind the shop's proxy the one that the proxy itself wrote down, the last."""
    text = request.META.get("REMOTE_ADDR", "")
    if settings.SECURE_PROXY_SSL_HEADER:
        text = request.META.get("HTTP_X_FORWARDED_FOR", "").rpartition(",")[2].strip() or text
    try:
        return str(ipaddress.ip_address(text))
    except ValueError:
        return ""


def network_of(address: str) -> str:
    """Return what one caller has to itself: an IPv4 address, or the 64 bits in front of an IPv6 address."""
    if ":" not in address:
        return address
    return str(ipaddress.ip_network(f"{address.partition('%')[0]}/64", strict=False))
