"""Tables whose rows are written once: a base model that refuses in Python, triggers that refuse in the database.

Use both: derive the model from `AppendOnly`, and list in a migration after its table

    operations = [append_only.Protect("builds_quote", unique=["number"])]

`unique` names the columns that have a unique constraint besides the key: on SQLite a REPLACE into one of
them would remove the older row.
"""

import contextlib
from collections.abc import Iterator

from django.db import connection, models, transaction
from django.db.migrations.operations.base import Operation

REFUSAL = "{table} is append-only: a row once written is neither changed nor removed"


class AppendOnlyError(TypeError):
    """Code tried to change or remove a row that is written once."""


class AppendOnlyQuerySet(models.QuerySet):
    def _refuse(self, *args, **kwargs):
        raise AppendOnlyError(REFUSAL.format(table=self.model._meta.db_table))

    update = bulk_update = update_or_create = delete = _refuse

    def bulk_create(self, objs, *args, **kwargs):
        rows = super().bulk_create(objs, *args, **kwargs)
        for row in rows:
            note(row)
        return rows


class AppendOnly(models.Model):
    # Whether the journal keeps the hash of each row.
    SEALED = True

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args, **kwargs):
        if not self._state.adding:
            raise AppendOnlyError(REFUSAL.format(table=self._meta.db_table))
        super().save(*args, **{**kwargs, "force_insert": True})
        note(self)

    def delete(self, *args, **kwargs):
        raise AppendOnlyError(REFUSAL.format(table=self._meta.db_table))

    def kept(self) -> Iterator[tuple[str, bytes, str]]:
        """The files that the row keeps: what each is, its bytes, and the SHA-256 that stands beside it."""
        return iter(())


class Written:
    """A row that this transaction wrote. Django drops what waits for a commit when its savepoint is rolled back."""

    def __init__(self, row: AppendOnly):
        self.row = row

    def __call__(self):
        """The commit came; nothing is left to do."""


class Sealed(Written):
    """A row whose hash stands in a journal entry of this transaction."""


def note(row: AppendOnly) -> None:
    """Remember a written row until the journal entry of its transaction seals it."""
    if row.SEALED and connection.in_atomic_block:
        transaction.on_commit(Written(row))


def seal() -> list[AppendOnly]:
    """The rows that this transaction wrote and no entry has sealed yet; from now on they count as sealed."""
    hooks = [hook for _, hook, *_ in connection.run_on_commit if isinstance(hook, Written)]
    done = {id(hook.row) for hook in hooks if isinstance(hook, Sealed)}
    rows = [hook.row for hook in hooks if id(hook.row) not in done]
    for row in rows:
        transaction.on_commit(Sealed(row))
    return rows


class Protect(Operation):
    """Migration step: triggers on `table` that refuse UPDATE, DELETE, REPLACE and TRUNCATE."""

    reversible = True
    reduces_to_sql = True

    def __init__(self, table: str, unique: list[str] | tuple[str, ...] = ()):
        self.table = table
        self.unique = list(unique)

    def state_forwards(self, app_label, state):
        pass

    def database_forwards(self, app_label, schema_editor, from_state, to_state):
        for statement in protect_sql(schema_editor.connection, self.table, self.unique):
            schema_editor.execute(statement, params=None)

    def database_backwards(self, app_label, schema_editor, from_state, to_state):
        for statement in release_sql(schema_editor.connection, self.table):
            schema_editor.execute(statement, params=None)

    def describe(self):
        return f"Make {self.table} append-only"


def protect_sql(connection, table: str, unique=()) -> list[str]:
    """The statements that make `table` append-only on this connection's database, whether it was before or not."""
    create = {"sqlite": _sqlite, "postgresql": _postgresql}[connection.vendor]
    return [*release_sql(connection, table), *create(table, ["id", *unique])]


def release_sql(connection, table: str) -> list[str]:
    """The statements that undo `protect_sql`."""
    on_table = "" if connection.vendor == "sqlite" else f' ON "{table}"'
    return [f'DROP TRIGGER IF EXISTS "{name}"{on_table}' for name in trigger_names(connection, table)]


def trigger_names(connection, table: str) -> list[str]:
    deeds = {"sqlite": ["update", "delete", "replace"], "postgresql": ["change", "truncate"]}[connection.vendor]
    return [f"{table}_no_{deed}" for deed in deeds]


@contextlib.contextmanager
def lifted(connection, model: type["AppendOnly"]) -> Iterator[models.QuerySet]:
    """The one named exception: rows whose time has ended may be emptied. Hands out rows that can be changed.

    Call it inside a transaction that writes a journal entry about them: other connections never see the table without
    its triggers. Raises RuntimeError outside a transaction.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("an append-only table is opened only inside the transaction that journals it")
    table, unique = model._meta.db_table, unique_columns(model)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # A table with checks that still wait can't be altered.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for statement in release_sql(connection, table):
            cursor.execute(statement)
        yield models.QuerySet(model)
        for statement in protect_sql(connection, table, unique):
            cursor.execute(statement, None)


def unique_columns(model: type["AppendOnly"]) -> list[str]:
    """The columns that have a unique constraint of their own, besides the key."""
    return [field.column for field in model._meta.local_fields if field.unique and not field.primary_key]


def missing_triggers(connection) -> list[str]:
    """Names of the triggers that the append-only models ask for and the database lacks.

    Django rebuilds a table on SQLite when a column changes, and its triggers go with the old one: a migration
    that alters an append-only table has to list `Protect` again.
    """
    catalogue = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(catalogue)
        present = {name for (name,) in cursor.fetchall()}
    wanted = [name for model in protected_models() for name in trigger_names(connection, model._meta.db_table)]
    return [name for name in wanted if name not in present]


def protected_models() -> list[type[AppendOnly]]:
    from django.apps import apps

    return [model for model in apps.get_models() if issubclass(model, AppendOnly)]


def _sqlite(table: str, keys: list[str]) -> list[str]:
    raising = f"BEGIN SELECT RAISE(ABORT, '{REFUSAL.format(table=table)}'); END"
    same_key = " OR ".join(f'"{key}" = NEW."{key}"' for key in keys)
    update, delete, replace = (f"{table}_no_{deed}" for deed in ("update", "delete", "replace"))
    return [
        f'CREATE TRIGGER "{update}" BEFORE UPDATE ON "{table}" {raising}',
        f'CREATE TRIGGER "{delete}" BEFORE DELETE ON "{table}" {raising}',
        f'CREATE TRIGGER "{replace}" BEFORE INSERT ON "{table}" '
        f'WHEN EXISTS (SELECT 1 FROM "{table}" WHERE {same_key}) {raising}',
    ]


def _postgresql(table: str, keys: list[str]) -> list[str]:
    change, truncate = (f"{table}_no_{deed}" for deed in ("change", "truncate"))
    refuse = "EXECUTE FUNCTION refuse_append_only()"
    return [
        "CREATE OR REPLACE FUNCTION refuse_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"RAISE EXCEPTION '{REFUSAL.format(table='%')}', TG_TABLE_NAME "
        "USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f'CREATE TRIGGER "{change}" BEFORE UPDATE OR DELETE ON "{table}" FOR EACH ROW {refuse}',
        f'CREATE TRIGGER "{truncate}" BEFORE TRUNCATE ON "{table}" FOR EACH STATEMENT {refuse}',
    ]
