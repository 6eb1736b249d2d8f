"""Stops, cautions and notes as a paper shows them: a drawn mark, the word, the sentence."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from builds.estimator.sources import PUBLISHED, SOURCES

from .figures import bound

WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}


@dataclass(frozen=True)
class Warned:
    """One stop, caution or note: its severity, the word for it, what it says, and what that rests on."""

    severity: str
    word: str
    sentence: str
    basis: str = ""


def warned(severity: str, sentence: str, basis: str = "") -> Warned:
    return Warned(severity, WORDS[severity], bound(sentence), basis)


def basis_of(source: str | None) -> str:
    """Return what a caution rests on in a few words: the published title, else the kind of source."""
    known = SOURCES.get(source or "")
    if known is None:
        return ""
    return bound(known.title) if known.kind == PUBLISHED else known.kind


def warned_of(estimate: Mapping[str, Any]) -> list[Warned]:
    """Return the cautions of an estimate document, without those that are the owner's alone (cost and margin)."""
    return [
        warned(caution["severity"], caution["sentence"], basis_of(caution.get("source")))
        for caution in estimate.get("cautions", ())
        if not caution.get("figures", {}).get("staff_only")
    ]


def in_spite_of(reason: str, found: list[Warned]) -> list[Warned]:
    """Return what was found with the owner's written reason for going on after the stops, where there is one."""
    if not reason.strip():
        return found
    said = warned("stop", f"The owner goes on in spite of this stop. Reason: {reason.strip()}")
    stops = [one for one in found if one.severity == "stop"]
    return [*stops, said, *(one for one in found if one.severity != "stop")]
