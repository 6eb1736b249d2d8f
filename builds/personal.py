"""What the journal says of a person stands beside it: the entry keeps a reference and a hash, the text can be erased.

The chain holds the reference, so it stays whole when the text goes; while the text is there, its hash proves it.
"""

import hashlib
import json
import secrets
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from builds.models import PersonalText, Ticket
from shop.journal import canonical
from shop.models import JournalEntry

# What of an entry is put away: who the customer is, what was typed freely, what names a boat.
PERSONAL = (
    "customer",
    "title",
    "asked",
    "interview",
    "aboard",
    "boat",
    "hull_number",
    "name",
    "sent_to",
    "number_called",
)
NOTE = "personal"
ERASED = "erased"
Texts = dict[str, Any]


def put_away(ticket: Ticket, customer_id: int | None, said: dict[str, Any]) -> dict[str, Any]:
    """Return what an entry may say: each personal value kept beside the journal, a reference in its place.

    Call it inside the transaction of the entry.
    """
    rows, kept = [], dict(said)
    for name in PERSONAL:
        if not said.get(name):
            continue
        row = PersonalText(
            key=secrets.token_hex(16),
            salt=secrets.token_hex(16),
            text_json=canonical(said[name]),
            ticket=ticket,
            customer_id=customer_id,
        )
        rows.append(row)
        kept[name] = {NOTE: row.key, "sha256": hash_of(row)}
    PersonalText.objects.bulk_create(rows)
    return kept


def hash_of(row: PersonalText) -> str:
    return hashlib.sha256((row.salt + row.text_json).encode()).hexdigest()


def is_reference(value: Any) -> bool:
    return isinstance(value, dict) and set(value) == {NOTE, "sha256"}


def shown(said: dict[str, Any]) -> dict[str, Any]:
    """Return what an entry says with its personal values put back; those that were erased are left out."""
    keys = [value[NOTE] for value in said.values() if is_reference(value)]
    texts = kept_texts(keys)
    return {
        name: texts[value[NOTE]] if is_reference(value) else value
        for name, value in said.items()
        if not is_reference(value) or value[NOTE] in texts
    }


def texts_of(entries: Iterable[JournalEntry]) -> Texts:
    """Return the personal texts that entries refer to, in one query."""
    said = [value for entry in entries for side in (entry.before, entry.after) for value in side.values()]
    return kept_texts([value[NOTE] for value in said if is_reference(value)])


def kept_texts(keys: list[str]) -> Texts:
    rows = PersonalText.objects.filter(key__in=keys).values_list("key", "text_json") if keys else []
    return {key: json.loads(text) for key, text in rows}


def words(value: Any, texts: Texts) -> Any:
    """Return a value of an entry for a reader."""
    return texts.get(value[NOTE], ERASED) if is_reference(value) else value


def altered() -> list[str]:
    """Return the keys of texts that are not what their entry was written with."""
    return [key for key, _ in unlike(PersonalText.objects.all(), JournalEntry.objects.order_by("number"))]


def findings(read: Callable[[Any], Iterable[Any]]) -> Iterator[str]:
    """Tell `verify` of each text that was changed, wherever the rows are read from."""
    for _, number in unlike(read(PersonalText), read(JournalEntry)):
        yield f"A personal text beside journal entry {number} was changed: it does not give the hash in the entry."


def unlike(texts: Iterable[PersonalText], entries: Iterable[JournalEntry]) -> Iterator[tuple[str, int]]:
    """Hold each text that is still there to the hash in its entry."""
    hashes = {row.key: hash_of(row) for row in texts}
    for entry in entries:
        for value in (*entry.before.values(), *entry.after.values()):
            if is_reference(value) and hashes.get(value[NOTE], value["sha256"]) != value["sha256"]:
                yield value[NOTE], entry.number
