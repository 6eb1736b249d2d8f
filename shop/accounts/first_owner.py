"""The first owner of a fresh shop: whoever reads the server's console makes the account, once."""

import base64
import hmac
import re

from django.conf import settings
from django.db import transaction
from django.utils.crypto import salted_hmac

from shop import journal, people, roles
from shop.models import User

SECRET_BYTES = 16


class TooLate(Exception):
    """There is an account already."""


def is_wanted() -> bool:
    """Return whether nobody has an account yet; the demo has its own people."""
    return not settings.DEMO and not User.objects.exists()


def secret() -> str:
    """Return what the console says: 128 bits that follow from the shop's key, the same in every process."""
    made = salted_hmac("shop.accounts.first_owner", "first owner", algorithm="sha256").digest()[:SECRET_BYTES]
    return "-".join(re.findall(".{1,4}", base64.b32encode(made).decode().rstrip("=")))


def fits(typed: str) -> bool:
    bare = "".join(re.findall(r"\w", typed.upper()))
    return hmac.compare_digest(bare.encode(), secret().replace("-", "").encode())


def make(*, username: str, name: str, initials: str, password: str) -> User:
    """Make the first owner. Raises ValidationError, or TooLate where another was quicker."""
    with transaction.atomic():
        journal.one_writer_at_a_time()
        if User.objects.exists():
            raise TooLate
        return people.make_person(
            None, username=username, name=name, role=roles.OWNER, initials=initials, password=password
        )


def console_words() -> str:
    """Return what is printed at start while nobody has an account."""
    return f"No account yet. Open /begin/ in a browser and make the first owner's with this secret: {secret()}"
