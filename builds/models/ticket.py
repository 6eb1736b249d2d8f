"""Tickets: the shop's jobs, with their lines, operations and what is aboard."""

from django.conf import settings
from django.db import models
from django.urls import reverse

from builds.states import STATES
from catalog.fields import FoldedField
from catalog.vocabulary import Mounting
from shop.fields import MoneyField


class Ticket(models.Model):
    number = models.CharField(max_length=20, unique=True)
    title = models.CharField(max_length=120, blank=True)
    asked = models.CharField("what was asked for", max_length=500, blank=True)
    state = models.CharField(max_length=12, choices=STATES, default="draft")
    customer = models.ForeignKey("Customer", models.PROTECT, null=True, blank=True, related_name="tickets")
    hull = models.ForeignKey("HullRecord", models.PROTECT, related_name="tickets")
    water = models.CharField(max_length=5, choices=[("fresh", "Fresh"), ("sea", "Sea")], default="fresh")
    air_temp_c = models.FloatField(default=20.0)
    # Hundredths of a percent, whole: a decimal column on SQLite is a float.
    discount_basis_points = models.PositiveSmallIntegerField(default=0)
    counter = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    tech = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    opened_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    state_at = models.DateTimeField()
    revision = models.PositiveIntegerField(default=1)
    last_line_key = models.PositiveIntegerField(default=0)
    quoted_total = MoneyField(null=True, blank=True)
    changing = models.BooleanField(default=False, help_text="A change order is being written; the bench waits for it.")
    agreed_quote = models.ForeignKey("Quote", models.PROTECT, null=True, blank=True, related_name="+")
    agreed_change = models.ForeignKey("ChangeOrder", models.PROTECT, null=True, blank=True, related_name="+")
    agreed_bench_min = models.FloatField(null=True, blank=True)
    folded = FoldedField(sources=("number", "title", "asked"))

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["state", "-state_at"], name="ticket_state_at")]

    def __str__(self):
        return f"{self.number} {self.title}".strip()

    @property
    def journal_name(self):
        """The number alone: a title may name a person, and what stands in the journal stays."""
        return self.number

    def get_absolute_url(self):
        return reverse("builds:ticket", args=[self.number])


class TicketPart(models.Model):
    """What belongs to one ticket and has a place in its list."""

    place = models.PositiveSmallIntegerField(default=0)

    class Meta:
        abstract = True
        ordering = ["place", "id"]


class Aboard(TicketPart):
    """A person or a piece of gear aboard, for weight and trim."""

    ticket = models.ForeignKey(Ticket, models.CASCADE, related_name="aboard")
    is_person = models.BooleanField(default=False)
    name = models.CharField(max_length=60)
    mass_kg = models.FloatField()
    station = models.CharField(max_length=60, blank=True)

    def __str__(self):
        return self.name


class Line(TicketPart):
    """One accessory type, how many, where. Other lines are named by their key, which is never given twice."""

    class SuppliedBy(models.TextChoices):
        SHOP = "shop", "shop"
        CUSTOMER = "customer", "customer"
        ALREADY_FITTED = "already_fitted", "already fitted"

    class Role(models.TextChoices):
        HOUSE = "house", "house battery"
        DRIVE = "drive", "drive battery"

    ticket = models.ForeignKey(Ticket, models.CASCADE, related_name="lines")
    key = models.CharField(max_length=20)
    accessory = models.ForeignKey("catalog.AccessoryType", models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField(default=1)
    station = models.CharField(max_length=60, blank=True)
    offset_x_m = models.FloatField(default=0.0)
    offset_y_m = models.FloatField(default=0.0)
    offset_z_m = models.FloatField(default=0.0)
    mounting = models.CharField(max_length=30, blank=True, choices=Mounting)
    supplied_by = models.CharField(max_length=20, choices=SuppliedBy, default=SuppliedBy.SHOP)
    unit_price = MoneyField(null=True, blank=True)
    unit_cost = MoneyField(null=True, blank=True)
    battery_key = models.CharField(max_length=20, blank=True)
    circuit = models.CharField(max_length=40, blank=True)
    switch_key = models.CharField(max_length=20, blank=True)
    direct = models.BooleanField(default=False)
    measured_run_m = models.FloatField(null=True, blank=True)
    role = models.CharField(max_length=10, choices=Role, default=Role.HOUSE)
    health = models.FloatField(default=1.0)
    note = models.CharField(max_length=300, blank=True)
    bundle = models.CharField(max_length=60, blank=True)

    class Meta(TicketPart.Meta):
        constraints = [models.UniqueConstraint(fields=["ticket", "key"], name="line_key_once")]

    def __str__(self):
        return f"{self.key} {self.accessory}"


class TicketOperation(TicketPart):
    """A shop operation on a ticket, and how often."""

    ticket = models.ForeignKey(Ticket, models.CASCADE, related_name="operations")
    operation = models.ForeignKey("catalog.ShopOperation", models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField(default=1)

    def __str__(self):
        return str(self.operation)


class Spell(TicketPart):
    """A part of the customer's day: hours, and by line key the fraction that each load runs."""

    ticket = models.ForeignKey(Ticket, models.CASCADE, related_name="spells")
    name = models.CharField(max_length=60)
    hours = models.FloatField()
    on = models.JSONField(default=dict, blank=True)

    def __str__(self):
        return self.name


class Fee(TicketPart):
    """A charge of its own, such as expedite or storage."""

    ticket = models.ForeignKey(Ticket, models.CASCADE, related_name="fees")
    name = models.CharField(max_length=60)
    amount = MoneyField()

    def __str__(self):
        return self.name


class Alternative(TicketPart):
    """One of up to three ways to do the ticket; the current one's lines are the ticket's, the others' are kept here."""

    ticket = models.ForeignKey(Ticket, models.CASCADE, related_name="alternatives")
    name = models.CharField(max_length=40)
    is_current = models.BooleanField(default=False)
    said = models.JSONField(default=dict, blank=True)

    def __str__(self):
        return self.name
