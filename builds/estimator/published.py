"""The published tables beside the code, one CSV file each; the first line of each names its source."""

import csv
from functools import cache
from pathlib import Path

TABLES = Path(__file__).parent / "tables"


@cache
def rows_of(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a table by column name, as texts. The lines that start with # are about the table."""
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(line for line in file if not line.startswith("#")))
