"""What `verify` finds in the journal: any changed sign, and each entry dropped, swapped, replaced or cut off."""

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.models import CharField, TextField

from shop import append_only, journal
from shop.keeping import rows, sound
from shop.models import Backup, JournalEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def four(owner, counter):
    with transaction.atomic():
        return [journal.record(owner, "set_rate", counter, {"rate": n}, {"rate": n + 1}, "dearer") for n in range(4)]


def tamper(*statements, table="shop_journalentry"):
    """What one with the database's password could do: take the triggers off, change the record, put them back."""
    protect = append_only.protect_sql(connection, table, ["number"] if table == "shop_journalentry" else [])
    if connection.vendor == "postgresql":
        connection.check_constraints()
    with connection.cursor() as cursor:
        for statement in (*append_only.release_sql(connection, table), *statements, *protect):
            cursor.execute(statement, None)


def found(part):
    """Whether one of the findings says so."""
    findings = sound.verify().findings
    return any(part in finding for finding in findings) or findings


def test_an_untouched_shop_is_sound_and_the_command_says_so(four, capsys):
    call_command("verify")
    said = capsys.readouterr().out
    assert f"4 entries, head 4 {four[3].entry_hash[:16]}" in said
    assert "Everything is as it was written." in said


TEXTS = [f.column for f in JournalEntry._meta.concrete_fields if isinstance(f, CharField | TextField)]


@pytest.mark.parametrize("column", TEXTS)
def test_one_flipped_sign_in_any_text_of_an_entry_is_found(four, column):
    tamper(f"UPDATE shop_journalentry SET {column} = '#' || substr({column}, 2) WHERE number = 2")
    assert found("entry 2 was changed") is True


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("DELETE FROM shop_journalentry WHERE number = 2", "entry 2 is missing; entry 3 comes after 1"),
        ("DELETE FROM shop_journalentry WHERE number = 1", "entry 1 is missing"),
        ("UPDATE shop_journalentry SET number = 9 WHERE number = 4", "entry 4 is missing; entry 9 comes after 3"),
        ("UPDATE shop_journalentry SET actor_id = NULL WHERE number = 3", "entry 3 was changed"),
    ],
)
def test_a_dropped_or_renumbered_entry_is_found_at_its_place(four, change, told):
    tamper(change)
    assert found(told) is True


def test_two_entries_that_changed_places_are_found(four):
    tamper(
        "UPDATE shop_journalentry SET number = 99 WHERE number = 2",
        "UPDATE shop_journalentry SET number = 2 WHERE number = 3",
        "UPDATE shop_journalentry SET number = 3 WHERE number = 99",
    )
    assert found("comes after 1") is True


def test_a_replaced_entry_with_a_hash_of_its_own_is_found(four):
    forged = four[1]
    forged.why = "forged"
    tamper(f"UPDATE shop_journalentry SET why = 'forged', entry_hash = '{journal.hash_of(forged)}' WHERE number = 2")
    assert found("entry 3 does not follow from entry 2") is True


def test_a_tail_that_was_cut_off_is_found_by_a_head_on_paper_and_by_a_backup_s(four):
    head = journal.head()
    last = four[3]
    with transaction.atomic():
        backup = Backup.objects.create(
            made_at=last.at,
            verified_at=last.at,
            file="one.zip",
            bytes=1,
            sha256="0" * 64,
            journal_number=4,
            journal_hash=last.entry_hash,
        )
        journal.record(None, "backup", backup)
    call_command("verify", head=head)
    tamper("DELETE FROM shop_journalentry WHERE number >= 4")
    assert found("Backup one.zip knew another journal entry 4") is True
    assert found(f"The backup {backup.pk} stands in no journal entry") is True
    with pytest.raises(CommandError, match="journal entry 4 is not in this journal"):
        call_command("verify", head=head)


@pytest.mark.parametrize("head", ["4", "4 xyz", "four 0123456789abcdef", "4 0123"])
def test_a_head_that_is_none_is_refused_with_what_is_accepted(four, head):
    with pytest.raises(CommandError, match="Accepted: its number and its digits"):
        call_command("verify", head=head)


def test_a_lost_trigger_is_found(four):
    with connection.cursor() as cursor:
        for release in append_only.release_sql(connection, "shop_journalentry"):
            cursor.execute(release)
    assert found("its table can be changed") is True


@pytest.mark.django_db(transaction=True)
def test_a_key_that_points_nowhere_is_found(four, tech):
    tamper(f"UPDATE shop_journalentry SET actor_id = NULL WHERE actor_id = {tech.pk}")
    with connection.constraint_checks_disabled(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("ALTER TABLE shop_signinlink DISABLE TRIGGER ALL")
        cursor.execute(
            "INSERT INTO shop_signinlink (user_id, secret_sha256, expires) VALUES (777, 'x', '2026-01-01 00:00+00:00')"
        )
        told = found("points to a user that is not there")
        cursor.execute("DELETE FROM shop_signinlink")
        if connection.vendor == "postgresql":
            cursor.execute("ALTER TABLE shop_signinlink ENABLE TRIGGER ALL")
    assert told is True


def test_what_cannot_be_read_is_a_finding_and_the_rest_is_still_looked_at(four):
    if connection.vendor == "postgresql":
        pytest.skip("PostgreSQL keeps no text in a column of times")
    tamper("UPDATE shop_journalentry SET at = '2026-13-45 99:00' WHERE number = 2")
    findings = sound.verify().findings
    assert findings, findings
    assert any("Journal" in finding or "journal" in finding for finding in findings)


def test_more_than_twenty_findings_of_a_kind_are_counted():
    said = list(sound.told((f"finding {n}" for n in range(50)), "the journal"))
    assert (len(said), said[-1]) == (21, "And 30 more of the journal.")


def test_a_row_points_only_at_rows_that_are_written_before_it_circles_apart():
    models = rows.kept_models()
    names = [rows.label_of(model) for model in models]
    assert "sessions.session" not in names
    assert names.index("shop.user") < names.index("shop.journalentry")
    assert names.index("catalog.accessorytype") < names.index("builds.line")


def test_an_empty_column_that_comes_later_changes_no_seal():
    assert rows.sha256_of({"id": 1, "why": "x"}) == rows.sha256_of({"id": 1, "why": "x", "later": ""})
    assert rows.sha256_of({"id": 1, "why": "x"}) != rows.sha256_of({"id": 1, "why": ""})
