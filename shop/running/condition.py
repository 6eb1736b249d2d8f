"""Whether the machine and its settings keep what is typed: database, disk, backups, clock, permissions, fonts."""

import contextlib
import datetime
import shutil
import sqlite3
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection

from shop import append_only, clock, database, pdf, printing
from shop.keeping import backups, filling
from shop.models import JournalEntry

GOOD, CAUTION, STOP = "good", "caution", "stop"
MB = 1_000_000
LEAST_FREE, LITTLE_FREE = 100 * MB, 1000 * MB
CLOCK_SLACK = datetime.timedelta(minutes=1)
POSTGRES_SAFE = {"fsync": ("on",), "full_page_writes": ("on",), "synchronous_commit": ("on", "remote_apply", "local")}


@dataclass(frozen=True)
class Condition:
    """One thing that was looked at: what, how it is in words, and how bad that is."""

    name: str
    words: str
    severity: str = GOOD


Look = Callable[[], Iterator[Condition]]


def conditions(*, with_paper: bool = True) -> list[Condition]:
    """Look at everything; a paper takes a second, which a page need not wait for."""
    looks: list[Look] = [of_database, of_tables, of_disk, of_backups, of_clock, of_permissions]
    found: list[Condition] = []
    for look in [*looks, *([of_papers] if with_paper else [])]:
        try:
            found += look()
        except (DatabaseError, OSError) as error:
            name = look.__name__.removeprefix("of_").capitalize()
            found.append(Condition(name, f"cannot be looked at: {error}", STOP))
    return found


def of_database() -> Iterator[Condition]:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            yield from of_sqlite(cursor)
            return
        names = ["server_version", *POSTGRES_SAFE]
        cursor.execute("SELECT name, setting FROM pg_settings WHERE name = ANY(%s)", [names])
        found = dict(cursor.fetchall())
    yield Condition("Database", f"PostgreSQL {found['server_version']}")
    for name, safe in POSTGRES_SAFE.items():
        if found[name] not in safe:
            words = f"{name} is {found[name]}: a power cut loses what was typed. Set it to {safe[0]}."
            yield Condition("Database", words, STOP)


def of_sqlite(cursor) -> Iterator[Condition]:
    wanted = database.journal_mode(sqlite3.sqlite_version_info).lower()
    found = {pragma: cursor.execute(f"PRAGMA {pragma}").fetchone()[0] for pragma in ("journal_mode", "synchronous")}
    words = f"SQLite {sqlite3.sqlite_version}, journal {found['journal_mode'].upper()}, synced at each commit"
    if found["synchronous"] < 2:
        yield Condition("Database", "synchronous is not FULL: a power cut loses what was typed.", STOP)
    elif found["journal_mode"] != wanted:
        yield Condition("Database", f"{words}. {wanted.upper()} is the safe one for this SQLite.", CAUTION)
    else:
        yield Condition("Database", words)


def of_tables() -> Iterator[Condition]:
    if ahead := len(filling.steps_ahead("default")):
        yield Condition("Tables", f"{ahead} steps behind the program. Run: python3 manage.py upgrade", STOP)
    elif missing := append_only.missing_triggers(connection):
        yield Condition("Tables", f"not protected any more: {', '.join(missing)}", STOP)
    else:
        yield Condition("Tables", "up to date; what is written once is protected")


def of_disk() -> Iterator[Condition]:
    for name, folder in (("Disk of the data", settings.DATA_DIR), ("Disk of the backups", there(settings.BACKUPS_DIR))):
        free = shutil.disk_usage(folder).free
        words = f"{free / (1000 * MB):,.1f} GB free in {folder}"
        severity = STOP if free < LEAST_FREE else CAUTION if free < LITTLE_FREE else GOOD
        yield Condition(name, words if severity == GOOD else f"{words}. Make room.", severity)


def of_backups() -> Iterator[Condition]:
    last = backups.latest()
    if last is None:
        yield Condition("Backup", "none yet. Run: python3 manage.py backup, and let it run every day", CAUTION)
    else:
        words = f"{last.file} of {moment(last.made_at)}, read back and whole"
        late = backups.is_late(last)
        yield Condition("Backup", f"{words}; older than a day" if late else words, CAUTION if late else GOOD)
    if there(settings.BACKUPS_DIR).stat().st_dev == Path(settings.DATA_DIR).stat().st_dev:
        yield Condition(
            "Place of the backups",
            "on the disk of the data: a lost disk takes both. Set HULLBENCH_BACKUPS to another one",
            CAUTION,
        )


def of_clock() -> Iterator[Condition]:
    now, last = clock.now(), JournalEntry.objects.order_by("-number").values_list("at", flat=True).first()
    if last and last - now > CLOCK_SLACK:
        words = f"{moment(now)}, but the journal's last entry is of {moment(last)}"
        yield Condition("Clock", f"{words}. Set this machine's clock before anything is written.", STOP)
    else:
        yield Condition("Clock", f"{moment(now)} {settings.TIME_ZONE}, after the journal's last entry")


def of_permissions() -> Iterator[Condition]:
    data = Path(settings.DATA_DIR)
    open_ones = [path for path in (data, data / "secret_key") if path.exists() and is_open_to_others(path)]
    for path in open_ones:
        yield Condition("Permissions", f"others can read {path}. Run: chmod go-rwx {path}", STOP)
    if not open_ones:
        yield Condition("Permissions", "nobody else reads the data folder and the secret key")


def of_papers() -> Iterator[Condition]:
    try:
        made = pdf.pdf("<p>Hullbench</p>")
    except pdf.Unavailable as error:
        yield Condition("Papers", str(error), CAUTION)
        return
    if any("B612" in font for font in pdf.fonts_of(made)):
        yield Condition("Papers", f"PDFs are made, with the packaged font; {printing.bounds()}")
    else:
        yield Condition("Papers", "the packaged font is missing: pages break elsewhere than they were tested", CAUTION)


def moment(at: datetime.datetime) -> str:
    return f"{clock.local(at):%d %b %Y, %H:%M}"


def is_open_to_others(path: Path) -> bool:
    return bool(stat.S_IMODE(path.stat().st_mode) & (stat.S_IRWXG | stat.S_IRWXO))


def there(folder: Path) -> Path:
    """The nearest folder above that exists."""
    return next(one for one in (folder, *folder.parents) if one.exists())


# For the health page: nothing that tells a stranger anything.


def database_answers() -> bool:
    with contextlib.suppress(DatabaseError), connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        return cursor.fetchone() == (1,)
    return False


def disk_takes_more() -> bool:
    return shutil.disk_usage(settings.DATA_DIR).free >= LEAST_FREE
