"""Invented rows of the catalogue for tests. A factory moves the catalogue's version on, as every real change does."""

import datetime
from decimal import Decimal

import factory

from catalog import models


class CatalogueFactory(factory.django.DjangoModelFactory):
    class Meta:
        abstract = True

    @classmethod
    def _create(cls, model_class, *args, **kwargs):
        row = super()._create(model_class, *args, **kwargs)
        models.CatalogueVersion.move_on()
        return row


class InstallStepFactory(CatalogueFactory):
    class Meta:
        model = models.InstallStep

    accessory_type = factory.SubFactory("tests.catalog.factories.AccessoryTypeFactory", with_step=False)
    phase = "mount"
    share = 1.0
    text = "Fit the invented part."


class OpeningFactory(CatalogueFactory):
    class Meta:
        model = models.Opening

    accessory_type = factory.SubFactory("tests.catalog.factories.AccessoryTypeFactory")
    diameter_mm = 5.2
    fastener = "M5"


class LoadRatingFactory(CatalogueFactory):
    class Meta:
        model = models.LoadRating

    accessory_type = factory.SubFactory("tests.catalog.factories.AccessoryTypeFactory")
    voltage_v = 12.0
    typical_a = 0.5
    max_a = 1.0
    max_fuse_a = 5.0


class BatteryRatingFactory(CatalogueFactory):
    class Meta:
        model = models.BatteryRating

    accessory_type = factory.SubFactory("tests.catalog.factories.AccessoryTypeFactory")
    voltage_v = 12.8
    system_v = 12.0
    rated_ah = 20.0
    chemistry = "lfp"
    max_continuous_a = 20.0


class AccessoryTypeFactory(CatalogueFactory):
    """A type of one step; AccessoryTypeFactory(with_step=False) has none."""

    class Meta:
        model = models.AccessoryType
        skip_postgeneration_save = True

    code = factory.Sequence("invented_part_{}".format)
    name = factory.Sequence("Invented part {}".format)
    category = "hatches_and_deck"
    craft = ["sit_on_top_kayak", "canoe"]
    mass_kg = 0.4
    mass_in_use_kg = 0.4
    mountings = ["through_bolt", "rivet"]
    low_min = 10.0
    likely_min = 20.0
    high_min = 40.0
    price = Decimal("20.00")
    cost = Decimal("11.00")
    source = "invented"

    @factory.post_generation
    def with_step(self, create, extracted, **kwargs):
        if create and extracted is not False:
            InstallStepFactory(accessory_type=self, **kwargs)


class HullTypeFactory(CatalogueFactory):
    class Meta:
        model = models.HullType

    code = factory.Sequence("invented_hull_{}".format)
    name = factory.Sequence("Invented hull {}".format)
    craft = "sit_on_top_kayak"
    material = "polyethylene"
    length_m = 3.7
    beam_m = 0.84
    depth_m = 0.36
    mass_kg = 34.0
    rated_load_kg = 159.0
    waterplane_exponent = 2.6
    section_exponent = 4.0
    source = "invented"


class HullTypeStationFactory(CatalogueFactory):
    class Meta:
        model = models.HullTypeStation

    hull_type = factory.SubFactory(HullTypeFactory)
    key = factory.Sequence("place_{}".format)
    name = factory.Sequence("Place {}".format)
    x_m = 1.9
    z_m = 0.22
    hand_reach = True


class ShopOperationFactory(CatalogueFactory):
    class Meta:
        model = models.ShopOperation

    code = factory.Sequence("op_invented_{}".format)
    name = factory.Sequence("Invented operation {}".format)
    low_min = 5.0
    likely_min = 10.0
    high_min = 15.0
    phase = "check"
    source = "invented"


class ConsumableFactory(CatalogueFactory):
    class Meta:
        model = models.Consumable

    code = factory.Sequence("invented_consumable_{}".format)
    name = factory.Sequence("Invented consumable {}".format)
    unit = "each"
    pack_quantity = 10.0
    unit_price = Decimal("0.40")
    unit_cost = Decimal("0.15")
    source = "invented"


class ShopRatesFactory(CatalogueFactory):
    class Meta:
        model = models.ShopRates

    holds_from = factory.Sequence(lambda n: datetime.date(2025, 1, 1) + datetime.timedelta(days=n))


class RequirementFactory(CatalogueFactory):
    class Meta:
        model = models.Requirement

    accessory_type = factory.SubFactory(AccessoryTypeFactory)
    any_of = ["tag:12v_supply"]
    why = "invented"


class ConflictFactory(CatalogueFactory):
    class Meta:
        model = models.Conflict

    accessory_type = factory.SubFactory(AccessoryTypeFactory)
    other = "invented_other"
    why = "invented"


class BundleLineFactory(CatalogueFactory):
    class Meta:
        model = models.BundleLine

    bundle = factory.SubFactory("tests.catalog.factories.BundleFactory", with_line=False)
    accessory = factory.SubFactory(AccessoryTypeFactory)


class BundleFactory(CatalogueFactory):
    """A bundle of one line; BundleFactory(with_line=False) has none."""

    class Meta:
        model = models.Bundle
        skip_postgeneration_save = True

    code = factory.Sequence("invented_bundle_{}".format)
    name = factory.Sequence("Invented bundle {}".format)
    uses = ["fishing"]

    @factory.post_generation
    def with_line(self, create, extracted, **kwargs):
        if create and extracted is not False:
            BundleLineFactory(bundle=self, **kwargs)
