"""Actuals: the minutes that were worked."""

from django.conf import settings
from django.db import models

from shop.append_only import AppendOnly


class WorkEntry(AppendOnly):
    """Minutes that one tech worked in one phase, for a line (by its key) or, without a line, for an operation.

    Minutes of a boat that came back name the come-back instead.
    """

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="work")
    line_key = models.CharField(max_length=20, blank=True)
    accessory_code = models.CharField(max_length=60, blank=True)
    operation_code = models.CharField(max_length=60, blank=True)
    phase = models.CharField(max_length=12)
    minutes = models.FloatField()
    tech = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    come_back = models.ForeignKey("ComeBack", models.PROTECT, null=True, blank=True, related_name="work")

    class Meta:
        ordering = ["at", "id"]
        indexes = [models.Index(fields=["accessory_code", "at"], name="work_accessory_at")]

    def __str__(self):
        return f"{self.ticket} {self.phase} {self.minutes:g} min"
