"""Whole shops in folders of their own, on SQLite or PostgreSQL, driven by commands and pages as a person does."""

import contextlib
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tests.test_house import HOUSE

READY_S = 30
# Watches a program's calls to the system, and can answer them with an error.
needs_strace = pytest.mark.skipif(not shutil.which("strace"), reason="no strace here")


@dataclass
class Shop:
    """A shop's data folder and, on PostgreSQL, the address of its database."""

    folder: Path
    url: str = ""

    @property
    def environment(self):
        ours = {key: value for key, value in os.environ.items() if not key.startswith(("HULLBENCH_", "DATABASE_URL"))}
        settings = {"HULLBENCH_DATA": str(self.folder), "HULLBENCH_DEMO": "1", "DATABASE_URL": self.url}
        return ours | settings | {"DJANGO_SETTINGS_MODULE": "shop.settings"}

    def run(self, *words, **changes):
        """Run a command of manage.py to its end."""
        command = [sys.executable, "manage.py", *map(str, words)]
        environment = self.environment | changes
        quiet = {"capture_output": True, "text": True, "stdin": subprocess.DEVNULL}
        return subprocess.run(command, cwd=HOUSE, env=environment, **quiet)

    def script(self, name, *words, under=()):
        """Run a function of tests/keeping/inside.py in a process of this shop, and return what it returns."""
        command = [*under, sys.executable, "-m", "tests.keeping.inside", name, *map(str, words)]
        done = subprocess.run(command, cwd=HOUSE, env=self.environment, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout.splitlines()[-1])

    def copy(self, folder):
        """The same shop on SQLite in another folder."""
        shutil.copytree(self.folder, folder)
        return Shop(folder)


@dataclass
class Server:
    """A running gunicorn: its master, and where it answers."""

    master: subprocess.Popen
    port: int

    def pids(self):
        """The master and its workers."""
        children = Path(f"/proc/{self.master.pid}/task/{self.master.pid}/children")
        try:
            return [self.master.pid, *map(int, children.read_text().split())]
        except FileNotFoundError:
            return [self.master.pid]

    def kill(self, pids):
        """End processes of this server without a word, as a power cut does."""
        for pid in pids:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)

    def end(self):
        """End all of it at once, without a word."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.master.pid, signal.SIGKILL)
        self.master.wait()

    def answers(self):
        try:
            return Browser(self.port).get("/health/").status == 200
        except OSError:
            return False


def start(shop, port=0, under=()):
    """Start the server as `serve` and `demo` do, in the hands of `under`, and wait until it answers."""
    port = port or free_port()
    said = shop.folder / f"said-{port}"
    become = (
        "import django, sys; django.setup(); from shop import server; server.collect_static(); "
        "from django.db import connection; connection.close(); server.become_gunicorn(f'127.0.0.1:{sys.argv[1]}')"
    )
    command = [*under, sys.executable, "-c", become, str(port)]
    with said.open("a") as out:
        quiet = {"stdout": out, "stderr": out, "stdin": subprocess.DEVNULL}
        master = subprocess.Popen(command, cwd=HOUSE, env=shop.environment, start_new_session=True, **quiet)
    server = Server(master, port)
    for _ in range(READY_S * 20):
        if server.answers():
            return server
        if master.poll() is not None:
            break
        time.sleep(0.05)
    server.end()
    raise AssertionError(f"the server does not answer: {said.read_text()}")


@contextlib.contextmanager
def serving(shop, port=0):
    server = start(shop, port)
    try:
        yield server
    finally:
        server.master.terminate()
        server.master.wait(timeout=READY_S)


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@dataclass
class Answer:
    status: int
    text: str
    where: str


class Browser:
    """One person's browser: keeps its cookies, follows nothing, sends forms with the token of the page."""

    def __init__(self, port, cookies=None):
        self.port, self.cookies = port, dict(cookies or {})

    def get(self, path):
        return self.ask("GET", path)

    def post(self, path, said):
        token = {"csrfmiddlewaretoken": self.cookies["csrftoken"]} if "csrftoken" in self.cookies else {}
        return self.ask("POST", path, urlencode({**token, **said}, doseq=True))

    def ask(self, method, path, body=None):
        wire = HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
            if body is not None:
                headers["Content-Type"] = "application/x-www-form-urlencoded"
            wire.request(method, path, body, headers)
            answer = wire.getresponse()
            text = answer.read().decode(errors="replace")
        finally:
            wire.close()
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, value = re.match(r"([^=]+)=([^;]*)", cookie).groups()
            self.cookies[name] = value
        return Answer(answer.status, text, answer.headers.get("Location", ""))


def sign_in(shop, port, username="cora"):
    """A browser that is signed in, its csrf cookie set."""
    browser = Browser(port)
    answer = browser.get(shop.script("sign_in_path", username))
    assert answer.status == 302, answer.text
    browser.get("/me/")
    return browser
