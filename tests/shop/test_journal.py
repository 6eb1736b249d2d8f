import datetime
import hashlib
from decimal import Decimal

import pytest
from django.db import connection, transaction

from shop import append_only, journal
from shop.models import JournalEntry

pytestmark = pytest.mark.django_db


def tamper(statement, *values):
    """What one with the database's password could do: take the triggers off, then change the record."""
    with connection.cursor() as cursor:
        for release in append_only.release_sql(connection, "shop_journalentry"):
            cursor.execute(release)
        cursor.execute(statement, values)


@pytest.fixture
def three(owner, counter):
    return [journal.record(owner, "set_rate", counter, {"rate": n}, {"rate": n + 1}, "dearer") for n in (1, 2, 3)]


def test_entries_are_numbered_and_each_carries_the_hash_of_the_one_before(three):
    assert [entry.number for entry in three] == [1, 2, 3]
    assert three[0].previous_hash == journal.FIRST_HASH
    assert [entry.previous_hash for entry in three[1:]] == [entry.entry_hash for entry in three[:2]]


def test_an_untouched_journal_holds(three):
    assert journal.verify() is None


def test_an_empty_journal_holds():
    assert journal.verify() is None


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("after_json", '{"rate":9}'),
        ("why", "no reason"),
        ("actor_name", "Someone Else"),
        ("action", "set_price"),
        ("subject_key", "77"),
        ("at", datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)),
        ("previous_hash", "0" * 64),
    ],
)
def test_a_changed_entry_is_found(three, column, value):
    tamper(f"UPDATE shop_journalentry SET {column} = %s WHERE number = 2", value)
    assert journal.verify().number == 2


def test_a_removed_entry_is_found_at_the_one_after_it(three):
    tamper("DELETE FROM shop_journalentry WHERE number = 2")
    assert journal.verify().number == 3


def test_a_rewritten_entry_with_a_hash_of_its_own_is_found_at_the_one_after_it(three):
    forged = three[1]
    forged.why = "forged"
    tamper("UPDATE shop_journalentry SET why = %s, entry_hash = %s WHERE number = 2", "forged", journal.hash_of(forged))
    assert journal.verify().number == 3


def test_the_hash_is_sha256_of_the_canonical_json(owner):
    """Worked anew here with hashlib; SHA-256 is FIPS 180-4, the JSON has sorted keys and no spaces."""
    entry = journal.record(owner, "greet", owner, why="morning")
    at = entry.at.strftime("%Y-%m-%dT%H:%M:%S.%f+00:00")
    text = (
        f'{{"action":"greet","actor":{owner.pk},"actor_name":"Olga Owner","after":"{{}}","at":"{at}","before":"{{}}",'
        f'"number":1,"previous_hash":"{"0" * 64}","subject":["shop.user","{owner.pk}","Olga Owner"],"why":"morning"}}'
    )
    assert entry.entry_hash == hashlib.sha256(text.encode()).hexdigest()


def test_what_was_written_reads_back_the_same(owner, tech):
    before = {"price": Decimal("12.50"), "from": datetime.date(2026, 4, 1), "tech": tech}
    journal.record(owner, "set_rate", tech, before, {"share": 0.1 + 0.2, "n": 1e16, "list": [1, None, True]})
    entry = JournalEntry.objects.get()
    assert entry.before == {"price": "12.50", "from": "2026-04-01", "tech": "Tam Tech"}
    assert entry.after == {"share": 0.1 + 0.2, "n": 1e16, "list": [1, None, True]}
    assert journal.verify() is None


def test_the_program_itself_may_be_the_actor(owner):
    assert journal.record(None, "lapse", owner).actor_name == "Hullbench"


def test_the_history_of_one_row_leaves_out_the_others(owner, tech):
    journal.record(owner, "greet", owner)
    ours = journal.record(owner, "greet", tech)
    assert list(journal.history(tech)) == [ours]


@pytest.mark.parametrize("value", [float("nan"), object()])
def test_what_cannot_be_written_is_refused(owner, value):
    with pytest.raises((ValueError, TypeError)):
        journal.record(owner, "greet", owner, after={"value": value})


@pytest.mark.django_db(transaction=True)
def test_an_entry_stands_and_falls_with_the_change(owner):
    with pytest.raises(RuntimeError, match="inside the transaction"):
        journal.record(owner, "greet", owner)
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        journal.record(owner, "greet", owner)
        raise ZeroDivisionError
    assert not JournalEntry.objects.exists()
