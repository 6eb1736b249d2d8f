"""An empty database filled with rows from elsewhere, as they are, and held to what they came from."""

import hashlib
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from django.apps import apps
from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from shop.keeping import keys, rows

# Django writes them into a new database by itself.
WRITTEN_BY_DJANGO = ("contenttypes.contenttype", "auth.permission")
Table = dict[str, Any]
"""What a table came to: rows, sha256, last_key."""


class NotFilled(Exception):
    """Nothing was filled, with the sentence that says why."""


def refuse_filled(alias: str) -> None:
    """Raise NotFilled where a database holds anything."""
    connection = connections[alias]
    present = set(connection.introspection.table_names())
    for model in rows.kept_models():
        table = model._meta.db_table
        if table in present and rows.label_of(model) not in WRITTEN_BY_DJANGO:
            with connection.cursor() as cursor:
                cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(table)} LIMIT 1")
                if cursor.fetchone():
                    raise NotFilled(
                        f"The database is not empty: {model._meta.verbose_name_plural} are in it. Nothing is ever "
                        "overwritten; name an empty one."
                    )


def make_tables(alias: str, applied: Iterable[str]) -> Any:
    """Bring an empty database to the state of `applied` migrations, and return the models of that state.

    Raises NotFilled where the program does not know that state, or the database is past it.
    """
    executor = MigrationExecutor(connections[alias])
    graph, wanted = executor.loader.graph, {tuple(name.split(".", 1)) for name in applied}
    if unknown := sorted(wanted - set(graph.nodes) - set(executor.loader.replacements)):
        raise NotFilled(f"These rows come from a later program: it knows {'.'.join(unknown[0])}. Use that program.")
    known = wanted & set(graph.nodes)
    targets = [node for node in known if not any(child.key in known for child in graph.node_map[node].children)]
    plan = executor.migration_plan(targets)
    if set(executor.loader.applied_migrations) - wanted:
        raise NotFilled("The tables of this database are newer than these rows. Name a database without tables.")
    executor.migrate(targets, plan)
    return MigrationExecutor(connections[alias]).loader.project_state(targets).apps


def fill(
    alias: str, models: list[rows.Model], read: Callable[[str], Iterable[rows.Plain]], tables: dict[str, Table]
) -> None:
    """Write all rows, set the keys that come next, and hold each table to its SHA-256; call inside a transaction.

    `read` gives the plain rows of a table by its label. Raises NotFilled where a table is not what it came from.
    """
    connection = connections[alias]
    for model in reversed(models):
        if rows.label_of(model) in WRITTEN_BY_DJANGO:
            model._base_manager.using(alias).all().delete()
    for model in models:
        label = rows.label_of(model)
        if label in tables:
            put_in(connection, model, read(label))
            keys.go_on_from(connection, model, tables[label]["last_key"])
    connection.check_constraints()
    for model in models:
        label = rows.label_of(model)
        if label in tables and (came_to := table_of(alias, model)) != tables[label]:
            raise NotFilled(f"{label} came to {came_to}, not to {tables[label]}. Nothing was written.")


def put_in(connection, model: rows.Model, plain_rows: Iterable[rows.Plain]) -> None:
    quote, columns = connection.ops.quote_name, rows.columns_of(model)
    names = ", ".join(quote(field.column) for field in columns)
    statement = f"INSERT INTO {quote(model._meta.db_table)} ({names}) VALUES ({', '.join(['%s'] * len(columns))})"
    with connection.cursor() as cursor:
        for some in a_few(plain_rows):
            cursor.executemany(statement, [[prepared(field, one, connection) for field in columns] for one in some])


def prepared(field, values: rows.Plain, connection) -> Any:
    return field.get_db_prep_save(rows.from_plain(field, values[field.column]), connection)


def a_few(plain_rows: Iterable[rows.Plain]) -> Iterator[list[rows.Plain]]:
    some: list[rows.Plain] = []
    for one in plain_rows:
        some.append(one)
        if len(some) == rows.ROWS_AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def table_of(alias: str, model: rows.Model) -> Table:
    """What a table comes to as it stands in a database."""
    digest, count = hashlib.sha256(), 0
    for row in rows.rows_of(model, alias):
        digest.update(rows.canonical(rows.plain(row)).encode() + b"\n")
        count += 1
    return {"rows": count, "sha256": digest.hexdigest(), "last_key": keys.last_key(connections[alias], model)}


def models_behind(alias: str) -> Any:
    """The models as a database has them: the program's own, or those of the state that an older one is in."""
    if not steps_ahead(alias):
        return apps
    loader = MigrationExecutor(connections[alias]).loader
    known = [node for node in loader.applied_migrations if node in loader.graph.nodes]
    return loader.project_state(known).apps


def steps_ahead(alias: str) -> list[Any]:
    """The steps that the program has and a database lacks."""
    executor = MigrationExecutor(connections[alias])
    return executor.migration_plan(executor.loader.graph.leaf_nodes())


def bring_up_to_date(alias: str) -> None:
    """Take those steps."""
    executor = MigrationExecutor(connections[alias])
    executor.migrate(executor.loader.graph.leaf_nodes())
