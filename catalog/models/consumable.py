"""Consumables: charged by use, bought in packs."""

from django.db import models

from catalog.fields import UnitPriceField
from catalog.models.base import CODE, CatalogueRow, Supplied, between, same
from catalog.records import price_text
from catalog.vocabulary import ConsumableUnit


class Consumable(Supplied, CatalogueRow):
    SHAPE = {"id": "code"} | same("name unit pack_quantity unit_price unit_cost computed source")
    LEDGER = same("bin supplier part_number stock_minimum")

    code = models.CharField(max_length=60, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=10, choices=ConsumableUnit)
    pack_quantity = models.FloatField("units in a pack", validators=between(0.001, 1_000_000))
    unit_price = UnitPriceField(
        "price per unit",
    )
    unit_cost = UnitPriceField(
        "cost per unit",
    )
    computed = models.BooleanField(
        "quantity computed", default=False, help_text="The estimator works it out; a type lists it only beyond that."
    )
    source = models.TextField("where the figures come from", max_length=2000)

    class Meta:
        ordering = ["pk"]

    @property
    def price_shown(self) -> str:
        return price_text(self.unit_price)

    @property
    def cost_shown(self) -> str:
        return price_text(self.unit_cost)

    def __str__(self):
        return self.name
