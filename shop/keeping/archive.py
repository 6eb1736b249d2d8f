"""A backup: one zip file with every table, every file, and a manifest of their SHA-256.

The file's comment is the SHA-256 of all that stands before it, so that no byte of the file can change unseen. The
tables are the same plain rows whichever database they come from; any tool that reads zip files and JSON can read them.
"""

import contextlib
import hashlib
import json
import os
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

from django.conf import settings
from django.db import connections, models
from django.db.migrations.recorder import MigrationRecorder

from shop import clock
from shop.keeping import filling, keys, rows, sound
from shop.models import JournalEntry

FORMAT = 1
MANIFEST = "manifest.json"
HASH_DIGITS = 64
BLOCK = 1 << 20
# What is made anew, or is the database itself.
NO_FILES = ("static", "backups")
Manifest = dict[str, Any]


class Damaged(Exception):
    """A file that is no whole backup, with the sentence that says why."""


def write(path: Path, alias: str, data: Path) -> Manifest:
    """Write the rows behind `alias` and the files in the folder `data` to `path`, and bring it to the disk."""
    with path.open("xb") as out:
        os.fchmod(out.fileno(), 0o600)
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as chest:
            chest.comment = b"0" * HASH_DIGITS
            manifest = manifest_of(alias)
            for model in rows.kept_models(filling.models_behind(alias)):
                manifest["tables"][rows.label_of(model)] = write_table(chest, model, alias)
            for name, source in files_in(data):
                # A draft that became its file, or was dropped, in the meantime.
                with contextlib.suppress(FileNotFoundError):
                    manifest["files"][name] = write_file(chest, name, source)
            chest.writestr(MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
    with path.open("r+b") as file:
        file.seek(-HASH_DIGITS, os.SEEK_END)
        end = file.tell()
        digest = sha256_before(file, end)
        file.seek(end)
        file.write(digest.encode())
        file.flush()
        os.fsync(file.fileno())
    return manifest


def manifest_of(alias: str) -> Manifest:
    last = JournalEntry.objects.using(alias).order_by("-number").values_list("number", "entry_hash").first()
    applied = MigrationRecorder(connections[alias]).applied_migrations()
    return {
        "hullbench_backup": FORMAT,
        "made_at": clock.now().isoformat(),
        "database": connections[alias].vendor,
        "currency": settings.CURRENCY,
        "migrations": sorted(f"{app}.{name}" for app, name in applied),
        "journal": {"number": last[0] if last else 0, "entry_hash": last[1] if last else ""},
        "tables": {},
        "files": {},
    }


def write_table(chest: zipfile.ZipFile, model: rows.Model, alias: str) -> Manifest:
    digest, count = hashlib.sha256(), 0
    with chest.open(table_name(rows.label_of(model)), "w", force_zip64=True) as out:
        for row in rows.rows_of(model, alias):
            line = rows.canonical(rows.plain(row)).encode() + b"\n"
            digest.update(line)
            out.write(line)
            count += 1
    return {"rows": count, "sha256": digest.hexdigest(), "last_key": keys.last_key(connections[alias], model)}


def write_file(chest: zipfile.ZipFile, name: str, source: Path) -> Manifest:
    digest, size = hashlib.sha256(), 0
    with source.open("rb") as file, chest.open(file_name(name), "w", force_zip64=True) as out:
        while block := file.read(BLOCK):
            digest.update(block)
            out.write(block)
            size += len(block)
    return {"bytes": size, "sha256": digest.hexdigest()}


def files_in(data: Path) -> Iterator[tuple[str, Path]]:
    """The files of the data folder that are kept: all but the database, the backups and what is made anew."""
    database = str(connections["default"].settings_dict["NAME"])
    for path in sorted(data.rglob("*")):
        name = path.relative_to(data)
        left_out = str(path).startswith(database) or path.name.startswith("hullbench.sqlite3")
        left_out |= name.parts[0] in NO_FILES or any(part.startswith(".") for part in name.parts)
        if path.is_file() and not path.is_symlink() and not left_out:
            yield name.as_posix(), path


def table_name(label: str) -> str:
    return f"tables/{label}.jsonl"


def file_name(name: str) -> str:
    return f"files/{name}"


def sha256_before(file: BinaryIO, end: int) -> str:
    digest = hashlib.sha256()
    file.seek(0)
    while end > 0 and (block := file.read(min(BLOCK, end))):
        digest.update(block)
        end -= len(block)
    return digest.hexdigest()


class Archive:
    """A backup opened to be read."""

    def __init__(self, chest: zipfile.ZipFile, manifest: Manifest, sha256: str):
        self.chest, self.manifest, self.sha256 = chest, manifest, sha256

    def lines(self, label: str) -> Iterator[bytes]:
        if label in self.manifest["tables"]:
            with self.chest.open(table_name(label)) as file:
                yield from file

    def plain_rows(self, label: str) -> Iterator[rows.Plain]:
        for line in self.lines(label):
            yield json.loads(line)

    def rows_of(self, model: rows.Model) -> Iterator[models.Model]:
        for values in self.plain_rows(rows.label_of(model)):
            yield rows.row_from(model, values)

    @property
    def head(self) -> tuple[int, str]:
        return self.manifest["journal"]["number"], self.manifest["journal"]["entry_hash"]


@contextmanager
def opened(path: Path) -> Iterator[Archive]:
    """Open a backup whose bytes are all as they were written. Raises Damaged."""
    try:
        with path.open("rb") as file:
            sha256 = whole(file, path)
            with zipfile.ZipFile(file) as chest:
                manifest = json.loads(chest.read(MANIFEST))
                if manifest.get("hullbench_backup") != FORMAT:
                    raise Damaged(f"{path.name} was made by another version of the program, which can restore it.")
                archive = Archive(chest, manifest, sha256)
                refuse_parts_unlike(archive, path)
                yield archive
    except FileNotFoundError:
        raise Damaged(f"There is no file {path}.") from None
    except (zipfile.BadZipFile, KeyError, ValueError) as error:
        raise Damaged(f"{path.name} is no whole backup: {error}.") from error


def whole(file: BinaryIO, path: Path) -> str:
    """The file's SHA-256 up to its comment, which says the same."""
    size = file.seek(0, os.SEEK_END)
    if size <= HASH_DIGITS:
        raise Damaged(f"{path.name} is no backup: it has {size} bytes.")
    digest = sha256_before(file, size - HASH_DIGITS)
    file.seek(size - HASH_DIGITS)
    if file.read() != digest.encode():
        raise Damaged(f"{path.name} is not as it was written: its bytes do not give the SHA-256 at its end.")
    return digest


def refuse_parts_unlike(archive: Archive, path: Path) -> None:
    """Hold every part to the manifest: each is there, none besides, and each gives its hash."""
    manifest = archive.manifest
    wanted = {table_name(label): part["sha256"] for label, part in manifest["tables"].items()}
    wanted |= {file_name(name): part["sha256"] for name, part in manifest["files"].items()}
    if {*archive.chest.namelist()} != {*wanted, MANIFEST}:
        raise Damaged(f"{path.name} does not hold what its manifest lists.")
    for name, sha256 in wanted.items():
        digest = hashlib.sha256()
        with archive.chest.open(name) as part:
            while block := part.read(BLOCK):
                digest.update(block)
        if digest.hexdigest() != sha256:
            raise Damaged(f"{path.name}: {name} does not give the SHA-256 of the manifest.")


def look_at(archive: Archive) -> sound.Report:
    """Look at journal and rows in a backup as verify does in the shop, and hold the head to the manifest's."""
    report = sound.look_at(archive.rows_of)
    number, entry_hash = archive.head
    entries = archive.manifest["tables"].get(rows.label_of(JournalEntry), {}).get("rows", 0)
    if number != entries or (number and not report.head.endswith(f" {entry_hash[:16]}")):
        report.findings.append("The journal in the backup does not end with the head in its manifest.")
    return report
