"""One-time codes of a phone: HOTP by RFC 4226, TOTP by RFC 6238. HMAC-SHA-1, steps of 30 s, six digits."""

import base64
import hashlib
import hmac
import secrets
import struct
from urllib.parse import quote, urlencode

STEP_S = 30
DIGITS = 6
SECRET_BYTES = 20
"""160 bits, the length that RFC 4226, section 4, recommends."""
WINDOW = 1
"""A phone's clock may be this many steps off, RFC 6238, section 5.2."""


def new_secret() -> str:
    return base64.b32encode(secrets.token_bytes(SECRET_BYTES)).decode()


def hotp(secret: bytes, counter: int, digits: int = DIGITS) -> str:
    """Return the code of a counter.

    Truncation by RFC 4226, section 5.3: the last half-byte of the HMAC names the place of the four bytes that are
    read as a number of 31 bits; its last `digits` decimal digits are the code.
    """
    mac = hmac.new(secret, struct.pack(">Q", counter), hashlib.sha1).digest()
    place = mac[-1] & 0x0F
    number = struct.unpack(">I", mac[place : place + 4])[0] & 0x7FFFFFFF
    return f"{number % 10**digits:0{digits}d}"


def step_at(moment_s: float) -> int:
    """Return the number of the step at a Unix time [s]."""
    return int(moment_s) // STEP_S


def matching_step(secret: str, code: str, moment_s: float, after: int) -> int | None:
    """Return the step that a typed code belongs to, within the window; None for a wrong code.

    A step up to `after` was used before and is not accepted again, RFC 6238, section 5.2.
    """
    key, now = base64.b32decode(secret), step_at(moment_s)
    found = None
    for step in range(now - WINDOW, now + WINDOW + 1):
        if hmac.compare_digest(hotp(key, step).encode(), code.encode()) and step > after:
            found = step
    return found


def address(secret: str, username: str, issuer: str) -> str:
    """Return what a phone reads from the square code."""
    words = {"secret": secret, "issuer": issuer, "digits": DIGITS, "period": STEP_S}
    return f"otpauth://totp/{quote(f'{issuer}:{username}')}?{urlencode(words)}"
