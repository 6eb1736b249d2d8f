"""What typed words name: an accessory type, a station."""

from dataclasses import dataclass

from django.core.exceptions import ValidationError

from builds import suiting
from builds.models import Ticket
from catalog import shelf
from catalog.fields import fold
from catalog.vocabulary import spoken


@dataclass(frozen=True)
class Kind:
    """An accessory type that is offered, with the reasons why it does not suit this boat or customer."""

    code: str
    name: str
    category: str
    against: tuple[str, ...]

    @property
    def folded(self) -> str:
        return fold(f"{self.name} {self.code} {self.category}".replace("_", " "))


def offered_to(ticket: Ticket) -> list[Kind]:
    """Return the types that are offered, those that suit first, each group by name; no query but the shelf's."""
    withdrawn, known, asked = shelf.withdrawn(), suiting.records(), suiting.asked_of(ticket)
    kinds = [
        Kind(
            code,
            record["name"],
            spoken(record["category"]),
            tuple(suiting.reasons_against(record, ticket.hull, asked)),
        )
        for code, record in known.items()
        if code not in withdrawn
    ]
    return sorted(kinds, key=lambda kind: (bool(kind.against), kind.name))


def one_kind(words: str, offered: list[Kind]) -> tuple[Kind | None, list[Kind]]:
    """Return the type that the words name, or None and the types that they may mean, those that suit first.

    A code or a whole name is one type; else the types that hold every word, where one of them alone suits, that one.
    """
    asked = fold(words)
    for kind in offered:
        if asked in (fold(kind.code), fold(kind.name)):
            return kind, []
    parts = fold(words.replace("_", " ")).split()
    found = [kind for kind in offered if parts and all(part in kind.folded for part in parts)]
    suit = [kind for kind in found if not kind.against]
    if len(found) == 1 or len(suit) == 1:
        return (suit or found)[0], []
    return None, found


def one_station(words: str, stations: list) -> str:
    """Return the key of the station that the words name. Raises ValidationError where none or several do."""
    asked = fold(words)
    if not asked:
        return ""
    for station in stations:
        if asked in (fold(station.key), fold(station.name), fold(station.key.replace("_", " "))):
            return station.key
    found = [s for s in stations if all(part in fold(f"{s.key.replace('_', ' ')} {s.name}") for part in asked.split())]
    if len(found) == 1:
        return found[0].key
    names = ", ".join(station.name for station in (found or stations)[:8])
    word = "is more than one place" if found else "is no place on this boat"
    raise ValidationError(f"“{words}” {word}; accepted: {names}.")
