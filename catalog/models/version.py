"""A counter that every change of the catalogue moves on, so that a process knows whether what it keeps still holds."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.db import models
from django.db.models import F

_read: ContextVar[dict[int, str] | None] = ContextVar("read", default=None)


CATALOGUE, SHELF, BENCH = COUNTED = 1, 2, 3
"""What is counted, by the key of its row: changes of the catalogue, of what lies on the shelf, of the bench's work."""


class CatalogueVersion(models.Model):
    """One row for each thing that is counted. The mark tells apart two of one number, as after a restored backup."""

    number = models.PositiveBigIntegerField(default=0)
    mark = models.CharField(max_length=16, default="")

    class Meta:
        verbose_name = "version of the catalogue"

    def __str__(self):
        return f"{self.number}-{self.mark}"

    @classmethod
    def move_on(cls, which: int = CATALOGUE) -> None:
        """Count one change; call it inside the transaction that makes the change."""
        if read := _read.get():
            read.clear()
        if not cls._moved(which):
            cls.objects.bulk_create([cls(pk=which)], ignore_conflicts=True)
            cls._moved(which)

    @classmethod
    def _moved(cls, which: int) -> int:
        return cls.objects.filter(pk=which).update(number=F("number") + 1, mark=secrets.token_hex(8))

    @classmethod
    def current(cls, which: int = CATALOGUE) -> str:
        """Return a version as a text, all of them in one query; empty where nothing of the kind ever changed."""
        read = _read.get()
        if read:
            return read.get(which, "")
        rows = cls.objects.filter(pk__in=COUNTED).values_list("pk", "number", "mark")
        found = {pk: f"{number}-{mark}" for pk, number, mark in rows}
        if read is not None:
            read.update(found)
        return found.get(which, "")


@contextmanager
def read_once() -> Iterator[None]:
    """Let the version be asked for once: one answer of the program sees one catalogue, its own changes included."""
    token = _read.set({})
    try:
        yield
    finally:
        _read.reset(token)


class ReadOnceMiddleware:
    """Each request sees one version of the catalogue, in one query."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with read_once():
            return self.get_response(request)
