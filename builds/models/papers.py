"""What was handed over and stays as it was: quotes, acceptances, work orders. Written once."""

import json
import zlib

from django.conf import settings
from django.db import models

from shop.append_only import AppendOnly
from shop.fields import MoneyField


class KeptCatalogue(AppendOnly):
    """The catalogue and the rates that quotes were made with; many quotes share one."""

    sha256 = models.CharField(max_length=64, unique=True)
    packed = models.BinaryField()

    def __str__(self):
        return self.sha256[:12]

    @property
    def records(self) -> dict:
        return json.loads(zlib.decompress(self.packed))


class Quote(AppendOnly):
    """A numbered version: the sheet, the estimate and the PDF as they were when it was handed over."""

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="quotes")
    version = models.PositiveSmallIntegerField()
    number = models.CharField(max_length=30, unique=True)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    valid_until = models.DateField()
    ready_on = models.DateField()
    catalogue = models.ForeignKey(KeptCatalogue, models.PROTECT, related_name="+")
    sheet_json = models.TextField()
    estimate_json = models.TextField()
    ticket_revision = models.PositiveIntegerField()
    paper = models.CharField(max_length=6)
    pdf = models.BinaryField()
    pdf_sha256 = models.CharField(max_length=64)
    total = MoneyField()
    deposit = MoneyField()
    override_reason = models.TextField(blank=True)
    disclaimer_version = models.CharField(max_length=20)

    class Meta:
        ordering = ["ticket", "version"]
        constraints = [models.UniqueConstraint(fields=["ticket", "version"], name="quote_version_once")]

    def __str__(self):
        return self.number

    @property
    def sheet(self) -> dict:
        """The whole document, its catalogue put back."""
        return json.loads(self.sheet_json) | self.catalogue.records

    @property
    def estimate(self) -> dict:
        return json.loads(self.estimate_json)


class Acceptance(AppendOnly):
    """The customer's yes to one quote: who, when, in which way, and to which bytes."""

    class Way(models.TextChoices):
        COUNTER = "counter", "on the counter's screen"
        PAPER = "paper", "on paper"

    quote = models.OneToOneField(Quote, models.PROTECT, related_name="acceptance")
    way = models.CharField(max_length=10, choices=Way)
    name = models.CharField(max_length=120)
    at = models.DateTimeField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    initialled = models.JSONField(default=list)
    pdf_sha256 = models.CharField(max_length=64)
    note = models.TextField(blank=True)

    def __str__(self):
        return f"{self.quote.number} accepted by {self.name}"


class WorkOrder(AppendOnly):
    """A printed work order; a later version replaces it and says so."""

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="work_orders")
    quote = models.ForeignKey(Quote, models.PROTECT, related_name="work_orders")
    version = models.PositiveSmallIntegerField()
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    paper = models.CharField(max_length=6)
    pdf = models.BinaryField()
    pdf_sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["ticket", "version"]
        constraints = [models.UniqueConstraint(fields=["ticket", "version"], name="work_order_version_once")]

    def __str__(self):
        return f"{self.ticket.number} work order {self.version}"
