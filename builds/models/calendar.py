"""The bench's calendar: hours and days off, places held by hand, the time of come-backs, secret links to the feed."""

from django.conf import settings
from django.db import models

PERSON = settings.AUTH_USER_MODEL


class BenchHours(models.Model):
    """The hours of one tech by day of the week, Monday first [min]; who has no row works the shop's hours."""

    person = models.OneToOneField(PERSON, models.CASCADE, related_name="bench_hours")
    week_min = models.JSONField()
    opens_min = models.PositiveSmallIntegerField(default=9 * 60)

    def __str__(self):
        return f"hours of {self.person}"


class DayOff(models.Model):
    """A day on which a tech is not here."""

    person = models.ForeignKey(PERSON, models.CASCADE, related_name="days_off")
    day = models.DateField()

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["person", "day"], name="day_off_once")]

    def __str__(self):
        return f"{self.person} off on {self.day}"


class HeldPlace(models.Model):
    """Where a person put a ticket in the calendar: with a tech, from a day on, ahead of or behind another ticket."""

    ticket = models.OneToOneField("Ticket", models.CASCADE, related_name="held_place")
    tech = models.ForeignKey(PERSON, models.CASCADE, null=True, related_name="+")
    day = models.DateField(null=True)
    before = models.ForeignKey("Ticket", models.SET_NULL, null=True, related_name="+")
    after = models.ForeignKey("Ticket", models.SET_NULL, null=True, related_name="+")

    def __str__(self):
        return f"place of {self.ticket}"


class ComeBackTime(models.Model):
    """How long a boat that came back may take at the bench [min], as the counter or the bench thinks now."""

    come_back = models.OneToOneField("ComeBack", models.CASCADE, related_name="time")
    minutes = models.PositiveSmallIntegerField()

    def __str__(self):
        return f"{self.minutes} min for {self.come_back}"


class FeedLink(models.Model):
    """A person's secret address of the calendar feed; only the hash of the secret is kept."""

    person = models.OneToOneField(PERSON, models.CASCADE, related_name="feed_link")
    secret_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self):
        return f"calendar feed of {self.person}"
