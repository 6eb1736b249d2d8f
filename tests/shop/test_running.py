"""What is looked at before anything can be lost, the owner's page about it, the health page and the help."""

import datetime
import json
import os
import shutil
import subprocess
from collections import namedtuple
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction
from django.template import loader

from shop import clock, journal, pdf
from shop.keeping import filling
from shop.models import Backup
from shop.running import condition
from shop.running.views import HELP

Usage = namedtuple("Usage", "total used free")


def found(name):
    """The conditions of one name, the worst first."""
    order = [condition.STOP, condition.CAUTION, condition.GOOD]
    ours = [one for one in condition.conditions() if one.name == name]
    return sorted(ours, key=lambda one: order.index(one.severity))


@pytest.fixture
def backup(db):
    def made(hours_ago):
        at = clock.now() - datetime.timedelta(hours=hours_ago)
        with transaction.atomic():
            row = Backup.objects.create(
                made_at=at, verified_at=at, file="one.zip", bytes=1, sha256="0", journal_number=0, journal_hash=""
            )
            journal.record(None, "backup", row)
        return row

    return made


def test_a_good_machine_is_told_to_be_good(backup, settings, tmp_path, capsys, monkeypatch):
    # The tests' own PostgreSQL waits for no disk.
    monkeypatch.setattr(condition, "POSTGRES_SAFE", {})
    backup(1)
    os.chmod(settings.DATA_DIR, 0o700)
    settings.BACKUPS_DIR = tmp_path
    call_command("check_shop")
    said = capsys.readouterr().out
    assert ("STOP" in said, "read back and whole" in said) == (False, True)
    assert ("SQLite" if connection.vendor == "sqlite" else "PostgreSQL") in said


@pytest.mark.parametrize(("free", "severity"), [(50, "stop"), (500, "caution"), (5000, "good")])
def test_room_on_the_disk(db, monkeypatch, free, severity):
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: Usage(10**10, 0, free * condition.MB))
    assert found("Disk of the data")[0].severity == severity


@pytest.mark.parametrize(("hours", "severity"), [(24, "good"), (26, "caution")])
def test_a_backup_older_than_a_day_is_a_caution(backup, hours, severity):
    backup(hours)
    assert found("Backup")[0].severity == severity


def test_no_backup_at_all_is_a_caution(db):
    assert found("Backup")[0].severity == condition.CAUTION


@pytest.mark.parametrize(("minutes", "severity"), [(0.5, "good"), (5, "stop")])
def test_a_clock_behind_the_journal_stops(owner, minutes, severity):
    with clock.at(clock.now() + datetime.timedelta(minutes=minutes)):
        journal.record(owner, "greet", owner)
    assert found("Clock")[0].severity == severity


@pytest.mark.parametrize("name", ["", "secret_key"])
def test_a_folder_or_key_that_others_can_read_stops(db, settings, tmp_path, name):
    settings.DATA_DIR = tmp_path
    (tmp_path / "secret_key").touch(mode=0o600)
    os.chmod(tmp_path, 0o700)
    assert found("Permissions")[0].severity == condition.GOOD
    os.chmod(tmp_path / name, 0o755)
    assert found("Permissions")[0].severity == condition.STOP


def test_tables_behind_the_program_stop_and_name_the_command(db, monkeypatch, capsys):
    monkeypatch.setattr(filling, "steps_ahead", lambda alias: [1, 2])
    with pytest.raises(CommandError, match="Mend what is marked STOP"):
        call_command("check_shop")
    assert "STOP     Tables: 2 steps behind the program. Run: python3 manage.py upgrade" in capsys.readouterr().out


def test_a_machine_without_pango_is_told_what_brings_it(db, monkeypatch):
    def none(html):
        raise pdf.Unavailable("No PDF can be made: the Pango library is missing.")

    monkeypatch.setattr(pdf, "pdf", none)
    assert found("Papers")[0] == condition.Condition(
        "Papers", "No PDF can be made: the Pango library is missing.", "caution"
    )


@pytest.mark.skipif(connection.vendor != "postgresql", reason="PostgreSQL's own settings")
def test_a_postgresql_that_does_not_sync_stops(db):
    """The tests' own server waits for no disk."""
    words = [one.words for one in found("Database") if one.severity == condition.STOP]
    assert any("fsync is off" in one for one in words)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own settings")
def test_a_sqlite_that_does_not_sync_at_each_commit_stops(db):
    class Cursor:
        def execute(self, words):
            self.answer = {"PRAGMA journal_mode": "delete", "PRAGMA synchronous": 1}[words]
            return self

        def fetchone(self):
            return (self.answer,)

    assert [one.severity for one in condition.of_sqlite(Cursor())] == [condition.STOP]


# The pages.


def test_the_owner_sees_the_machine_and_is_warned_until_a_backup_is_made(owner, client_of, backup, capsys):
    call_command("load_catalogue")
    client = client_of(owner)
    for page in ("/office/", "/office/running/"):
        assert "There is no backup yet." in client.get(page).content.decode()
    old = backup(30)
    page = client.get("/office/running/").content.decode()
    assert ("older than a day" in page, old.file in page, journal.head() in page) == (True, True, True)
    backup(1)
    for page in ("/office/", "/office/running/"):
        assert "See Running" not in client.get(page).content.decode()


def test_the_owners_page_takes_a_fixed_number_of_queries(owner, client_of, backup, django_assert_max_num_queries):
    backup(1)
    client = client_of(owner)
    client.get("/office/running/")
    with django_assert_max_num_queries(12):
        assert client.get("/office/running/").status_code == 200


def test_only_the_owner_sees_the_machine_and_everyone_who_signs_in_reads_the_help(cast, client):
    for role, person in cast.items():
        client.force_login(person)
        assert client.get("/office/running/").status_code == (200 if role == "owner" else 403)
        for name, title in HELP.items():
            answer = client.get(f"/help/{name}/")
            assert (answer.status_code, f"<h1>{title}</h1>" in answer.content.decode()) == (200, True)
        assert client.get("/help/").status_code == 200
        assert client.get("/help/nothing/").status_code == 404


def test_each_command_of_the_help_is_one_of_the_program():
    import re

    from django.core.management import get_commands

    texts = [loader.get_template(f"help/{name}.html").template.source for name in HELP]
    named = {name for text in texts for name in re.findall(r"manage\.py (\w+)", text)}
    assert named <= set(get_commands())
    assert {"backup", "restore", "verify", "move", "upgrade", "check_shop", "serve", "write_service"} <= named


def test_the_health_page_says_database_and_disk_and_tells_a_stranger_nothing_else(db, client, monkeypatch):
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (200, b"ok\ndatabase ok\ndisk ok\n")
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: Usage(10**10, 0, 1))
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (503, b"not ok\ndatabase ok\ndisk not ok\n")


def test_the_health_page_answers_while_the_database_does_not(db, client, monkeypatch):
    def gone(*words):
        raise DatabaseError("gone")

    with monkeypatch.context() as patched:
        patched.setattr(connection, "cursor", gone)
        answer = client.get("/health/")
    assert (answer.status_code, b"database not ok" in answer.content) == (503, True)


# The unit of a service.


def test_the_units_are_ones_that_systemd_takes_and_shut_the_program_in(tmp_path):
    call_command("write_service", tmp_path, "--user", "root")
    unit = (tmp_path / "hullbench.service").read_text()
    assert {"ProtectSystem=strict", "NoNewPrivileges=yes", f"ReadWritePaths={settings.DATA_DIR}"} <= {
        line.split(" ")[0] for line in unit.splitlines()
    }
    assert "{" not in "".join(path.read_text() for path in tmp_path.iterdir())
    if shutil.which("systemd-analyze") and (settings.BASE_DIR / ".venv").exists():
        units = sorted(map(str, tmp_path.iterdir()))
        done = subprocess.run(["systemd-analyze", "verify", *units], capture_output=True, text=True)
        assert done.stderr == ""
    with pytest.raises(CommandError, match="there already"):
        call_command("write_service", tmp_path)


def test_the_container_copies_what_is_there_and_starts_what_exists(tmp_path):
    call_command("write_service", tmp_path, "--container")
    text = (tmp_path / "Containerfile").read_text()
    ci = Path(settings.BASE_DIR, ".ci", "run").read_text()
    assert all(package in ci for package in ("python3-venv", "libpangoft2-1.0-0", "libharfbuzz-subset0"))
    assert all(package in text for package in ("python3-venv", "libpangoft2-1.0-0", "libharfbuzz-subset0"))
    assert "USER hullbench" in text


def test_no_container_takes_the_data_the_secret_key_or_this_machine_s_packages_along():
    kept_out = Path(settings.BASE_DIR, ".dockerignore").read_text().replace("**/", "").splitlines()
    assert {".data/", ".venv/", ".git/", *Path(settings.BASE_DIR, ".gitignore").read_text().splitlines()} <= {*kept_out}


def test_the_container_asks_for_its_health_by_the_shop_s_name(live_server, settings, tmp_path):
    settings.ALLOWED_HOSTS = ["shop.example"]
    call_command("write_service", tmp_path, "--container")
    check = next(line for line in (tmp_path / "Containerfile").read_text().splitlines() if "HEALTHCHECK CMD" in line)
    words = json.loads(check.removeprefix("HEALTHCHECK CMD ").replace("http://127.0.0.1:8000", live_server.url))
    for hosts, code in (("shop.example,other.example", 0), ("wrong.example", 1)):
        done = subprocess.run(words, env=os.environ | {"HULLBENCH_HOSTS": hosts}, capture_output=True)
        assert done.returncode == code, done.stderr
