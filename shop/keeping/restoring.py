"""A backup put back into an empty place: checked before, held to its manifest while it is written, verified after."""

import os
import shutil
from pathlib import Path

from django.conf import settings
from django.db import transaction

from shop import journal
from shop.keeping import archive, backups, filling, rows, sound

STAGING = ".restoring"
# Every start of the program makes one; the backup's takes its place, and the new one is kept beside it.
SECRET_KEY = "secret_key"


class NotRestored(Exception):
    """Nothing was restored, with the sentence that says why."""


def restore(path: Path, *, accept_findings: bool = False) -> sound.Report:
    """Put a backup back, and return what verify finds in the shop then. Raises NotRestored."""
    data = Path(settings.DATA_DIR)
    try:
        with archive.opened(path) as chest:
            refuse(chest, data, archive.look_at(chest), accept_findings)
            put_back(chest, data)
    except (archive.Damaged, filling.NotFilled) as error:
        raise NotRestored(f"{error} Nothing was restored.") from error
    except OSError as error:
        raise NotRestored(f"{backups.words_of(error, data)} Nothing was restored.") from error
    filling.bring_up_to_date("default")
    journal.seal_older()
    return sound.verify()


def refuse(chest: archive.Archive, data: Path, report: sound.Report, accept_findings: bool) -> None:
    if chest.manifest["currency"] != settings.CURRENCY:
        currency = chest.manifest["currency"]
        raise NotRestored(f"The backup's money is {currency}, the shop's {settings.CURRENCY}: set HULLBENCH_CURRENCY.")
    if report.findings and not accept_findings:
        told = "\n".join(report.findings)
        raise NotRestored(f"{told}\nThe shop was not sound when this backup was made. --accept-findings restores it.")
    filling.refuse_filled("default")
    for name in chest.manifest["files"]:
        if name != SECRET_KEY and (data / name).exists():
            raise NotRestored(f"{data / name} is there already. Nothing is ever overwritten; name an empty folder.")


def put_back(chest: archive.Archive, data: Path) -> None:
    """Write the files aside, the rows in one transaction, and move the files in just before it is committed."""
    staging = data / STAGING
    shutil.rmtree(staging, ignore_errors=True)
    try:
        unpack(chest, staging)
        state = filling.make_tables("default", chest.manifest["migrations"])
        with transaction.atomic():
            models = rows.kept_models(state)
            filling.fill("default", models, chest.plain_rows, chest.manifest["tables"])
            move_in(chest, staging, data)
    finally:
        shutil.rmtree(staging, ignore_errors=True)


def unpack(chest: archive.Archive, staging: Path) -> None:
    staging.mkdir(mode=0o700)
    for name in chest.manifest["files"]:
        target = staging / name
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with chest.chest.open(archive.file_name(name)) as source, target.open("wb") as out:
            os.fchmod(out.fileno(), 0o600)
            shutil.copyfileobj(source, out)
            out.flush()
            os.fsync(out.fileno())


def move_in(chest: archive.Archive, staging: Path, data: Path) -> None:
    for name in chest.manifest["files"]:
        target = data / name
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if name == SECRET_KEY and target.exists() and target.read_bytes() != (staging / name).read_bytes():
            target.rename(target.with_name(f"{SECRET_KEY}.before_restore"))
        (staging / name).rename(target)
    for folder in {(data / name).parent for name in chest.manifest["files"]}:
        backups.to_disk(folder)
