"""Databases besides the shop's own: a snapshot of it, or the one that it moves to."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import connections, transaction

from shop import database

SNAPSHOT = "snapshot"


@contextmanager
def another(alias: str, settings: dict[str, Any]) -> Iterator[str]:
    """Make a database known by an alias for a while."""
    connections.settings[alias] = connections.configure_settings({"default": settings})["default"]
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]
        del connections.settings[alias]


@contextmanager
def snapshot(folder: Path) -> Iterator[str]:
    """The shop as it is at one moment, to be read at leisure while work goes on; `folder` has room for a copy."""
    if connections["default"].vendor == "sqlite":
        with tempfile.TemporaryDirectory(prefix=".snapshot-", dir=folder) as place:
            copy = Path(place) / "copy.sqlite3"
            connections["default"].ensure_connection()
            target = sqlite3.connect(copy)
            try:
                # All pages in one step: no writer comes between two of them.
                connections["default"].connection.backup(target)
            finally:
                target.close()
            with another(SNAPSHOT, database.sqlite(copy)) as alias:
                yield alias
    else:
        with another(SNAPSHOT, dict(connections["default"].settings_dict)) as alias, transaction.atomic(alias):
            with connections[alias].cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield alias
