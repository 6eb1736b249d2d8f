"""Square codes for a phone's camera."""

import io

import segno
from django.utils.safestring import SafeString, mark_safe


def code_of(text: str) -> SafeString:
    """Return a text as a square code, as SVG."""
    out = io.BytesIO()
    segno.make(text, error="m").save(out, kind="svg", scale=4, border=4, xmldecl=False, svgns=True, omitsize=False)
    return mark_safe(out.getvalue().decode())
