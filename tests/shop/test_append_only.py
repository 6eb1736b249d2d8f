import pytest
from django.db import IntegrityError, connection, transaction

from shop import append_only, journal
from shop.append_only import AppendOnlyError
from shop.models import JournalEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def entry(owner):
    return journal.record(owner, "greet", owner, after={"said": "good morning"})


def refused(statement, *values):
    """Whether the database itself refuses, whatever the program says."""
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)
    return True


def test_every_append_only_table_has_its_triggers_once_all_migrations_ran():
    assert JournalEntry in append_only.protected_models()
    assert append_only.missing_triggers(connection) == []


def test_a_lost_trigger_is_noticed():
    name = append_only.trigger_names(connection, "shop_journalentry")[0]
    with connection.cursor() as cursor:
        for statement in append_only.release_sql(connection, "shop_journalentry"):
            cursor.execute(statement)
    assert name in append_only.missing_triggers(connection)


def test_the_database_refuses_to_change_a_row(entry):
    assert refused("UPDATE shop_journalentry SET why = %s WHERE id = %s", "another reason", entry.pk)
    assert JournalEntry.objects.get().why == ""


def test_the_database_refuses_to_remove_a_row(entry):
    assert refused("DELETE FROM shop_journalentry WHERE id = %s", entry.pk)
    assert JournalEntry.objects.count() == 1


def columns_and_values(entry, **changes):
    row = {
        field.column: changes.get(field.column, getattr(entry, field.attname)) for field in entry._meta.concrete_fields
    }
    return ", ".join(row), ", ".join(["%s"] * len(row)), list(row.values())


@pytest.mark.skipif(connection.vendor != "sqlite", reason="REPLACE is a word of SQLite's")
@pytest.mark.parametrize("same", ["id", "number", "entry_hash"])
def test_sqlite_refuses_to_replace_a_row_by_any_of_its_keys(entry, same):
    others = {"id": 99, "number": 99, "entry_hash": "f" * 64}
    del others[same]
    columns, marks, values = columns_and_values(entry, **others)
    assert refused(f"INSERT OR REPLACE INTO shop_journalentry ({columns}) VALUES ({marks})", *values)


@pytest.mark.skipif(connection.vendor != "postgresql", reason="TRUNCATE is a word of PostgreSQL's")
def test_postgresql_refuses_to_empty_the_table(entry):
    # Keys still to be checked at the commit would refuse the TRUNCATE first.
    connection.check_constraints()
    assert refused("TRUNCATE shop_journalentry")


def test_an_insert_that_updates_on_conflict_is_refused(entry):
    columns, marks, values = columns_and_values(entry)
    assert refused(
        f"INSERT INTO shop_journalentry ({columns}) VALUES ({marks}) ON CONFLICT (id) DO UPDATE SET why = 'other'",
        *values,
    )


def test_the_model_refuses_before_the_database_is_asked(entry):
    entry.why = "another reason"
    for attempt in (
        entry.save,
        entry.delete,
        JournalEntry.objects.all().delete,
        lambda: JournalEntry.objects.update(why="another reason"),
        lambda: JournalEntry.objects.bulk_update([entry], ["why"]),
    ):
        with pytest.raises(AppendOnlyError):
            attempt()


def test_the_step_can_be_taken_back():
    with connection.cursor() as cursor:
        for statement in append_only.release_sql(connection, "shop_journalentry"):
            cursor.execute(statement)
        for statement in append_only.protect_sql(connection, "shop_journalentry", ["number", "entry_hash"]):
            cursor.execute(statement, None)
    ours = append_only.trigger_names(connection, "shop_journalentry")
    assert not set(ours) & set(append_only.missing_triggers(connection))
