"""Tables as files: CSV after RFC 4180, figures exact, and no cell that a spreadsheet takes for a formula."""

import csv
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from django.http import StreamingHttpResponse

HARMFUL = ("=", "+", "-", "@", "\t", "\r")


def safe(value: Any) -> str:
    """Return a cell: figures as they are with a full stop, no thousands; text that begins like a formula is quoted."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, int | float) and not isinstance(value, bool):
        return repr(value)
    text = str(value)
    return f"'{text}" if text.startswith(HARMFUL) else text


class _Line:
    """What a csv writer writes to, one line at a time."""

    def write(self, text: str) -> str:
        return text


def csv_lines(rows: Iterable[Iterable[Any]]) -> Iterator[str]:
    """Yield the lines of a file: comma, double quotes, CRLF (RFC 4180)."""
    writer = csv.writer(_Line())
    for row in rows:
        yield writer.writerow([safe(cell) for cell in row])


def csv_response(rows: Iterable[Iterable[Any]], name: str) -> StreamingHttpResponse:
    """Return the rows as a file to be kept, sent line by line."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return StreamingHttpResponse(csv_lines(rows), content_type="text/csv; charset=utf-8", headers=headers)
