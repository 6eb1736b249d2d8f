"""The packages: makes `.venv` from the hashed locks on first use and starts manage.py again inside it.

Standard library only, and plain enough for an old Python to read, so that it can say which one is needed.
"""

import contextlib
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

BASE_DIR = Path(__file__).resolve().parent.parent
VENV = BASE_DIR / ".venv"
PYTHON = VENV / "bin" / "python"
# Written last: without it nothing in .venv is trusted.
STAMP = VENV / "hullbench-locks.json"
RUN_LOCK = "requirements.txt"
TEST_LOCK = "tests/requirements.txt"  # holds all of RUN_LOCK too
OLDEST_PYTHON = (3, 11)
PIN = re.compile(r"^([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==", re.MULTILINE)
# What pip says of a package: looked at, found on this machine, there already, or not for this machine.
REACHED = re.compile(
    r"(?:Collecting|Requirement already satisfied:) ([\w.-]+)==([^\s;]+)"
    r"|Processing .*?([\w.]+)-([^-/]+)-[^/]*\.whl"
    r"|(Ignoring) "
)


def enter(argv):
    """Return inside `.venv`; elsewhere bring it up to date and run this command again with its Python."""
    if Path(sys.prefix).resolve() == VENV.resolve():
        return
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"Hullbench needs Python 3.11 or later; this is {sys.version_info[0]}.{sys.version_info[1]}.")
    lock = TEST_LOCK if argv[1:2] == ["test"] else RUN_LOCK
    try:
        with one_at_a_time():
            bring_up_to_date(lock)
    except KeyboardInterrupt:
        sys.exit("\nStopped. The same command starts afresh.")
    os.execv(str(PYTHON), [str(PYTHON), *argv])


def bring_up_to_date(lock):
    """Install `lock` unless the stamp says that it is there."""
    kept = read_stamp()
    if kept.get(lock) == digest(lock) and PYTHON.exists():
        return
    if not kept or not PYTHON.exists():
        make_venv()
        kept = {}
    STAMP.unlink(missing_ok=True)
    install(lock)
    kept[lock] = digest(lock)
    if lock == TEST_LOCK:
        kept[RUN_LOCK] = digest(RUN_LOCK)
    write_stamp(kept)


def make_venv():
    say("Making .venv")
    try:
        import ensurepip  # noqa: F401
        import venv
    except ImportError:
        sys.exit(
            "This Python cannot make a virtual environment: its venv module is not complete. "
            "On Debian and Ubuntu: apt install python3-venv"
        )
    if VENV.exists():
        shutil.rmtree(VENV)
    venv.create(VENV, with_pip=True, symlinks=True)
    # Before Python 3.12 an old setuptools comes along, which nothing here uses and which has known faults.
    subprocess.run([str(PYTHON), "-m", "pip", "uninstall", "--yes", "setuptools"], capture_output=True)


def install(lock):
    """Install a lock's packages with pip, each checked against its hash; one line of progress a package."""
    count = len(PIN.findall((BASE_DIR / lock).read_text()))
    command = [str(PYTHON), "-m", "pip", "install", "--require-hashes", "--no-deps", "--no-compile", "--no-input"]
    command += ["--disable-pip-version-check", "--progress-bar", "off", "-r", str(BASE_DIR / lock)]
    say("Installing the packages into .venv, once")
    pip = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    said, done = [], 0
    for line in pip.stdout:
        said.append(line.rstrip())
        reached = REACHED.match(line)
        if reached:
            done += 1
            name, version = reached[1] or reached[3], reached[2] or reached[4]
            if name:
                say(f"{done * 90 // count:4} %  {name} {version}")
        elif line.startswith("Installing collected"):
            say("  90 %  unpacking")
    if pip.wait():
        sys.exit("\n".join([*said[-12:], "The packages were not installed. The same command tries again."]))
    say(" 100 %  installed")


def digest(lock):
    return hashlib.sha256((BASE_DIR / lock).read_bytes()).hexdigest()


def read_stamp():
    try:
        return json.loads(STAMP.read_text())
    except (OSError, ValueError):
        return {}


def write_stamp(kept):
    draft = STAMP.with_suffix(".draft")
    draft.write_text(json.dumps(kept, indent=1))
    draft.replace(STAMP)


@contextlib.contextmanager
def one_at_a_time():
    """Two commands started together install once: the second waits for the first."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(BASE_DIR, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def say(text):
    print(text, file=sys.stderr, flush=True)
