"""SQLite to PostgreSQL to SQLite: the same rows, sums and journal, and the keys go on where they were."""

import pytest

from tests.keeping.shops import Shop


@pytest.fixture
def moved(made, empty_database, place):
    """The small shop, moved to PostgreSQL."""
    shop = made.copy(place / "before")
    shop.script("delete_last_customer")
    done = shop.run("move", empty_database)
    assert done.returncode == 0, done.stderr
    assert "equal here and there" in done.stdout
    return shop, Shop(shop.folder, empty_database)


def test_to_postgresql_and_back_every_table_is_equal_and_work_goes_on(moved, place):
    before, there = moved
    dump = before.script("dump")
    assert there.script("dump") == dump
    assert dump["builds.customer"]["last_key"] > dump["builds.customer"]["rows"]
    back = Shop(place / "back")
    back.folder.mkdir()
    done = there.run("move", back.folder / "hullbench.sqlite3")
    assert done.returncode == 0, done.stderr
    assert back.script("dump") == dump
    for shop in (there, back):
        found = shop.script("work_goes_on")
        assert found["findings"] == []
        assert found["key"] == dump["builds.customer"]["last_key"] + 1
        assert found["triggers"] == []


def test_a_database_that_holds_anything_is_refused_and_nothing_changes(shop, shop_on_postgres):
    before = shop_on_postgres.script("dump")
    done = shop.run("move", shop_on_postgres.url)
    assert (done.returncode, "The database is not empty" in done.stderr) == (1, True), done.stderr
    assert shop_on_postgres.script("dump") == before


@pytest.mark.parametrize(
    ("to", "told"),
    [
        ("mysql://shop/x", "Accepted: postgres://"),
        ("/nowhere/at/all.sqlite3", "There is no folder"),
        ("hullbench.sqlite3", "is there already"),
        ("postgres://nobody@%2Fnowhere/x", "Nothing was moved"),
    ],
)
def test_an_address_that_is_none_is_refused_in_words(made, to, told):
    done = made.run("move", made.folder / to if to == "hullbench.sqlite3" else to)
    assert (done.returncode, told in done.stderr, "Traceback" in done.stderr) == (1, True, False), done.stderr
