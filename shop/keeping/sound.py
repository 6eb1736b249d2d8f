"""Whether everything is as it was written: the database, the journal's chain, and every row that is written once."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from django.conf import settings
from django.db import DatabaseError, connections, models
from django.utils.module_loading import import_string

from shop import append_only, journal
from shop.keeping import rows
from shop.models import Backup, JournalEntry

SHORTEST_HEAD = 8
MOST_TOLD = 20
"""More findings of one kind than this help nobody."""
Read = Callable[[rows.Model], Iterator[models.Model]]
"""Gives the rows of a model in the order of their keys: from a database, or from a backup."""


@dataclass
class Chain:
    """The journal as it was walked: its head, the hash of every entry, and the latest seal of each row.

    The journal of a shop from before rows were sealed has no seal at all.
    """

    number: int = 0
    entry_hash: str = journal.FIRST_HASH
    hashes: dict[int, str] = field(default_factory=dict)
    seals: dict[str, tuple[int, str | None]] = field(default_factory=dict)
    seals_rows: bool = False
    unread: set[str] = field(default_factory=set)


@dataclass
class Report:
    """What was looked at, in words, and what is wrong."""

    entries: int = 0
    head: str = ""
    rows: int = 0
    files: int = 0
    findings: list[str] = field(default_factory=list)

    @property
    def is_sound(self) -> bool:
        return not self.findings


def verify(alias: str = "default") -> Report:
    """Look at everything in a database."""
    report = Report(findings=[*database_findings(alias)])
    return look_at(lambda model: rows.rows_of(model, alias), report)


def look_at(read: Read, report: Report | None = None) -> Report:
    """Look at the journal's chain and at every row that is written once, wherever the rows come from."""
    report = report or Report()
    chain = Chain()
    report.findings += list(told(chain_findings(read, chain), "the journal"))
    report.entries, report.head = len(chain.hashes), journal.in_short(chain.number, chain.entry_hash)
    for model in append_only.protected_models():
        if model.SEALED:
            report.findings += list(
                told(row_findings(read, model, chain, report), f"the {model._meta.verbose_name} rows")
            )
    for check in settings.ALSO_VERIFIED:
        report.findings += list(told(import_string(check)(read), "what stands beside the journal"))
    report.findings += list(told(lost(chain), "the rows that are gone"))
    report.findings += list(told(heads_lost(read, chain), "the backups' heads"))
    return report


def told(findings: Iterator[str], where: str) -> Iterator[str]:
    """Pass the first findings on; what cannot even be read is a finding."""
    count = 0
    try:
        for finding in findings:
            count += 1
            if count <= MOST_TOLD:
                yield finding
    except Exception as error:
        # A flipped byte can make a text no text, a number no number or a page no page: each a different error.
        yield f"{where[:1].upper()}{where[1:]} cannot be read to the end: {type(error).__name__}, {error}"
    if count > MOST_TOLD:
        yield f"And {count - MOST_TOLD} more of {where}."


def chain_findings(read: Read, chain: Chain) -> Iterator[str]:
    """Walk the journal, and tell of each entry that does not follow from the one before it."""
    for entry in read(JournalEntry):
        if entry.number != chain.number + 1:
            yield f"Journal entry {chain.number + 1} is missing; entry {entry.number} comes after {chain.number}."
        elif entry.previous_hash != chain.entry_hash:
            yield f"Journal entry {entry.number} does not follow from entry {chain.number}: one of them was replaced."
        if entry.entry_hash != journal.hash_of(entry):
            yield f"Journal entry {entry.number} was changed: it does not give its own hash."
        chain.number, chain.entry_hash = entry.number, entry.entry_hash
        chain.hashes[entry.number] = entry.entry_hash
        chain.seals_rows |= bool(entry.seals_json)
        for name, sha256 in entry.seals.items():
            chain.seals[name] = (entry.number, sha256)


def row_findings(read: Read, model: rows.Model, chain: Chain, report: Report) -> Iterator[str]:
    """Hold each row to its seal, and each file that it keeps to its hash."""
    words = model._meta.verbose_name
    chain.unread.add(rows.label_of(model))
    for row in read(model):
        report.rows += 1
        number, sealed = chain.seals.pop(journal.seal_name(row), (0, None))
        if sealed is None and (chain.seals_rows or model is Backup):
            yield f"The {words} {row.pk} stands in no journal entry: it was slipped in."
        elif sealed is not None and sealed != rows.sha256_of(rows.plain(row)):
            yield f"The {words} {row.pk} is not what journal entry {number} says: it was changed or replaced."
        yield from file_findings(row, words, report)
    chain.unread.discard(rows.label_of(model))


def file_findings(row: append_only.AppendOnly, words: str, report: Report) -> Iterator[str]:
    try:
        for what, data, sha256 in row.kept():
            report.files += 1
            if hashlib.sha256(data).hexdigest() != sha256:
                yield f"The {what} of {words} {row.pk} does not give its SHA-256: its bytes were changed."
    except Exception as error:
        yield f"What {words} {row.pk} keeps cannot be read: {type(error).__name__}, {error}"


def lost(chain: Chain) -> Iterator[str]:
    """Tell of rows that the journal speaks of and that are gone; an entry may say that a row was taken away."""
    for name, (number, sha256) in chain.seals.items():
        label, _, key = name.partition(":")
        if sha256 is not None and label not in chain.unread:
            yield f"Gone: {label} {key}, which journal entry {number} speaks of."


def heads_lost(read: Read, chain: Chain) -> Iterator[str]:
    """Hold the journal to the heads that earlier backups wrote down."""
    for backup in read(Backup):
        if backup.journal_number and chain.hashes.get(backup.journal_number) != backup.journal_hash:
            yield f"Backup {backup.file} knew another journal entry {backup.journal_number}."


def database_findings(alias: str) -> Iterator[str]:
    """What the database itself finds: pages, indexes, keys that point nowhere, triggers that are gone."""
    connection = connections[alias]
    try:
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                lines = [line for (line,) in cursor.execute("PRAGMA integrity_check").fetchall()]
            yield from (f"SQLite finds: {line}" for line in lines if line != "ok")
        for trigger in append_only.missing_triggers(connection):
            yield f"The trigger {trigger} is gone: its table can be changed."
    except DatabaseError as error:
        yield f"The database cannot be read: {error}"
    for model in rows.kept_models():
        yield from told(dangling(model, alias), f"the {model._meta.verbose_name} rows")


def dangling(model: rows.Model, alias: str) -> Iterator[str]:
    """Tell of keys that point to a row that is not there."""
    for column in rows.columns_of(model):
        if not column.is_relation or column.related_model._meta.proxy:
            continue
        quote = connections[alias].ops.quote_name
        own, other = quote(model._meta.db_table), quote(column.related_model._meta.db_table)
        key, target = quote(column.column), quote(column.target_field.column)
        with connections[alias].cursor() as cursor:
            cursor.execute(
                f"SELECT a.{quote(model._meta.pk.column)} FROM {own} a LEFT JOIN {other} b ON a.{key} = b.{target} "
                f"WHERE a.{key} IS NOT NULL AND b.{target} IS NULL"
            )
            for (pk,) in cursor.fetchall():
                yield f"The {model._meta.verbose_name} {pk} points to a {column.name} that is not there."


def against(head: str) -> Iterator[str]:
    """Hold the journal to a head that stands on a paper: its number and the first digits of its hash."""
    if not head.strip():
        return
    number, _, digits = head.strip().partition(" ")
    digits = digits.strip().lower()
    if not number.isdecimal() or len(digits) < SHORTEST_HEAD or set(digits) - set("0123456789abcdef"):
        yield f"“{head}” is no journal head. Accepted: its number and its digits, such as 1204 3f9a0c1d2e4b5a69."
        return
    entry = JournalEntry.objects.filter(number=int(number)).first()
    if entry is None or not entry.entry_hash.startswith(digits):
        yield f"The paper's journal entry {number} is not in this journal: it was cut off or written anew."
