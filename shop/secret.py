"""The secret key that signs sessions: made on first use, readable by its owner alone."""

import os
import secrets
from pathlib import Path


def secret_key(path: Path) -> str:
    """Read the key kept at `path`, made first where there is none."""
    try:
        return path.read_text()
    except FileNotFoundError:
        pass
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w") as file:
        file.write(secrets.token_urlsafe(64))
    try:
        # A link appears whole or not at all; of two processes that start together the first wins.
        os.link(draft, path)
    except FileExistsError:
        pass
    finally:
        draft.unlink()
    return path.read_text()
