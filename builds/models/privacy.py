"""Personal texts that the journal only refers to, and how long the owner keeps what."""

from django.conf import settings
from django.db import models


class PersonalText(models.Model):
    """What a journal entry says of a person, kept beside the journal so that it can be erased; the salt goes with it.

    The entry holds the key and the hash of salt and text: with the row it proves the text, without it tells nothing.
    """

    key = models.CharField(max_length=32, unique=True)
    salt = models.CharField(max_length=32)
    text_json = models.TextField()
    ticket = models.ForeignKey("Ticket", models.CASCADE, related_name="+")
    customer = models.ForeignKey("Customer", models.CASCADE, null=True, related_name="+")

    def __str__(self):
        return self.key


class RetentionRules(models.Model):
    """How many years the owner keeps what; one row. The figures to begin with are common practice, no source."""

    accounts_years = models.PositiveSmallIntegerField(
        "invoices, credit notes and receipts, years", default=10, help_text="As the tax law where the shop is asks."
    )
    claims_years = models.PositiveSmallIntegerField(
        "what was signed and what was done, years", default=6, help_text="As long as a claim can be made."
    )
    offers_years = models.PositiveSmallIntegerField("quotes that nobody accepted, years", default=1)
    customers_years = models.PositiveSmallIntegerField(
        "customers without a ticket since, years", default=6, help_text="Their name, phone and email."
    )
    changed_at = models.DateTimeField(null=True, editable=False)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )

    def __str__(self):
        return "retention rules"
