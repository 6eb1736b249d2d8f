"""What the tests can use of this machine: a browser, a PostgreSQL server. Standard library only."""

import os
import shutil
from pathlib import Path

CI = os.environ.get("CI") == "true"


def chromium() -> str | None:
    """Path of Chromium, which the browser tests drive."""
    return next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)


def postgres_programs() -> Path | None:
    """Folder of initdb and postgres; Debian keeps them off the PATH, one folder a version."""
    initdb = shutil.which("initdb")
    folders = [Path(initdb).resolve().parent] if initdb else []
    by_version = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: float(folder.parent.name))
    return next((folder for folder in [*folders, *reversed(by_version)] if (folder / "postgres").exists()), None)
