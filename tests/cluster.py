"""A PostgreSQL server of the tests' own: made in a temporary folder, reached by a socket in it, gone afterwards."""

import contextlib
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from urllib.parse import quote

START_TIMEOUT_S = 30
# The data are thrown away, so nothing waits for the disk.
FAST = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "listen_addresses=")


class Cluster:
    """A server in a folder of its own; `options` are its settings."""

    def __init__(self, programs: Path, options: tuple[str, ...] = FAST, place: Path | None = None):
        self.programs, self.options, self.run_as = programs, options, unprivileged()
        self.folder = Path(tempfile.mkdtemp(prefix="hullbench-pg-", dir=place))
        self.server: subprocess.Popen | None = None
        if self.run_as:
            os.chown(self.folder, self.run_as["user"], self.run_as["group"])
        initdb = [programs / "initdb", "-D", self.folder / "data", "-U", "hullbench", "-E", "UTF8", "-A", "trust"]
        command = [*initdb, "--locale=C.UTF-8", "--no-sync"]
        made = subprocess.run(command, capture_output=True, text=True, cwd="/", **self.run_as)
        if made.returncode:
            raise RuntimeError(f"initdb failed: {made.stderr}")

    def url(self, name: str = "hullbench") -> str:
        return f"postgres://hullbench@{quote(str(self.folder), safe='')}/{name}"

    def start(self):
        options = [word for option in self.options for word in ("-c", option)]
        command = [self.programs / "postgres", "-D", self.folder / "data", "-k", self.folder, *options]
        with (self.folder / "log").open("a") as log:
            self.server = subprocess.Popen(command, stdout=log, stderr=log, cwd="/", **self.run_as)
        wait_until_ready(self.programs, self.folder, self.server)

    def create(self, name: str, like: str = "template0"):
        """Make a database, empty or as another one that nobody is connected to."""
        createdb = [self.programs / "createdb", "-h", self.folder, "-U", "hullbench", "-T", like, name]
        subprocess.run(createdb, check=True)

    def stop(self):
        """SIGINT is PostgreSQL's fast shutdown: it ends the sessions and stops."""
        if self.server:
            self.server.send_signal(signal.SIGINT)
            self.server.wait(timeout=START_TIMEOUT_S)

    def pids(self) -> list[int]:
        """The server and whatever it started."""
        children = Path(f"/proc/{self.server.pid}/task/{self.server.pid}/children").read_text().split()
        return [self.server.pid, *map(int, children)]

    def kill(self):
        """End the server and whatever it started without a word."""
        # Stopped first: one that it still starts would outlive it and keep the next server from starting.
        self.server.send_signal(signal.SIGSTOP)
        for pid in self.pids():
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.server.wait()

    def remove(self):
        shutil.rmtree(self.folder, ignore_errors=True)


@contextlib.contextmanager
def private_cluster(programs: Path):
    """Start a server, yield its DATABASE_URL, stop it and remove its folder."""
    cluster = Cluster(programs)
    try:
        try:
            cluster.start()
            yield cluster.url()
        finally:
            cluster.stop()
    finally:
        cluster.remove()


def unprivileged() -> dict:
    """For subprocess: someone else than root, whom PostgreSQL refuses."""
    if os.geteuid():
        return {}
    names = {entry.pw_name: entry for entry in pwd.getpwall()}
    person = names.get("postgres") or names["nobody"]
    return {"user": person.pw_uid, "group": person.pw_gid, "extra_groups": []}


def wait_until_ready(programs: Path, folder: Path, server: subprocess.Popen):
    for _ in range(START_TIMEOUT_S * 20):
        asked = subprocess.run([programs / "pg_isready", "-q", "-h", folder])
        if asked.returncode == 0:
            return
        if server.poll() is not None:
            break
        time.sleep(0.05)
    raise RuntimeError(f"PostgreSQL did not start: {(folder / 'log').read_text()}")
