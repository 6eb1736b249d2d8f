"""The shipped catalogue in a test's database: loaded once, then put back row by row, in a tenth of the time."""

from django.apps import apps
from django.db import connection

from catalog import exchange

_kept: dict[str, tuple[list[str], list[tuple]]] = {}
"""The rows by table, once they were loaded. The same rows are the same version, which the shelf keeps."""


def put_catalogue() -> None:
    """Fill an empty catalogue with what is shipped."""
    with connection.cursor() as cursor:
        if not _kept:
            exchange.load()
            keep_rows(cursor)
            return
        for table, (columns, rows) in _kept.items():
            places = ", ".join(["%s"] * len(columns))
            names = ", ".join(f'"{column}"' for column in columns)
            cursor.executemany(f'INSERT INTO "{table}" ({names}) VALUES ({places})', rows)


def keep_rows(cursor) -> None:
    # What others point at comes first.
    for model in sorted(apps.get_app_config("catalog").get_models(), key=points_at_others):
        cursor.execute(f'SELECT * FROM "{model._meta.db_table}"')
        if rows := cursor.fetchall():
            _kept[model._meta.db_table] = [column[0] for column in cursor.description], rows


def points_at_others(model) -> bool:
    return any(field.is_relation for field in model._meta.fields)
