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

    def kept(self):
        yield "catalogue", zlib.decompress(self.packed), self.sha256

    @property
    def records(self) -> dict:
        return json.loads(zlib.decompress(self.packed))


class KeptEstimate(AppendOnly):
    """A build sheet and its estimate as they were, for what is agreed on and never computed anew."""

    catalogue = models.ForeignKey(KeptCatalogue, models.PROTECT, related_name="+")
    sheet_json = models.TextField()
    estimate_json = models.TextField()

    class Meta:
        abstract = True

    @property
    def sheet(self) -> dict:
        """The whole document, its catalogue put back."""
        return json.loads(self.sheet_json) | self.catalogue.records

    @property
    def estimate(self) -> dict:
        return json.loads(self.estimate_json)


class KeptPaper(AppendOnly):
    """A printed paper: its bytes as they were handed over, and their hash."""

    paper = models.CharField(max_length=6)
    pdf = models.BinaryField()
    pdf_sha256 = models.CharField(max_length=64)

    class Meta:
        abstract = True

    def kept(self):
        if self.pdf:  # none once its time has ended
            yield "paper", bytes(self.pdf), self.pdf_sha256


class Quote(KeptEstimate, KeptPaper):
    """A numbered version: the sheet, the estimate and the PDF as they were when it was handed over."""

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="quotes")
    version = models.PositiveSmallIntegerField()
    number = models.CharField(max_length=30, unique=True)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    valid_until = models.DateField()
    ready_on = models.DateField()
    ticket_revision = models.PositiveIntegerField()
    alternative = models.CharField(max_length=40, blank=True)
    total = MoneyField()
    deposit = MoneyField()
    most = MoneyField(null=True)
    override_reason = models.TextField(blank=True)
    disclaimer_version = models.CharField(max_length=20)

    class Meta:
        ordering = ["ticket", "version"]
        constraints = [models.UniqueConstraint(fields=["ticket", "version"], name="quote_version_once")]

    def __str__(self):
        return self.number


class SignatureLink(AppendOnly):
    """A secret way to one quote for the customer's phone; only the hash of the secret is kept."""

    quote = models.ForeignKey(Quote, models.PROTECT, related_name="links")
    secret_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    sent_to = models.EmailField(blank=True)

    def __str__(self):
        return f"link to {self.quote.number}"


class Acceptance(AppendOnly):
    """The customer's yes to one quote: who, when, in which way, and to which bytes."""

    class Way(models.TextChoices):
        COUNTER = "counter", "on the counter's screen"
        PAPER = "paper", "on paper"
        LINK = "link", "by a link"

    quote = models.OneToOneField(Quote, models.PROTECT, related_name="acceptance")
    way = models.CharField(max_length=10, choices=Way)
    name = models.CharField(max_length=120)
    at = models.DateTimeField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    link = models.OneToOneField(SignatureLink, models.PROTECT, null=True, related_name="acceptance")
    initials = models.CharField(max_length=10, blank=True)
    initialled = models.JSONField(default=list)
    drawing = models.JSONField(default=list)
    agreed_electronically = models.BooleanField(default=False)
    pdf_sha256 = models.CharField(max_length=64)
    note = models.TextField(blank=True)
    scan = models.BinaryField(null=True)
    scan_name = models.CharField(max_length=120, blank=True)
    signed_pdf = models.BinaryField(null=True)
    signed_sha256 = models.CharField(max_length=64, blank=True)

    def __str__(self):
        return f"{self.quote.number} accepted by {self.name}"

    def kept(self):
        if self.signed_pdf:
            yield "signed file", bytes(self.signed_pdf), self.signed_sha256


class ChangeOrder(KeptEstimate, KeptPaper):
    """What changed after acceptance, and the customer's consent: who, when, called on which number, by whom.

    `initialled` are the places, by their letters in this change's schedule, that the customer initialled on the quote
    or agreed to one by one since.
    """

    class Way(models.TextChoices):
        TELEPHONE = "telephone", "by telephone"
        COUNTER = "counter", "at the counter"
        MESSAGE = "message", "by message"

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="change_orders")
    quote = models.ForeignKey(Quote, models.PROTECT, related_name="change_orders")
    n = models.PositiveSmallIntegerField()
    number = models.CharField(max_length=30, unique=True)
    replaces = models.CharField(max_length=30)
    what = models.JSONField()
    why = models.TextField()
    added_parts = MoneyField()
    added_labour = MoneyField()
    added_minutes = models.FloatField()
    added_total = MoneyField()
    total = MoneyField()
    ready_on = models.DateField()
    consent_way = models.CharField(max_length=10, choices=Way)
    consent_name = models.CharField(max_length=120)
    number_called = models.CharField(max_length=40, blank=True)
    consent_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    override_reason = models.TextField(blank=True)
    initialled = models.JSONField(default=list)

    class Meta:
        ordering = ["ticket", "n"]
        constraints = [models.UniqueConstraint(fields=["ticket", "n"], name="change_order_once")]

    def __str__(self):
        return self.number

    @property
    def sentences(self) -> list[str]:
        """What changed, each with its price and minutes."""
        return [one["sentence"] for one in self.what]

    @property
    def deeds(self) -> list[str]:
        """What changed, for who works: no price."""
        return [one["words"] for one in self.what if one["kind"] not in ("shared", "rest")]

    @property
    def consent(self) -> str:
        """Who agreed, in which way and when, as one sentence of a paper."""
        called = f" on {self.number_called}" if self.number_called else ""
        return f"{self.consent_name} agreed {self.get_consent_way_display()}{called}"


class WorkOrder(KeptPaper):
    """A printed work order; a later version replaces it and says so."""

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="work_orders")
    quote = models.ForeignKey(Quote, models.PROTECT, related_name="work_orders")
    change_order = models.ForeignKey(ChangeOrder, models.PROTECT, null=True, related_name="work_orders")
    version = models.PositiveSmallIntegerField()
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["ticket", "version"]
        constraints = [models.UniqueConstraint(fields=["ticket", "version"], name="work_order_version_once")]

    def __str__(self):
        return f"{self.ticket.number} work order {self.version}"

    @property
    def agreed(self) -> KeptEstimate:
        """What the order was printed from: the latest change order, or the quote where nothing changed."""
        return self.change_order or self.quote


class HandOverSheet(KeptPaper):
    """What the boat left with; the owner's reason where a test was open, the counter's where it was not paid."""

    ticket = models.OneToOneField("Ticket", models.PROTECT, related_name="hand_over_sheet")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    why = models.TextField(blank=True)
    unpaid = models.TextField(blank=True)

    def __str__(self):
        return f"{self.ticket.number} handed over"
