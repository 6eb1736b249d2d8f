"""The small cast of every test (one person a role), and what the test databases need."""

import contextlib
import gc
import socket

import pytest
from django.db import connection
from django.test import TransactionTestCase
from xdist.scheduler import LoadScopeScheduling

from shop import append_only, roles
from shop.models import User
from tests.shop.accounts_at_work import standing_clock

# Whoever asks for one of these fixtures asks for the database.
DATABASE_FIXTURES = {"db", "transactional_db", "live_server", "django_db_setup"}


# What these files make once and keep (a shop, a server, a year, a paper) is dear: one worker does a row of them.
ON_ONE_WORKER = {
    "keeping": ("keeping/",),
    "papers": ("builds/test_paper_", "builds/test_documents.py"),
    "the demo's year": ("builds/test_demo.py",),
    "the demo": ("shop/test_demo.py",),
    "learning": ("learning/test_learning_pays.py",),
}


class OneWorkerEach(LoadScopeScheduling):
    """Rows first, each on one worker; then test by test on whichever is free."""

    def _split_scope(self, nodeid):
        place = nodeid.removeprefix("tests/")
        return next((row for row, files in ON_ONE_WORKER.items() if place.startswith(files)), nodeid)


def pytest_xdist_make_scheduler(config, log):
    return OneWorkerEach(config, log)


def pytest_collection_modifyitems(items):
    """Mark the tests that touch the database, to be run again on another one, and those that run alone."""
    for item in items:
        if item.path.parent.name == "bench":
            item.add_marker("timing")
        if item.get_closest_marker("django_db") or DATABASE_FIXTURES & set(getattr(item, "fixturenames", ())):
            item.add_marker("database")


def pytest_collection_finish():
    """As shop/wsgi.py does: four thousand tests stay, and the collector would go through them again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 10, 10)


@pytest.fixture
def counter(db):
    return User.objects.create_user("cora", name="Cora Counter", initials="CC", role=roles.COUNTER)


@pytest.fixture
def tech(db):
    return User.objects.create_user("tam", name="Tam Tech", initials="TT", role=roles.TECH)


@pytest.fixture
def owner(db):
    return User.objects.create_user("olga", name="Olga Owner", initials="OO", role=roles.OWNER)


@pytest.fixture
def cast(counter, tech, owner):
    """Every role with its person: ask each of them in a view test, above all those who must not see it."""
    return {roles.COUNTER: counter, roles.TECH: tech, roles.OWNER: owner}


@pytest.fixture
def client_of(client):
    """The test client, signed in as the person given."""

    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in


@pytest.fixture
def listener():
    """A port of this machine, and how many have called there."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)

        def calls() -> int:
            called = 0
            with contextlib.suppress(BlockingIOError):
                while True:
                    server.accept()[0].close()
                    called += 1
            return called

        yield server.getsockname()[1], calls


@pytest.fixture
def moved_clock():
    """The shop's clock in the test's hand."""
    moved, patched = standing_clock()
    with patched:
        yield moved


@pytest.fixture(autouse=True, scope="session")
def append_only_tables_may_be_emptied_between_tests():
    """A test with real transactions ends by emptying every table, which the append-only triggers would refuse."""
    empty_tables = TransactionTestCase._fixture_teardown

    def without_triggers(case):
        with triggers_off():
            empty_tables(case)

    TransactionTestCase._fixture_teardown = without_triggers
    yield
    TransactionTestCase._fixture_teardown = empty_tables


@contextlib.contextmanager
def triggers_off():
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            triggers = cursor.fetchall()
        off = [f'DROP TRIGGER "{name}"' for name, _ in triggers]
        on = [sql for _, sql in triggers]
    else:
        tables = [model._meta.db_table for model in append_only.protected_models()]
        # A table with deferred checks still open can't be altered.
        off = ["SET CONSTRAINTS ALL IMMEDIATE", *(f'ALTER TABLE "{table}" DISABLE TRIGGER USER' for table in tables)]
        on = [f'ALTER TABLE "{table}" ENABLE TRIGGER USER' for table in tables]
    run(off)
    try:
        yield
    finally:
        run(on)


def run(statements):
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement, None)
