"""The last key that a table gave out: a copy goes on from there, so that no key of a removed row is given again."""

from django.db import models

from shop.keeping.rows import Model


def last_key(connection, model: Model) -> int:
    """Return the last key given, 0 before the first or where keys are not numbered."""
    if not is_numbered(model):
        return 0
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [model._meta.db_table])
            row = cursor.fetchone()
            return row[0] if row else 0
        cursor.execute(f"SELECT last_value, is_called FROM {sequence(cursor, model)}")
        value, is_called = cursor.fetchone()
        return value if is_called else value - 1


def go_on_from(connection, model: Model, last: int) -> None:
    """Let the table's next key be the one after `last`."""
    if not is_numbered(model):
        return
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            table = model._meta.db_table
            cursor.execute("DELETE FROM sqlite_sequence WHERE name = %s", [table])
            if last:
                cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, last])
        else:
            cursor.execute("SELECT setval(%s, %s, %s)", [sequence(cursor, model), max(last, 1), last > 0])


def is_numbered(model: Model) -> bool:
    return isinstance(model._meta.pk, models.AutoField | models.BigAutoField | models.SmallAutoField)


def sequence(cursor, model: Model) -> str:
    cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", [f'"{model._meta.db_table}"', model._meta.pk.column])
    return cursor.fetchone()[0]
