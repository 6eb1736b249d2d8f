"""The folder of backups: one is made, read back and only then counted; older ones go by days, weeks and months."""

import datetime
import errno
import fcntl
import os
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import transaction

from shop import clock, journal
from shop.keeping import aliases, archive, sound
from shop.models import Backup

NAME = re.compile(r"hullbench-(\d{8}T\d{6})Z\.zip")
STAMP = "%Y%m%dT%H%M%S"
WARN_AFTER = datetime.timedelta(days=1, hours=1)
"""A backup a day, with an hour for the clock of whoever starts it."""


class NotMade(Exception):
    """No backup was made, with the sentence that says why."""


@dataclass(frozen=True)
class Keep:
    """How many backups stay: the newest of each of so many days, weeks and months that have one."""

    daily: int = 14
    weekly: int = 8
    monthly: int = 24


@dataclass(frozen=True)
class Made:
    """A backup that was written and read back; it counts once it is written down."""

    path: Path
    at: datetime.datetime
    sha256: str
    manifest: archive.Manifest
    report: sound.Report


def make(folder: Path) -> Made:
    """Make a backup while the shop works, and read it back. Raises NotMade.

    A backup of a shop that is not sound gets a name of its own: it counts for nothing and drops nothing.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with alone_in(folder):
            return make_alone(folder)
    except archive.Damaged as error:
        raise NotMade(f"The backup was not written as it should be: {error}") from error
    except OSError as error:
        raise NotMade(words_of(error, folder)) from error


def make_alone(folder: Path) -> Made:
    now = clock.now()
    path = folder / f"hullbench-{now.astimezone(datetime.UTC).strftime(STAMP)}Z.zip"
    if path.exists():
        raise NotMade(f"{path.name} is there already. A backup a second is enough.")
    part = folder / f".{path.name}.part"
    try:
        with aliases.snapshot(folder) as alias:
            manifest = archive.write(part, alias, Path(settings.DATA_DIR))
        with archive.opened(part) as chest:
            report, sha256 = archive.look_at(chest), chest.sha256
        if not report.is_sound:
            path = path.with_stem(f"{path.stem}-unsound")
        part.rename(path)
        to_disk(folder)
    finally:
        part.unlink(missing_ok=True)
    return Made(path, now, sha256, manifest, report)


def count(made: Made) -> Backup:
    """Write down that a backup was read back and found whole."""
    number, entry_hash = made.manifest["journal"]["number"], made.manifest["journal"]["entry_hash"]
    with transaction.atomic():
        row = Backup.objects.create(
            made_at=made.at,
            verified_at=clock.now(),
            file=made.path.name,
            bytes=made.path.stat().st_size,
            sha256=made.sha256,
            journal_number=number,
            journal_hash=entry_hash,
        )
        journal.record(None, "backup", row, after={"head": journal.in_short(number, entry_hash)})
    return row


def latest() -> Backup | None:
    """Return the last backup that was read back and found whole."""
    return Backup.objects.order_by("-verified_at").first()


def is_late(backup: Backup | None) -> bool:
    return backup is None or clock.now() - backup.made_at > WARN_AFTER


# Which ones stay.


def drop_old(folder: Path, keep: Keep) -> list[Path]:
    """Remove what the schedule no longer keeps, and drafts that a power cut left behind."""
    for draft in folder.glob(".hullbench-*.part"):
        draft.unlink()
    paths = {moment_of(path): path for path in folder.iterdir() if NAME.fullmatch(path.name)}
    stay = kept(paths, keep)
    dropped = [path for moment, path in sorted(paths.items()) if moment not in stay]
    for path in dropped:
        path.unlink()
    return dropped


def kept(moments: Iterable[datetime.datetime], keep: Keep) -> set[datetime.datetime]:
    """Return which of these backups stay."""
    newest_first = sorted(moments, reverse=True)
    return {
        *newest_of(newest_first, lambda day: day, keep.daily),
        *newest_of(newest_first, lambda day: day.isocalendar()[:2], keep.weekly),
        *newest_of(newest_first, lambda day: (day.year, day.month), keep.monthly),
    }


def newest_of(
    newest_first: list[datetime.datetime], span: Callable[[datetime.date], object], count: int
) -> list[datetime.datetime]:
    """Return the newest moment of each of the last `count` days, weeks or months on the shop's clock."""
    found: dict[object, datetime.datetime] = {}
    for moment in newest_first:
        found.setdefault(span(clock.local(moment).date()), moment)
    return list(found.values())[:count]


def moment_of(path: Path) -> datetime.datetime:
    stamp = NAME.fullmatch(path.name)[1]
    return datetime.datetime.strptime(stamp, STAMP).replace(tzinfo=datetime.UTC)


# The disk.


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Two backups do not write into one folder at once."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        raise NotMade(f"Another backup is being made in {folder}.") from None
    try:
        yield
    finally:
        os.close(handle)


def to_disk(folder: Path) -> None:
    """Bring a rename to the disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def words_of(error: OSError, folder: Path) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"The disk of {folder} is full. Nothing was changed; earlier backups are as they were."
    return f"No backup can be written to {folder}: {error.strerror}."
