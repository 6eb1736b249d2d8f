"""Disk full, database held by another: plain words, nothing lost, and what was typed is sent again and saved once."""

import io
import os

import pytest
from django.db import IntegrityError, InterfaceError, OperationalError
from django.test import RequestFactory

from shop.running import trouble
from tests.keeping.shops import needs_strace

# The whole half minute is waited for in the long run.
WAIT_MS = 30_000 if os.environ.get("HULLBENCH_LONG") else 300


@pytest.mark.parametrize(("kind", "words"), [("full", "disk is full"), ("locked", "kept the database busy")])
def test_on_sqlite_what_was_typed_is_saved_once_when_the_trouble_is_over(shop, kind, words):
    found = shop.script("pressed_in_trouble", kind, WAIT_MS)
    assert words in found["words"]
    assert (found["status"], found["unchanged"], found["again"], found["saved"]) == (503, True, 303, True), found
    assert (found["times"], found["findings"]) == (1, [])
    # Reading goes on, though the sign of life that a session notes is not taken.
    assert found["reading"] == 200


@pytest.mark.parametrize(
    ("kind", "words"),
    [pytest.param("full", "disk is full", marks=needs_strace), ("locked", "kept the database busy")],
)
def test_on_postgresql_what_was_typed_is_saved_once_when_the_trouble_is_over(shop_on_postgres, kind, words):
    found = shop_on_postgres.script("pressed_in_trouble", kind, WAIT_MS)
    assert words in found["words"]
    assert (found["status"], found["unchanged"], found["again"], found["saved"]) == (503, True, 303, True), found
    assert (found["times"], found["findings"]) == (1, [])


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OperationalError("database or disk is full"), trouble.DISK_FULL),
        (OperationalError("could not extend file: No space left on device"), trouble.DISK_FULL),
        (OperationalError("database is locked"), trouble.BUSY),
        (OperationalError("canceling statement due to lock timeout"), trouble.BUSY),
        (OperationalError("deadlock detected"), trouble.BUSY),
        (OperationalError("connection refused"), trouble.NO_ANSWER),
        (InterfaceError("connection already closed"), trouble.NO_ANSWER),
        (IntegrityError("UNIQUE constraint failed"), None),
        (KeyError("x"), None),
        (None, None),
    ],
)
def test_an_error_of_the_machine_is_told_apart_from_a_fault_of_the_program(error, words):
    assert trouble.words_of(error) == words


def test_passwords_and_files_are_not_put_into_the_page():
    factory = RequestFactory()
    assert trouble.again(factory.post("/sign-in/", {"username": "x", "password": "y"})) is None
    plain = factory.post("/x/", "a=1&a=2&csrfmiddlewaretoken=t", content_type="application/x-www-form-urlencoded")
    assert trouble.again(plain) == [("a", "1"), ("a", "2")]
    assert trouble.again(factory.get("/x/")) is None
    assert trouble.again(factory.post("/x/", {"n": "1", "photo": io.BytesIO(b"jpeg")})) is None


def test_htmx_shows_the_page_too():
    request = RequestFactory().get("/x/", headers={"HX-Request": "true"})
    answer = trouble.page(request, trouble.BUSY)
    assert (answer.status_code, answer["HX-Retarget"]) == (200, "body")
