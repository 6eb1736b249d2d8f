"""The log: to standard error, with the reference of each fault, and without secrets.

The whole text of an entry is gone through, its traceback included: the secret in an address of a link, what was asked
after a question mark, and the row that a database quotes.
"""

import logging
import re

SECRETS = (
    (re.compile(r"(/(?:sign|sign-in/link|invitation)/)[^/\s\"'?<>]+"), r"\1…"),
    (re.compile(r"(\s/[^\s\"'?]*|https?://[^\s\"'?]*)\?[^\s\"'<>]*"), r"\1?…"),
    (re.compile(r"^(\s*DETAIL:).*$", re.MULTILINE), r"\1 …"),
    (re.compile(r"((?:sessionid|csrftoken|device)=)[^;\s]+"), r"\1…"),
)


def without_secrets(text: str) -> str:
    for secret, shown in SECRETS:
        text = secret.sub(shown, text)
    return text


class QuietFormatter(logging.Formatter):
    """Formats an entry, then takes the secrets out of all of it."""

    def format(self, record: logging.LogRecord) -> str:
        record.reference = getattr(getattr(record, "request", None), "reference", "-")
        return without_secrets(super().format(record))


LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "quiet": {
            "()": "shop.log.QuietFormatter",
            "format": "{asctime} {levelname} {name} [{reference}] {message}",
            "style": "{",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "quiet"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "INFO", "propagate": True},
        # Anyone on the net can name another host; each try would be a whole traceback.
        "django.security.DisallowedHost": {"handlers": [], "level": "CRITICAL", "propagate": False},
        "django.server": {"handlers": ["console"], "level": "INFO", "propagate": False},
    },
}
