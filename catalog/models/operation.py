"""Shop operations: work that is no accessory, such as check-in, leak test and hand-over."""

from django.core.exceptions import ValidationError
from django.db import models

from catalog import rules
from catalog.models.base import CODE, CatalogueRow, between, same
from catalog.records import Group
from catalog.vocabulary import Phase

MINUTES = between(0, 10_000, "min")


class ShopOperation(CatalogueRow):
    SHAPE = {
        "id": "code",
        "name": "name",
        "labour": Group(same("low_min likely_min high_min")),
        "phase": "phase",
        "billable": "billable",
        "note": "note",
        "source": "source",
    }
    LEDGER = {"withdrawn": "withdrawn"}

    code = models.CharField(max_length=60, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    low_min = models.FloatField("low, min", validators=MINUTES)
    likely_min = models.FloatField("likely, min", validators=MINUTES)
    high_min = models.FloatField("high, min", validators=MINUTES)
    phase = models.CharField(max_length=20, choices=Phase)
    billable = models.BooleanField(default=True)
    note = models.CharField(max_length=300, blank=True)
    source = models.TextField("where the figures come from", max_length=2000)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["pk"]

    def __str__(self):
        return self.name

    def clean(self):
        minutes = (self.low_min, self.likely_min, self.high_min)
        if None not in minutes and (problem := rules.minutes_problem(*minutes)):
            raise ValidationError({"likely_min": problem})
