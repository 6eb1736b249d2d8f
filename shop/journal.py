"""Who did what, when and why: append-only, each entry carries the hash of the one before it.

A changed, removed or slipped-in entry breaks the chain at its place. Entries cut off at the end leave no break behind:
the chain's head stands on every paper that is signed and in every backup. An entry also seals the rows of tables that
are written once: it keeps the hash of each such row that its transaction wrote.
"""

import datetime
import hashlib
import json
from decimal import Decimal

from django.db import connection, models, transaction

from shop import append_only, clock
from shop.keeping import rows
from shop.models import JournalEntry, User

FIRST_HASH = "0" * 64
SYSTEM = "Hullbench"
HEAD_DIGITS = 16
# Any number that nothing else locks.
POSTGRES_LOCK = 0x48554C4C


def record(actor, action: str, subject, before=None, after=None, why: str = "") -> JournalEntry:
    """Write the next entry. Call it inside the transaction that makes the change, so both stand or fall together.

    Rows written once that the transaction wrote before this call are sealed by it.

    `actor` is a User, someone who does not sign in and is kept by name, or None for the program itself; `subject` a
    saved row, told by its `journal_name` where it has one; `before` and `after` are mappings of what changed (dates,
    decimals and rows are written as text). Raises RuntimeError outside a transaction.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("journal.record belongs inside the transaction that makes the change")
    one_writer_at_a_time()
    last = JournalEntry.objects.order_by("-number").first()
    entry = JournalEntry(
        number=last.number + 1 if last else 1,
        at=clock.now(),
        actor=actor if isinstance(actor, User) else None,
        actor_name=str(actor) if actor else SYSTEM,
        action=action,
        subject_kind=subject._meta.label_lower,
        subject_key=str(subject.pk),
        subject_name=str(getattr(subject, "journal_name", subject))[:200],
        before_json=canonical(before or {}),
        after_json=canonical(after or {}),
        why=why,
        seals_json=seals_of(append_only.seal()),
        previous_hash=last.entry_hash if last else FIRST_HASH,
    )
    entry.entry_hash = hash_of(entry)
    entry.save()
    return entry


def verify() -> JournalEntry | None:
    """The first entry that does not follow from the one before it, or None where the whole chain holds."""
    number, previous_hash = 0, FIRST_HASH
    for entry in JournalEntry.objects.order_by("number").iterator(chunk_size=1000):
        follows = entry.number == number + 1 and entry.previous_hash == previous_hash
        if not follows or entry.entry_hash != hash_of(entry):
            return entry
        number, previous_hash = entry.number, entry.entry_hash
    return None


def head() -> str:
    """The chain's last entry as papers print it: its number and the first digits of its hash; empty before any."""
    last = JournalEntry.objects.order_by("-number").values_list("number", "entry_hash").first()
    return in_short(*last) if last else ""


def in_short(number: int, entry_hash: str) -> str:
    return f"{number} {entry_hash[:HEAD_DIGITS]}"


def seals_of(written: list[append_only.AppendOnly]) -> str:
    """The hash of each row, read back from the database, by its table and key; empty without a row."""
    if not written:
        return ""
    kept = [type(row)._base_manager.get(pk=row.pk) for row in written]
    return canonical({seal_name(row): rows.sha256_of(rows.plain(row)) for row in kept})


def seal_older() -> int:
    """Seal the rows of a shop from before the journal sealed any, once, and return how many they were."""
    if JournalEntry.objects.exclude(seals_json="").exists():
        return 0
    with transaction.atomic():
        last = JournalEntry.objects.order_by("-number").first()
        older = [row for model in append_only.protected_models() if model.SEALED for row in model.objects.all()]
        for row in older:
            append_only.note(row)
        if older and last:
            record(None, "seal", last)
    return len(older)


def seal_name(row: models.Model) -> str:
    return f"{row._meta.label_lower}:{row.pk}"


def history(subject) -> models.QuerySet[JournalEntry]:
    """The entries about one row, oldest first."""
    return JournalEntry.objects.filter(subject_kind=subject._meta.label_lower, subject_key=str(subject.pk))


def hash_of(entry: JournalEntry) -> str:
    """SHA-256 over the canonical JSON of everything the entry says, the hash before it included."""
    said = {
        "number": entry.number,
        "at": entry.at.astimezone(datetime.UTC).isoformat(timespec="microseconds"),
        "actor": entry.actor_id,
        "actor_name": entry.actor_name,
        "action": entry.action,
        "subject": [entry.subject_kind, entry.subject_key, entry.subject_name],
        "before": entry.before_json,
        "after": entry.after_json,
        "why": entry.why,
        "previous_hash": entry.previous_hash,
    }
    if entry.seals_json:
        said["seals"] = entry.seals_json
    return hashlib.sha256(canonical(said).encode()).hexdigest()


def canonical(value) -> str:
    """The one JSON text of a value: keys in order, no spaces, no NaN."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False, default=_as_text
    )


def _as_text(value) -> str:
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Decimal | models.Model):
        return str(value)
    raise TypeError(f"the journal cannot write a {type(value).__name__}")


def one_writer_at_a_time():
    """The chain has one tail: PostgreSQL takes a lock until the commit, SQLite's IMMEDIATE transaction is one."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [POSTGRES_LOCK])
