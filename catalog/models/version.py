"""A counter that every change of the catalogue moves on, so that a process knows whether what it keeps still holds."""

import secrets

from django.db import models
from django.db.models import F


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
        moved = cls.objects.filter(pk=1).update(number=F("number") + 1, mark=secrets.token_hex(8))
        if not moved:
            cls.objects.create(pk=1, number=1, mark=secrets.token_hex(8))

    @classmethod
    def current(cls) -> str:
        """Return the version as a text, in one query; empty where nothing was ever loaded."""
        row = cls.objects.filter(pk=1).values_list("number", "mark").first()
        return f"{row[0]}-{row[1]}" if row else ""
