"""The shipped catalogue in a test's database: loaded once, then put back row by row, in a tenth of the time."""

from django.apps import apps
from django.db import connection

from catalog import exchange

_kept: dict[str, tuple[list[str], list[tuple]] | bytes] = {}
"""What was loaded, by table: its columns and rows, on PostgreSQL as its COPY tells them. The same rows are the same
version, which the shelf keeps."""


def put_catalogue() -> None:
    """Fill an empty catalogue with what is shipped."""
    with connection.cursor() as cursor:
        keep, put = (copy_out, copy_in) if connection.vendor == "postgresql" else (select, insert)
        if not _kept:
            exchange.load()
            # What others point at comes first.
            models = sorted(apps.get_app_config("catalog").get_models(), key=points_at_others)
            _kept.update({model._meta.db_table: keep(cursor, model._meta.db_table) for model in models})
            return
        for table, kept in _kept.items():
            put(cursor, table, kept)


def points_at_others(model) -> bool:
    return any(field.is_relation for field in model._meta.fields)


def copy_out(cursor, table):
    with cursor.copy(f'COPY "{table}" TO STDOUT') as told:
        return b"".join(told)


def copy_in(cursor, table, kept):
    with cursor.copy(f'COPY "{table}" FROM STDIN') as taken:
        taken.write(kept)


def select(cursor, table):
    cursor.execute(f'SELECT * FROM "{table}"')
    return [column[0] for column in cursor.description], cursor.fetchall()


def insert(cursor, table, kept):
    columns, rows = kept
    names, places = ", ".join(f'"{column}"' for column in columns), ", ".join(["%s"] * len(columns))
    cursor.executemany(f'INSERT INTO "{table}" ({names}) VALUES ({places})', rows)
