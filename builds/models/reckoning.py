"""Reckonings over many tickets, done in slices, and the learned minutes that the owner took."""

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from shop.append_only import AppendOnly


class Reckoning(models.Model):
    """Something worked out over many tickets: what was asked, the tickets that it goes through, what came out.

    A slice is some of these tickets in their order. What each comes to is a row of its own, so that a reckoning goes
    on after a restart, and two who look at it at once do no slice twice.
    """

    class Kind(models.TextChoices):
        LEARNING = "learning", "learning"
        WHAT_IF = "what_if", "what if"

    kind = models.CharField(max_length=10, choices=Kind)
    asked = models.JSONField(default=dict)
    tickets = models.JSONField(default=list)
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True)
    found = models.JSONField(null=True, encoder=DjangoJSONEncoder)

    class Meta:
        indexes = [models.Index(fields=["kind", "-id"], name="reckoning_kind")]

    def __str__(self):
        return f"{self.get_kind_display()} of {self.begun_at:%Y-%m-%d %H:%M}"


class ReckoningSlice(models.Model):
    """What one slice of a reckoning came to."""

    reckoning = models.ForeignKey(Reckoning, models.CASCADE, related_name="slices")
    n = models.PositiveIntegerField()
    found = models.JSONField(encoder=DjangoJSONEncoder)

    class Meta:
        ordering = ["n"]
        constraints = [models.UniqueConstraint(fields=["reckoning", "n"], name="reckoning_slice_once")]

    def __str__(self):
        return f"{self.reckoning}, slice {self.n}"


class LearnedChange(AppendOnly):
    """A learned figure that the owner took, or took back: what it was before and what it is after.

    `code` is the type, the operation or the hull factor; minutes are low, likely and high, other figures one number.
    """

    class Kind(models.TextChoices):
        TYPE = "type", "accessory type"
        OPERATION = "operation", "shop operation"
        FACTOR = "factor", "hull factor"
        CORRELATION = "correlation", "correlation of labour"

    kind = models.CharField(max_length=12, choices=Kind)
    code = models.CharField(max_length=60)
    before = models.JSONField()
    after = models.JSONField()
    tickets = models.PositiveIntegerField()
    credibility = models.FloatField(null=True)
    holds_from = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    takes_back = models.OneToOneField("self", models.PROTECT, null=True, related_name="taken_back_by")

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["kind", "code", "-id"], name="learned_of")]

    def __str__(self):
        return f"{self.get_kind_display()} {self.code}"
