"""What the tests can use of this machine: a browser, a PostgreSQL server. Standard library only."""

import os
import shutil
from pathlib import Path

ENOUGH_BYTES = 1 << 30
CI = os.environ.get("CI") == "true"


def chromium() -> str | None:
    """Path of Chromium, which the browser tests drive."""
    return next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)


def memory() -> Path | None:
    """A folder in memory, where a commit does not wait for a disk that others use too."""
    folder = Path("/dev/shm")
    return folder if os.access(folder, os.W_OK) and shutil.disk_usage(folder).free > ENOUGH_BYTES else None


def postgres_programs() -> Path | None:
    """Folder of initdb and postgres; Debian keeps them off the PATH, one folder a version."""
    initdb = shutil.which("initdb")
    folders = [Path(initdb).resolve().parent] if initdb else []
    by_version = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: float(folder.parent.name))
    return next((folder for folder in [*folders, *reversed(by_version)] if (folder / "postgres").exists()), None)
