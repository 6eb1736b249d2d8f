"""Totals that are kept of tickets, so that the office adds up rows instead of reading estimates.

They follow from quotes, change orders, work entries, entries of the shelf and come-backs alone;
`builds.office.keeping` writes them and can write all of them anew.
"""

from django.conf import settings
from django.db import models

from shop.fields import MinutesField, MoneyField


class Summed(models.Model):
    """The figures that add up; what each is stands in `builds.earnings.figures`."""

    parts = MoneyField(default=0)
    labour = MoneyField(default=0)
    operations = MoneyField(default=0)
    consumables = MoneyField(default=0)
    fees = MoneyField(default=0)
    discount = MoneyField(default=0)
    labour_discount = MoneyField(default=0)
    parts_cost = MoneyField(default=0)
    consumables_cost = MoneyField(default=0)
    labour_cost = MoneyField(default=0)
    come_back_labour_cost = MoneyField(default=0)
    come_back_parts_cost = MoneyField(default=0)
    agreed_cost = MoneyField(default=0)
    planned = MoneyField(default=0)
    why_price = MoneyField(default=0)
    why_discount = MoneyField(default=0)
    why_change = MoneyField(default=0)
    why_parts_cost = MoneyField(default=0)
    why_quantity = MoneyField(default=0)
    why_minutes = MoneyField(default=0)
    why_rate = MoneyField(default=0)
    why_come_back = MoneyField(default=0)
    estimated_min = MinutesField(default=0)
    quoted_min = MinutesField(default=0)
    worked_min = MinutesField(default=0)
    come_back_min = MinutesField(default=0)
    came_back = models.IntegerField(default=0)

    class Meta:
        abstract = True


class TicketTotals(Summed):
    """One ticket: what was agreed and, once it is handed over, what it earned, in the month of the hand-over."""

    class Outcome(models.TextChoices):
        WON = "won", "won"
        LOST = "lost", "lost"
        LAPSED = "lapsed", "lapsed"
        CANCELLED = "cancelled", "cancelled before the yes"

    ticket = models.OneToOneField("Ticket", models.CASCADE, primary_key=True, related_name="totals")
    month = models.DateField(null=True)
    rank = models.FloatField(default=0, help_text="The margin; what lists are sorted by.")
    counter = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    hull_type = models.CharField(max_length=60)
    outcome = models.CharField(max_length=10, choices=Outcome, blank=True)
    outcome_month = models.DateField(null=True)
    days_to_yes = models.PositiveIntegerField(null=True)

    class Meta:
        indexes = [
            models.Index(fields=["rank", "ticket", "month"], name="totals_in_order"),
            models.Index(fields=["hull_type", "rank", "ticket", "month"], name="totals_of_hull"),
            models.Index(fields=["counter", "rank", "ticket", "month"], name="totals_of_counter"),
            models.Index(fields=["outcome", "-outcome_month", "-ticket"], name="totals_by_outcome"),
            models.Index(fields=["days_to_yes", "-outcome_month", "-ticket"], name="totals_by_days"),
        ]

    def __str__(self):
        return f"totals of {self.ticket_id}"


class TicketShare(Summed):
    """What one accessory type, category, bundle, tech or phase has of a ticket; an empty key is the rest of it."""

    ticket = models.ForeignKey("Ticket", models.CASCADE, related_name="shares")
    by = models.CharField(max_length=10)
    key = models.CharField(max_length=60, blank=True)
    month = models.DateField(null=True)
    rank = models.FloatField(default=0, help_text="The margin; of a phase, what its minutes gained or lost.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["ticket", "by", "key"], name="ticket_share_once")]
        # In the order of a list, with the month it is filtered by: a page reads no row that it does not show.
        indexes = [models.Index(fields=["by", "key", "rank", "ticket", "month"], name="share_in_order")]

    def __str__(self):
        return f"{self.by} {self.key} of {self.ticket_id}"


class MonthTotals(Summed):
    """The sums of a month by one of the office's views: over all tickets, one hull type, one accessory type."""

    by = models.CharField(max_length=10)
    key = models.CharField(max_length=60, blank=True)
    month = models.DateField()
    tickets = models.IntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["by", "month", "key"], name="month_totals_once")]

    def __str__(self):
        return f"{self.by} {self.key} {self.month:%Y-%m}"
