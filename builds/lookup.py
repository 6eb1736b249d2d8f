"""What typed words name: an accessory type, a station."""

from django.core.exceptions import ValidationError

from catalog.fields import fold
from catalog.models import AccessoryType


def one_accessory(words: str, offered: list[AccessoryType], craft: str) -> tuple[AccessoryType | None, list]:
    """Return the accessory type that the words name, or None and the types that they may mean.

    A code or a whole name is one type; else the types that hold every word, those that suit the craft first.
    """
    asked = fold(words)
    for kind in offered:
        if asked in (fold(kind.code), fold(kind.name)):
            return kind, []
    parts = fold(words.replace("_", " ")).split()
    found = [kind for kind in offered if all(part in kind.folded for part in parts)]
    found.sort(key=lambda kind: (craft not in kind.craft, kind.name))
    suiting = [kind for kind in found if craft in kind.craft]
    if len(found) == 1 or len(suiting) == 1:
        return (suiting or found)[0], []
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
