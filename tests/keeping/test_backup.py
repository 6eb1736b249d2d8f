"""Backups: read back before they count, any changed byte noticed, restored into an empty place and nowhere else."""

import datetime
import errno
import json
import random
import sqlite3
import zipfile

import pytest

from shop.keeping import archive, backups
from shop.keeping.backups import Keep
from tests.keeping.shops import Shop


def backup_of(shop):
    done = shop.run("backup")
    assert done.returncode == 0, done.stderr
    return next((shop.folder / "backups").glob("hullbench-*Z.zip"))


@pytest.fixture(scope="module")
def backup(made, places):
    """A backup of the small shop, with two files beside its database."""
    shop = made.copy(places / "backed_up")
    (shop.folder / "files").mkdir()
    (shop.folder / "files" / "photo 1.jpg").write_bytes(random.Random(412).randbytes(50_000))
    (shop.folder / "static").mkdir(exist_ok=True)
    (shop.folder / "static" / "made_anew.css").write_text("body {}")
    return backup_of(shop)


def test_any_tool_can_read_a_backup(backup):
    """A zip file of JSON lines and files; its comment is the SHA-256 of what stands before it."""
    with zipfile.ZipFile(backup) as chest:
        manifest = json.loads(chest.read("manifest.json"))
        names = set(chest.namelist())
        assert len(chest.comment) == 64
    assert {"files/files/photo 1.jpg", "files/secret_key", "tables/builds.quote.jsonl"} <= names
    assert not [name for name in names if "static" in name or "sqlite3" in name or "session" in name]
    assert manifest["journal"]["number"] == manifest["tables"]["shop.journalentry"]["rows"]
    assert manifest["tables"]["shop.user"]["rows"] == 3
    assert backup.stat().st_mode & 0o777 == 0o600


def test_one_flipped_byte_anywhere_is_noticed(backup, tmp_path):
    """At its ends, in what zip tools overlook, and at 300 places by chance."""
    whole = backup.read_bytes()
    size, chance = len(whole), random.Random(412)
    with archive.opened(backup):
        pass
    copy = tmp_path / "hullbench-20260101T000000Z.zip"
    ends = [0, 10, size - 1, size - 64, size - 65, size - 66, size - 70]
    for at in [*ends, *(chance.randrange(size) for _ in range(300))]:
        flipped = bytearray(whole)
        flipped[at] ^= 1 << chance.randrange(8)
        copy.write_bytes(flipped)
        with pytest.raises(archive.Damaged), archive.opened(copy):
            pass


@pytest.mark.parametrize("cut", [0, 1, 63, 1000])
def test_a_backup_that_is_cut_short_is_noticed(backup, tmp_path, cut):
    short = tmp_path / backup.name
    short.write_bytes(backup.read_bytes()[:cut] if cut < 1000 else backup.read_bytes()[:-cut])
    with pytest.raises(archive.Damaged), archive.opened(short):
        pass


@pytest.fixture
def shop_to_be(place):
    return Shop(place / "new")


def test_a_damaged_backup_is_refused_and_a_whole_one_gives_the_same_shop_row_by_row(backup, made, shop_to_be, tmp_path):
    bad = tmp_path / backup.name
    whole = bytearray(backup.read_bytes())
    whole[len(whole) // 2] ^= 1
    bad.write_bytes(whole)
    done = shop_to_be.run("restore", bad)
    assert (done.returncode, "is not as it was written" in done.stderr) == (1, True), done.stderr
    assert "Nothing was restored" in done.stderr
    done = shop_to_be.run("restore", backup)
    assert done.returncode == 0, done.stderr
    before, after = made.script("dump"), shop_to_be.script("dump")
    assert {label for label in before if before[label] != after[label]} == set()
    assert shop_to_be.script("verified")["findings"] == []
    assert (shop_to_be.folder / "files" / "photo 1.jpg").stat().st_size == 50_000
    with zipfile.ZipFile(backup) as chest:
        assert (shop_to_be.folder / "secret_key").read_bytes() == chest.read("files/secret_key")


def test_restore_refuses_a_place_that_holds_anything(backup, shop, shop_to_be):
    before = shop.script("dump")
    done = shop.run("restore", backup)
    assert (done.returncode, "The database is not empty" in done.stderr) == (1, True), done.stderr
    assert shop.script("dump") == before
    shop_to_be.folder.mkdir()
    (shop_to_be.folder / "files").mkdir()
    (shop_to_be.folder / "files" / "photo 1.jpg").write_text("another")
    done = shop_to_be.run("restore", backup)
    assert (done.returncode, "is there already" in done.stderr) == (1, True), done.stderr
    assert (shop_to_be.folder / "files" / "photo 1.jpg").read_text() == "another"


def test_a_backup_of_other_money_is_refused_with_the_setting_that_reads_it(backup, shop_to_be):
    done = shop_to_be.run("restore", backup, HULLBENCH_CURRENCY="JPY")
    assert (done.returncode, "set HULLBENCH_CURRENCY" in done.stderr) == (1, True), done.stderr


def test_a_backup_of_an_unsound_shop_is_kept_apart_and_counts_for_nothing(shop):
    with sqlite3.connect(shop.folder / "hullbench.sqlite3") as database:
        for deed in ("update", "delete", "replace"):
            database.execute(f"DROP TRIGGER builds_quote_no_{deed}")
        database.execute("UPDATE builds_quote SET total = total + 1")
    database.close()
    done = shop.run("backup")
    assert (done.returncode, "is not what journal entry" in done.stderr) == (1, True), done.stderr
    names = [path.name for path in (shop.folder / "backups").iterdir()]
    assert len(names) == 1 and names[0].endswith("Z-unsound.zip")
    assert shop.script("backups_counted") == 0


def test_a_backup_to_a_disk_that_is_full_says_so_and_leaves_nothing(shop):
    error = OSError(errno.ENOSPC, "No space left on device")
    assert "is full. Nothing was changed" in backups.words_of(error, shop.folder)
    done = shop.run("backup", "--into", "/dev/full/backups")
    assert (done.returncode, "No backup can be written" in done.stderr) == (1, True), done.stderr


# The schedule.


def moments(days, hour=2):
    start = datetime.datetime(2026, 3, 1, hour, tzinfo=datetime.UTC)
    return [start - datetime.timedelta(days=day) for day in range(days)]


def test_the_newest_of_each_of_the_last_days_weeks_and_months_stays():
    """By hand: from 1 March 2026 (a Sunday) back, 3 days, then the newest of 2 weeks and of 3 months."""
    stay = backups.kept(moments(100), Keep(daily=3, weekly=2, monthly=3))
    assert sorted(f"{moment:%m-%d}" for moment in stay) == ["01-31", "02-22", "02-27", "02-28", "03-01"]


def test_two_backups_on_one_day_leave_the_later_one():
    stay = backups.kept([*moments(2, hour=2), *moments(2, hour=20)], Keep(daily=2, weekly=0, monthly=0))
    assert sorted(f"{moment:%d %H}" for moment in stay) == ["01 20", "28 20"]


def test_days_without_a_backup_push_none_out():
    """After three weeks away the last ones are still there: spans are counted that have a backup."""
    stay = backups.kept(moments(30)[21:], Keep(daily=5, weekly=0, monthly=0))
    assert len(stay) == 5


def test_the_command_drops_what_the_schedule_no_longer_keeps(shop):
    folder = shop.folder / "backups"
    folder.mkdir()
    for day in range(1, 20):
        (folder / f"hullbench-202501{day:02}T020000Z.zip").write_text("old")
    (folder / "a letter.zip").write_text("not ours")
    (folder / ".hullbench-20250101T020000Z.zip.part").write_text("left by a power cut")
    done = shop.run("backup", "--daily", 3, "--weekly", 2, "--monthly", 1)
    assert done.returncode == 0, done.stderr
    left = sorted(path.name for path in folder.iterdir())
    assert left[0] == "a letter.zip"
    assert [name[10:18] for name in left[1:-1]] == ["20250118", "20250119"]
    assert done.stdout.count("Dropped by the schedule") == 17


# An older shop.


def test_an_older_shop_is_backed_up_first_then_upgraded_and_sealed(shop_to_be):
    """The tables as they were before rows were sealed; its backup, too, is put back into the program of today."""
    shop_to_be.folder.mkdir()
    shop_to_be.script("make_older")
    done = shop_to_be.run("upgrade", HULLBENCH_BACKUPS="/dev/full/backups")
    assert (done.returncode, "Without a backup nothing is upgraded" in done.stderr) == (1, True), done.stderr
    done = shop_to_be.run("upgrade")
    backup = next((shop_to_be.folder / "backups").glob("hullbench-*Z.zip"))
    told = ("read back and whole", "steps taken", "1 rows from before", "Everything is as it was written")
    assert [words for words in told if words not in done.stdout] == [], done.stdout + done.stderr
    again = Shop(shop_to_be.folder.parent / "again")
    done = again.run("restore", backup)
    assert done.returncode == 0, done.stderr
    assert again.script("dump")["shop.user"] == shop_to_be.script("dump")["shop.user"]
