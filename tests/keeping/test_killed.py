"""Processes die without a word while people work: whatever was acknowledged is there, once, and nothing by halves.

A short run in the daily tests; HULLBENCH_LONG=1 goes on until 10 000 changes are acknowledged on each database.
"""

import json
import os
import random
import re
import shutil
import subprocess
import threading
import time
import traceback

import pytest

from tests.cluster import Cluster
from tests.keeping.load import Load
from tests.keeping.shops import Shop, needs_strace, sign_in, start

LONG = bool(os.environ.get("HULLBENCH_LONG"))
GOAL = 10_000 if LONG else 200
WRITERS = 4
QUIET_S = (0.5, 4.0) if LONG else (0.5, 1.5)
COUNTED = 300 if LONG else 25


class Killer(threading.Thread):
    """Ends a worker, all of the server, or the database's server, again and again, and starts it anew."""

    def __init__(self, shop, server, over, cluster=None):
        super().__init__(daemon=True)
        self.shop, self.server, self.over, self.cluster = shop, server, over, cluster
        self.chance, self.deaths, self.error = random.Random(412), {}, None

    def run(self):
        try:
            turns = [self.a_worker, self.the_server, *([self.the_database] if self.cluster else [])]
            n = 0
            while not self.over():
                time.sleep(self.chance.uniform(*QUIET_S))
                # Each kind of death comes once; then a worker dies most often.
                others = [self.a_worker] * 4 + (turns if LONG else [])
                turn = turns[n] if n < len(turns) else self.chance.choice(others)
                turn()
                n += 1
                self.deaths[turn.__name__] = self.deaths.get(turn.__name__, 0) + 1
        except Exception as error:
            traceback.print_exc()
            self.error = error

    def a_worker(self):
        if workers := self.server.pids()[1:]:
            self.server.kill([self.chance.choice(workers)])

    def the_server(self):
        self.server.end()
        self.server = start(self.shop, self.server.port)

    def the_database(self):
        self.cluster.kill()
        self.cluster.start()


def worked_and_killed(shop, tmp_path, cluster=None):
    """Let people work and processes die until enough is acknowledged; return what was found and how many died."""
    tickets = shop.script("open_tickets", WRITERS)
    server = start(shop)
    killer = None
    try:
        load = Load(server, sign_in(shop, server.port), tickets, GOAL)
        killer = Killer(shop, server, load.is_over, cluster)
        with load:
            killer.start()
            while not load.is_over():
                time.sleep(0.05)
                if killer.error:
                    load.goal = 0
        killer.join(60)
        assert (load.failures(), killer.error) == ([], None)
    finally:
        (killer.server if killer else server).end()
    told = tmp_path / "acknowledged.json"
    told.write_text(json.dumps(load.acknowledged()))
    return load.count(), killer.deaths, shop.script("compared", told)


def check_nothing_lost(count, deaths, found):
    print(f"{count} acknowledged, died: {deaths}, saved without an answer: {found['unacknowledged']}")
    assert count >= GOAL
    assert {"lost": found["lost"], "twice": found["twice"], "halves": found["halves"]} == {
        "lost": [],
        "twice": [],
        "halves": [],
    }
    assert found["findings"] == []


def test_on_sqlite_nothing_acknowledged_is_lost_when_workers_and_server_are_killed(made, place, tmp_path):
    # On a disk, not in memory, in the long run.
    shop = made.copy((tmp_path if LONG else place) / "data")
    count, deaths, found = worked_and_killed(shop, tmp_path)
    check_nothing_lost(count, deaths, found)
    assert {"a_worker", "the_server"} <= set(deaths)


def test_on_postgresql_nothing_acknowledged_is_lost_when_its_server_is_killed_too(
    made_on_postgres, own_cluster, place, tmp_path
):
    cluster, url = own_cluster
    shutil.copytree(made_on_postgres.folder, place / "data")
    shop = Shop(place / "data", url)
    count, deaths, found = worked_and_killed(shop, tmp_path, cluster)
    check_nothing_lost(count, deaths, found)
    assert {"a_worker", "the_server", "the_database"} <= set(deaths)


@pytest.fixture
def own_cluster(cluster, made_on_postgres, tmp_path):
    """A server of the test's own with the small shop in it; it may be killed."""
    own = Cluster(cluster.programs, cluster.options, place=None if LONG else cluster.folder.parent)
    try:
        own.start()
        own.create("hullbench")
        dump = subprocess.run(
            [cluster.programs / "pg_dump", "-h", cluster.folder, "-U", "hullbench", "made"],
            capture_output=True,
            check=True,
        )
        psql = [
            cluster.programs / "psql",
            "-q",
            "-v",
            "ON_ERROR_STOP=1",
            "-h",
            own.folder,
            "-U",
            "hullbench",
            "hullbench",
        ]
        subprocess.run(psql, input=dump.stdout, stdout=subprocess.DEVNULL, check=True)
        yield own, own.url()
        own.stop()
    finally:
        own.remove()


def test_the_check_finds_a_change_that_is_not_there(made, tmp_path):
    told = tmp_path / "acknowledged.json"
    told.write_text(json.dumps({"T-0002": ["never saved"]}))
    assert made.script("compared", told)["lost"] == ["never saved"]


# Syncs.

STRACE = ["strace", "-f", "-qq", "-e", "trace=fsync,fdatasync"]


@needs_strace
def test_each_commit_is_brought_to_the_disk_on_sqlite(shop, tmp_path):
    counted = tmp_path / "syncs"
    done = shop.script("commits", COUNTED, under=[*STRACE, "--seccomp-bpf", "-o", counted])
    print(f"{done} commits, {syncs_in(counted)} syncs")
    assert syncs_in(counted) >= done == COUNTED


@needs_strace
def test_each_commit_is_brought_to_the_disk_on_postgresql(shop_on_postgres, cluster, tmp_path):
    counted = tmp_path / "syncs"
    # A commit waits for its sync, whichever of the server's processes does it.
    pids = [word for pid in cluster.pids() for word in ("-p", str(pid))]
    watcher = subprocess.Popen([*STRACE, "-o", counted, *pids], stderr=subprocess.DEVNULL)
    try:
        time.sleep(0.5)
        done = shop_on_postgres.script("commits", COUNTED)
    finally:
        watcher.terminate()
        watcher.wait(timeout=30)
    print(f"{done} commits, {syncs_in(counted)} syncs")
    assert syncs_in(counted) >= done == COUNTED


def syncs_in(path):
    return len(re.findall(r"(?:fsync|fdatasync)\(", path.read_text())) if path.exists() else 0
