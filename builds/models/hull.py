"""Hull records: one customer's boat, begun as a copy of a hull type and corrected by what was measured."""

from django.db import models

from catalog.fields import FoldedField, WordListField
from catalog.vocabulary import Craft, Material, Surface

HULL_FIGURES = (
    "name",
    "craft",
    "material",
    "length_m",
    "beam_m",
    "depth_m",
    "mass_kg",
    "rated_load_kg",
    "rating_includes_hull",
    "waterplane_exponent",
    "section_exponent",
    "cog_x_m",
    "cog_z_m",
    "float_test_draft_mid_m",
    "float_test_load_kg",
    "old",
    "salt_corroded",
    "hull_number",
    "provides",
)
STATION_FIGURES = (
    "key",
    "name",
    "x_m",
    "y_m",
    "z_m",
    "surface",
    "hand_reach",
    "blind",
    "holds_battery",
    "well_half_width_m",
)


class HullRecord(models.Model):
    number = models.CharField(max_length=20, unique=True)
    customer = models.ForeignKey("Customer", models.PROTECT, null=True, blank=True, related_name="hulls")
    hull_type = models.ForeignKey("catalog.HullType", models.PROTECT, related_name="+")
    assumed = models.BooleanField(
        default=False, help_text="The boat is not known yet: the figures are those of a usual one."
    )
    name = models.CharField(max_length=120)
    craft = models.CharField(max_length=20, choices=Craft)
    material = models.CharField(max_length=20, choices=Material)
    length_m = models.FloatField()
    beam_m = models.FloatField()
    depth_m = models.FloatField()
    mass_kg = models.FloatField()
    rated_load_kg = models.FloatField(null=True, blank=True)
    rating_includes_hull = models.BooleanField(default=False)
    waterplane_exponent = models.FloatField()
    section_exponent = models.FloatField()
    cog_x_m = models.FloatField(null=True, blank=True)
    cog_z_m = models.FloatField(null=True, blank=True)
    float_test_draft_mid_m = models.FloatField(null=True, blank=True)
    float_test_load_kg = models.FloatField(null=True, blank=True)
    old = models.BooleanField(default=False)
    salt_corroded = models.BooleanField(default=False)
    hull_number = models.CharField(max_length=40, blank=True)
    provides = WordListField(blank=True)
    note = models.TextField(max_length=2000, blank=True)
    folded = FoldedField(sources=("number", "name", "hull_number"))

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return f"{self.number} {self.name}"


class HullStation(models.Model):
    hull = models.ForeignKey(HullRecord, models.CASCADE, related_name="stations")
    place = models.PositiveSmallIntegerField()
    key = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    x_m = models.FloatField()
    y_m = models.FloatField(default=0.0)
    z_m = models.FloatField()
    surface = models.CharField(max_length=20, choices=Surface)
    hand_reach = models.BooleanField(default=False)
    blind = models.BooleanField(default=False)
    holds_battery = models.BooleanField(default=False)
    well_half_width_m = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["place"]
        constraints = [models.UniqueConstraint(fields=["hull", "key"], name="hull_station_once")]

    def __str__(self):
        return self.name
