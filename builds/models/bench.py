"""The bench: steps ticked and taken back, clocks, readings, what was found, photos. Written once."""

from django.conf import settings
from django.db import models

from shop.append_only import AppendOnly
from shop.fields import ThousandthsField


class BenchEvent(AppendOnly):
    """One thing that a tech did on a phone. `key` is the phone's own, so that one that is sent again counts once."""

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    key = models.CharField(max_length=64, unique=True)

    class Meta:
        abstract = True
        ordering = ["at", "id"]


class StepMark(BenchEvent):
    """A step ticked, or a tick taken back; the latest mark of a step holds. `step` stays the same in later orders."""

    step = models.CharField(max_length=120)
    n = models.PositiveSmallIntegerField()
    done = models.BooleanField()
    reading = models.CharField(max_length=60, blank=True)

    class Meta(BenchEvent.Meta):
        indexes = [models.Index(fields=["ticket", "at"], name="step_mark_at")]

    def __str__(self):
        return f"{self.ticket} step {self.n} {'done' if self.done else 'taken back'}"


class ClockMark(BenchEvent):
    """A person begins or ends to work on a ticket."""

    running = models.BooleanField()

    class Meta(BenchEvent.Meta):
        indexes = [models.Index(fields=["ticket", "at"], name="clock_mark_at")]

    def __str__(self):
        return f"{self.ticket} {self.by} {'begins' if self.running else 'ends'}"


class BenchReading(BenchEvent):
    """What one test of one part came to; the latest reading of a test holds. `line` is empty for the whole boat."""

    class Verdict(models.TextChoices):
        PASSED = "passed", "passed"
        FAILED = "failed", "failed"
        SKIPPED = "skipped", "left out"

    test = models.CharField(max_length=40)
    line = models.CharField(max_length=20, blank=True)
    figure = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    verdict = models.CharField(max_length=10, choices=Verdict)

    class Meta(BenchEvent.Meta):
        indexes = [models.Index(fields=["ticket", "at"], name="bench_reading_at")]

    def __str__(self):
        return f"{self.ticket} {self.test} {self.verdict}"


class UsedConsumable(AppendOnly):
    """How much of a consumable a ticket used, and how much was estimated then; the latest row of an item holds."""

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="+")
    item = models.ForeignKey("catalog.Consumable", models.PROTECT, related_name="+")
    quantity = ThousandthsField()
    estimated = ThousandthsField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]

    def __str__(self):
        return f"{self.ticket} used {self.quantity} of {self.item}"


class Found(BenchEvent):
    """Something that the estimate did not know, found at a step (0: at none): a question to the counter."""

    step = models.CharField(max_length=120, blank=True)
    n = models.PositiveSmallIntegerField(default=0)
    words = models.CharField(max_length=500)

    class Meta(BenchEvent.Meta):
        indexes = [models.Index(fields=["ticket", "at"], name="found_at")]

    def __str__(self):
        return f"{self.ticket} found: {self.words}"

    @property
    def open(self) -> bool:
        """Whether the counter has not answered yet."""
        return not hasattr(self, "answer")


class FoundAnswer(AppendOnly):
    """What the counter said to it; `changes` says that a change order was begun for it."""

    found = models.OneToOneField(Found, models.PROTECT, related_name="answer")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    words = models.CharField(max_length=500)
    changes = models.BooleanField(default=False)

    def __str__(self):
        return f"answer to {self.found}"


class BenchPhoto(BenchEvent):
    """A photo from the bench, of a step (0: of the boat) or with what was found; small, without place or camera."""

    found = models.ForeignKey(Found, models.PROTECT, null=True, related_name="photos")
    n = models.PositiveSmallIntegerField(default=0)
    note = models.CharField(max_length=120, blank=True)
    jpeg = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    width_px = models.PositiveSmallIntegerField()
    height_px = models.PositiveSmallIntegerField()

    class Meta(BenchEvent.Meta):
        indexes = [models.Index(fields=["ticket", "at"], name="bench_photo_at")]

    def kept(self):
        if self.jpeg:  # none once its time has ended
            yield "photo", bytes(self.jpeg), self.sha256

    def __str__(self):
        return f"{self.ticket} photo {self.pk}"
