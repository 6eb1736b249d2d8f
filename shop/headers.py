"""What every answer tells the browser: run and show nothing but the shop's own, tell others nothing, keep nothing."""

import secrets

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
# A browser shows a PDF in a page of its own making, which a policy for pages would break.
POLICY_OF_PDF = "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
UNUSED = "accelerometer camera display-capture geolocation gyroscope magnetometer microphone midi payment usb"
HEADERS = {
    "Permissions-Policy": ", ".join(f"{name}=()" for name in UNUSED.split()),
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Permitted-Cross-Domain-Policies": "none",
}


class HeadersMiddleware:
    """The outermost: its headers stand on every answer, static files and refusals included."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # What a person reads on the page that says sorry, and what stands beside the fault in the log.
        request.reference = secrets.token_hex(4)
        response = self.get_response(request)
        is_pdf = response.get("Content-Type", "").startswith("application/pdf")
        response.headers.setdefault("Content-Security-Policy", POLICY_OF_PDF if is_pdf else POLICY)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if getattr(request, "is_private", False) and not response.has_header("Cache-Control"):
            # Asked for again each time; not "no-store", with which a browser forgets what was typed on going back.
            patch_cache_control(response, private=True, no_cache=True)
        return response
