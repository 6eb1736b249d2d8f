"""A counter that every change of the catalogue moves on, so that a process knows whether what it keeps still holds."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.db import models
from django.db.models import F

_read: ContextVar[list[str] | None] = ContextVar("read", default=None)


class CatalogueVersion(models.Model):
    """One row. The mark tells apart two catalogues of one number, as after a restored backup."""

    number = models.PositiveBigIntegerField(default=0)
    mark = models.CharField(max_length=16, default="")

    class Meta:
        verbose_name = "version of the catalogue"

    def __str__(self):
        return f"{self.number}-{self.mark}"

    @classmethod
    def move_on(cls) -> None:
        """Count one change; call it inside the transaction that makes the change."""
        if read := _read.get():
            read.clear()
        moved = cls.objects.filter(pk=1).update(number=F("number") + 1, mark=secrets.token_hex(8))
        if not moved:
            cls.objects.create(pk=1, number=1, mark=secrets.token_hex(8))

    @classmethod
    def current(cls) -> str:
        """Return the version as a text, in one query; empty where nothing was ever loaded."""
        read = _read.get()
        if read:
            return read[0]
        row = cls.objects.filter(pk=1).values_list("number", "mark").first()
        text = f"{row[0]}-{row[1]}" if row else ""
        if read is not None:
            read.append(text)
        return text


@contextmanager
def read_once() -> Iterator[None]:
    """Let the version be asked for once: one answer of the program sees one catalogue, its own changes included."""
    token = _read.set([])
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
