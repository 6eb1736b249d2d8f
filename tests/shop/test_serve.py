"""Serving a real shop: refused while anything is unsafe, then https and nothing else."""

import os
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command

from shop import printing, server
from tests.test_house import HOUSE

SHOP = {"HULLBENCH_HOSTS": "bench.example", "HULLBENCH_PROXY": "1", "DJANGO_SETTINGS_MODULE": "shop.settings"}


def manage(folder, *words, **changes):
    """Run a command as on a shop's server."""
    ours = {key: value for key, value in os.environ.items() if not key.startswith(("HULLBENCH_", "DATABASE_URL"))}
    environment = ours | SHOP | {"HULLBENCH_DATA": str(folder)} | changes
    command = [sys.executable, "manage.py", *words]
    return subprocess.run(command, cwd=HOUSE, env=environment, capture_output=True, text=True)


def test_the_settings_of_a_shop_pass_django_s_deployment_checks(tmp_path):
    done = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING")
    assert done.returncode == 0, done.stderr


def test_the_secret_key_is_made_once_and_readable_by_its_owner_alone(tmp_path):
    manage(tmp_path, "check")
    key = tmp_path / "secret_key"
    first = key.read_text()
    manage(tmp_path, "check")
    assert (key.stat().st_mode & 0o777, key.read_text()) == (0o600, first)
    assert len(first) >= 80


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"HULLBENCH_HOSTS": ""}, "ALLOWED_HOSTS"),
        ({"HULLBENCH_DEBUG": "1"}, "unset them to serve"),
        ({"HULLBENCH_SECRET_KEY": "short"}, "SECRET_KEY"),
        ({}, "python3 manage.py migrate"),
    ],
)
def test_an_unsafe_or_outdated_shop_is_not_served(tmp_path, changes, told):
    done = manage(tmp_path, "serve", **changes)
    assert done.returncode == 1
    assert told in done.stderr


def test_a_demo_is_never_served_as_a_shop():
    with pytest.raises(CommandError, match="unset them"):
        call_command("serve")


def test_one_process_a_core_becomes_the_server_each_with_threads_that_no_paper_takes(monkeypatch):
    started = []
    monkeypatch.setattr(os, "execv", lambda program, words: started.append(words))
    monkeypatch.setattr(os, "chdir", lambda folder: None)
    server.become_gunicorn("127.0.0.1:8000", "--access-logfile", "-")
    words = started[0]
    assert words[words.index("--workers") + 1] == str(os.cpu_count())
    papers = printing.MOST_AT_ONCE + printing.MOST_WAITING
    assert int(words[words.index("--threads") + 1]) == papers + 2
    assert words[words.index("--bind") + 1] == "127.0.0.1:8000"


def test_a_shop_answers_https_alone(settings, client):
    """What the settings of a shop make of a request, by Django's own middleware."""
    settings.SECURE_SSL_REDIRECT = True
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    assert client.get("/sign-in/").url == "https://testserver/sign-in/"
    assert client.get("/sign-in/", headers={"X-Forwarded-Proto": "https"}).status_code == 200
