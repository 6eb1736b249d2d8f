"""After the check: the customer told that the boat is ready, and boats that come back. Written once."""

from django.conf import settings
from django.db import models

from shop.append_only import AppendOnly
from shop.fields import MoneyField


class ReadyTold(AppendOnly):
    """The customer was told that the boat is ready; from the first time on the days of storage count."""

    class Way(models.TextChoices):
        TELEPHONE = "telephone", "by telephone"
        MESSAGE = "message", "by message"
        COUNTER = "counter", "at the counter"

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="ready_told")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    way = models.CharField(max_length=10, choices=Way)
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self):
        return f"{self.ticket.number} ready and told"


class ComeBack(AppendOnly):
    """A boat that came back, on its original ticket, with the cause as it was found out."""

    class Cause(models.TextChoices):
        LEAK = "leak", "leak"
        ELECTRICAL = "electrical", "electrical"
        NOISE = "noise", "noise"
        FIT = "fit", "fit or place"
        PART = "part", "part failed"
        OWNER = "owner", "owner damage"
        NEVER_AGREED = "never_agreed", "never agreed"
        BEFORE_CURE = "before_cure", "used before cure"

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="come_backs")
    n = models.PositiveSmallIntegerField()
    cause = models.CharField(max_length=20, choices=Cause)
    words = models.CharField(max_length=500)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["ticket", "n"]
        constraints = [models.UniqueConstraint(fields=["ticket", "n"], name="come_back_once")]

    def __str__(self):
        return f"{self.ticket.number} came back {self.n}: {self.get_cause_display()}"

    @property
    def open(self) -> bool:
        return not hasattr(self, "end")


class ComeBackEnd(AppendOnly):
    """What was done about it, and what its parts cost the shop."""

    come_back = models.OneToOneField(ComeBack, models.PROTECT, related_name="end")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    words = models.CharField(max_length=500)
    parts_cost = MoneyField(default=0)

    def __str__(self):
        return f"end of {self.come_back}"
