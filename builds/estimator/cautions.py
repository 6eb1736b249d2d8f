"""A caution: what to look out for, how bad it is, the figures behind it, its source, and what would mend it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

STOP, CAUTION, NOTE = "stop", "caution", "note"
SEVERITIES = (STOP, CAUTION, NOTE)


@dataclass(frozen=True)
class Caution:
    """One caution; a strong one has `figures["strong"]` true. `line` is the id of the line it is about.

    `mends` are acts that would clear it, the best first, each as data: `{"do": "add", "accessory": …}`.
    """

    code: str
    severity: str
    sentence: str
    figures: Mapping[str, Any] = field(default_factory=dict)
    source: str = "common_practice"
    mends: tuple[Mapping[str, Any], ...] = ()
    line: str | None = None


def by_weight(cautions: list[Caution]) -> tuple[Caution, ...]:
    """Return cautions with stops first, then cautions, then notes, each in the order found."""
    return tuple(sorted(cautions, key=lambda caution: SEVERITIES.index(caution.severity)))
