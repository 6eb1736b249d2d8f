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


@contextlib.contextmanager
def private_cluster(programs: Path):
    """Start a server, yield its DATABASE_URL, stop it and remove its folder."""
    folder = Path(tempfile.mkdtemp(prefix="hullbench-pg-"))
    run_as = unprivileged()
    if run_as:
        os.chown(folder, run_as["user"], run_as["group"])
    try:
        initdb = [programs / "initdb", "-D", folder / "data", "-U", "hullbench", "-E", "UTF8", "--locale=C.UTF-8"]
        made = subprocess.run([*initdb, "-A", "trust", "--no-sync"], capture_output=True, text=True, cwd="/", **run_as)
        if made.returncode:
            raise RuntimeError(f"initdb failed: {made.stderr}")
        with (folder / "log").open("w") as log:
            options = [word for option in FAST for word in ("-c", option)]
            command = [programs / "postgres", "-D", folder / "data", "-k", folder, *options]
            server = subprocess.Popen(command, stdout=log, stderr=log, cwd="/", **run_as)
        try:
            wait_until_ready(programs, folder, server)
            yield f"postgres://hullbench@{quote(str(folder), safe='')}/hullbench"
        finally:
            # SIGINT is PostgreSQL's fast shutdown: it ends the sessions and stops.
            server.send_signal(signal.SIGINT)
            server.wait(timeout=START_TIMEOUT_S)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


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
