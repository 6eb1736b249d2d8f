"""`python3 manage.py test`: what runs, in which order, and what a machine without a browser or server leaves out.

Without arguments, four parts: on SQLite whatever may run side by side; the database tests again on a PostgreSQL
server of their own, but for a few files that are not about it (these too where HULLBENCH_LONG is set); the tests that
measure time, alone; those that drive the browser. The first part that fails ends the run, so that the last lines are
pytest's own summary of it.
With arguments: pytest on SQLite, arguments passed on; with `--postgres` as the first of them: on PostgreSQL.
"""

import contextlib
import os
import signal
import subprocess
import sys
from pathlib import Path

from tests import machine
from tests.cluster import private_cluster

BASE_DIR = Path(__file__).resolve().parent.parent
WORKERS = "2"
ON_POSTGRES = ["tests/builds", "tests/catalog", "tests/shop", "-m", "database and not (browser or timing)"]
# What these ask of a database, others ask too: they are about what is shown to whom, about an invented year, or do one
# thing a thousand times.
ON_ONE_DATABASE = (
    "builds/test_demo.py",
    "builds/test_demo_by_chance.py",
    "builds/test_every_answer.py",
    "builds/test_faults.py",
    "builds/test_inert.py",
    "builds/test_papers.py",
    "builds/test_queries.py",
    "builds/test_shelf_by_chance.py",
    "builds/test_states.py",
    "builds/test_trust.py",
    "builds/test_who_sees_what.py",
)


def main(arguments: list[str]) -> int:
    """Run and return the exit code."""
    # A kill ends this process as Ctrl-C does: the PostgreSQL server is stopped on the way out.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    if arguments[:1] == ["--postgres"]:
        return pytest_on_postgres(arguments[1:])
    if arguments:
        return pytest(arguments)
    return everything()


def everything() -> int:
    browser, programs = machine.chromium(), machine.postgres_programs()
    missing = {
        "the browser tests: no Chromium here. On Debian: apt install chromium": browser,
        "the tests on PostgreSQL: no server here. On Debian: apt install postgresql": programs,
    }
    left_out = [text for text, found in missing.items() if not found]
    for text in left_out:
        print(f"Left out: {text}", flush=True)
    if left_out and machine.CI:
        print("CI leaves nothing out.")
        return 1
    parts = [lambda: pytest(["-n", WORKERS, "-m", "not (browser or timing)"])]
    if programs:
        once = [] if os.environ.get("HULLBENCH_LONG") else [f"--ignore=tests/{path}" for path in ON_ONE_DATABASE]
        parts.append(lambda: pytest_on_postgres(["-n", WORKERS, *once, *ON_POSTGRES]))
    parts.append(lambda: pytest(["-m", "timing"]))
    if browser:
        parts.append(lambda: pytest(["-n", WORKERS, "-m", "browser"]))
    return next((code for part in parts if (code := part())), 0)


def pytest_on_postgres(arguments: list[str]) -> int:
    programs = machine.postgres_programs()
    if programs is None:
        print("No PostgreSQL server here. On Debian: apt install postgresql")
        return 1
    print("On PostgreSQL:", flush=True)
    with private_cluster(programs) as url:
        return pytest(arguments, DATABASE_URL=url)


def pytest(arguments: list[str], **environment: str) -> int:
    inherited = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    # Set outright: what manage.py put there would win over pytest's own setting.
    settings = {"DJANGO_SETTINGS_MODULE": "tests.settings", **environment}
    process = subprocess.Popen([sys.executable, "-m", "pytest", *arguments], cwd=BASE_DIR, env=inherited | settings)
    try:
        return process.wait()
    except BaseException:
        # Ctrl-C has reached pytest too; let it print its summary before the server goes.
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(timeout=5)
        process.kill()
        raise
