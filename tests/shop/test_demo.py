"""The README's first command, as a person runs it: real processes, a folder and a port of their own."""

import contextlib
import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parent.parent.parent
READY_S = 20


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Demo:
    def __init__(self, folder):
        self.folder, self.port = folder, free_port()
        inherited = {key: value for key, value in os.environ.items() if not key.startswith("DATABASE_URL")}
        self.environment = inherited | {"HULLBENCH_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "shop.settings"}
        self.command = [sys.executable, "manage.py", "demo", "--port", str(self.port), "--days", "1"]

    def run(self, *options):
        """Run to the end, with nobody at the keyboard."""
        command = [*self.command, *options]
        quiet = {"capture_output": True, "text": True, "stdin": subprocess.DEVNULL}
        return subprocess.run(command, cwd=HOUSE, env=self.environment, **quiet)

    @contextlib.contextmanager
    def serving(self):
        """The server's process and what it printed, once it answers."""
        said = self.folder / "said"
        with said.open("w") as output:
            server = subprocess.Popen(self.command, cwd=HOUSE, env=self.environment, stdout=output, stderr=output)
        try:
            for _ in range(READY_S * 20):
                if self.answers() or server.poll() is not None:
                    break
                time.sleep(0.05)
            assert self.answers(), said.read_text()
            yield server, said.read_text()
        finally:
            server.terminate()
            server.wait(timeout=READY_S)

    def answers(self):
        try:
            return urllib.request.urlopen(f"http://127.0.0.1:{self.port}/health/", timeout=2).status == 200
        except OSError:
            return False

    def is_loaded(self):
        return (self.folder / "loaded").exists()

    def cut_off(self):
        """A first load that is killed on the way, and something of it that a load from the start does not have."""
        load = subprocess.Popen([*self.command, "--no-serve"], cwd=HOUSE, env=self.environment)
        while load.poll() is None and not (self.folder / "hullbench.sqlite3").exists():
            time.sleep(0.05)
        time.sleep(1)
        load.kill()
        load.wait(timeout=10)
        self.was_loaded = self.is_loaded()
        with contextlib.closing(sqlite3.connect(self.folder / "hullbench.sqlite3", timeout=10)) as shop, shop:
            shop.execute("CREATE TABLE left_over (words TEXT)")

    def type_something(self):
        with contextlib.closing(sqlite3.connect(self.folder / "hullbench.sqlite3")) as shop, shop:
            shop.execute("UPDATE shop_user SET initials = 'TYPED' WHERE username = 'demo_tech'")

    def typed(self):
        with contextlib.closing(sqlite3.connect(self.folder / "hullbench.sqlite3")) as shop:
            return shop.execute("SELECT count(*) FROM shop_user WHERE initials = 'TYPED'").fetchone() == (1,)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    demo = Demo(tmp_path_factory.mktemp("demo"))
    demo.cut_off()
    first = demo.run("--no-serve")
    assert first.returncode == 0, first.stderr
    return demo


@pytest.fixture(scope="module")
def served(demo, tmp_path_factory):
    """The same shop being served, and what the server printed."""
    served = Demo(shutil.copytree(demo.folder, tmp_path_factory.mktemp("served") / "data"))
    with served.serving() as (_, said):
        served.said = said
        yield served


def links(said):
    return dict(re.findall(r"^ +(counter|tech|owner) +(http://\S+)$", said, re.MULTILINE))


def test_each_role_has_a_link_that_opens_its_door(served):
    doors = {}
    for role, link in links(served.said).items():
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        with browser.open(link) as page:
            doors[role] = (page.status, page.url.rpartition(str(served.port))[2])
    assert doors == {"counter": (200, "/counter/"), "tech": (200, "/bench/"), "owner": (200, "/office/")}


def test_pages_name_their_files_by_content_and_the_files_are_there(served):
    base = f"http://127.0.0.1:{served.port}"
    page = urllib.request.urlopen(f"{base}/sign-in/").read().decode()
    files = re.findall(r'"(/static/[^"]+)"', page)
    assert files and [name for name in files if not re.search(r"\.[0-9a-f]{12}\.[a-z]+$", name)] == []
    assert [urllib.request.urlopen(base + name).status for name in files] == [200] * len(files)


def test_a_second_start_takes_seconds_and_keeps_what_was_typed(demo):
    demo.type_something()
    start = time.monotonic()
    with demo.serving():
        assert time.monotonic() - start < 10
        assert demo.typed()


def test_however_it_is_stopped_the_port_is_free_again(demo):
    for how in (signal.SIGINT, signal.SIGKILL):
        with demo.serving() as (server, _):
            server.send_signal(how)
            server.wait(timeout=10)
            for _ in range(100):
                if not demo.answers():
                    break
                time.sleep(0.05)
            assert not demo.answers(), how
    with demo.serving():
        assert demo.answers()


def test_a_taken_port_is_named_and_another_one_proposed(served):
    second = served.run()
    assert second.returncode == 1
    assert f"--port {served.port + 1}" in second.stderr


def test_it_is_open_to_this_machine_alone(served):
    with pytest.raises(urllib.error.HTTPError, match="400"):
        urllib.request.urlopen(
            urllib.request.Request(f"http://127.0.0.1:{served.port}/sign-in/", headers={"Host": "shop.example"})
        )


def test_it_keeps_away_from_the_database_of_a_shop(demo):
    demo.environment["DATABASE_URL"] = "postgres://shop@127.0.0.1:1/shop"
    try:
        assert "Unset DATABASE_URL" in demo.run().stderr
    finally:
        del demo.environment["DATABASE_URL"]


def test_starting_over_is_asked_for_and_a_script_has_to_say_yes(demo):
    demo.type_something()
    asked = demo.run("--fresh", "--no-serve")
    assert (asked.returncode, demo.typed()) == (1, True)
    assert "--yes" in asked.stderr
    agreed = demo.run("--fresh", "--yes", "--no-serve")
    assert (agreed.returncode, demo.typed()) == (0, False)


def test_a_load_that_was_cut_off_starts_over(demo):
    assert (demo.was_loaded, demo.is_loaded()) == (False, True)
    with contextlib.closing(sqlite3.connect(demo.folder / "hullbench.sqlite3")) as shop:
        assert shop.execute("SELECT name FROM sqlite_master WHERE name = 'left_over'").fetchall() == []
