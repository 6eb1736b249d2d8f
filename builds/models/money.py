"""Money taken and paid back, and invoices. Written once, numbered without gaps."""

from django.conf import settings
from django.db import models

from builds.models.papers import KeptPaper
from shop.fields import MoneyField


class MoneyEntry(KeptPaper):
    """A deposit, a payment or a refund, with its receipt; the amount is always above nought."""

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", "deposit"
        PAYMENT = "payment", "payment"
        REFUND = "refund", "refund"

    class Way(models.TextChoices):
        CASH = "cash", "cash"
        CARD = "card", "card"
        TRANSFER = "transfer", "bank transfer"
        CHEQUE = "cheque", "cheque"

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="money")
    number = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    way = models.CharField(max_length=10, choices=Way)
    amount = MoneyField()
    at = models.DateTimeField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self):
        return f"{self.number} {self.get_kind_display()}"

    @property
    def signed(self):
        """The amount as it counts towards what the shop has received."""
        return -self.amount if self.kind == self.Kind.REFUND else self.amount


class Invoice(KeptPaper):
    """What was agreed, as a demand for money; a credit note takes one back, whole."""

    class Kind(models.TextChoices):
        INVOICE = "invoice", "invoice"
        CREDIT = "credit", "credit note"

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="invoices")
    number = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.INVOICE)
    cancels = models.OneToOneField("self", models.PROTECT, null=True, related_name="cancelled_by")
    agreed = models.CharField(max_length=30)
    at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    why = models.CharField(max_length=300, blank=True)
    parts = MoneyField()
    labour = MoneyField()
    consumables = MoneyField()
    fees = MoneyField()
    discount = MoneyField()
    tax = MoneyField()
    total = MoneyField()
    balance = MoneyField()

    class Meta:
        ordering = ["at", "id"]

    def __str__(self):
        return self.number
