"""What a type draws, stores or converts."""

from django.core.exceptions import ValidationError
from django.db import models

from catalog.models.base import CatalogueRow, between, one_of, same
from catalog.vocabulary import Chemistry, DropClass

VOLTS = between(1, 60, "V")
SYSTEM_VOLTS = one_of(12, 24, 36, 48, unit="V")
AMPERES = between(0, 1000, "A")


class LoadRating(CatalogueRow):
    RELATED = "load"
    SHAPE = same("voltage_v typical_a max_a peak_a standby_a duty drop_class max_fuse_a propulsion")

    accessory_type = models.OneToOneField("AccessoryType", models.CASCADE, related_name="load")
    voltage_v = models.FloatField("voltage, V", validators=VOLTS)
    typical_a = models.FloatField("typical current, A", validators=AMPERES)
    max_a = models.FloatField("greatest steady current, A", validators=AMPERES)
    peak_a = models.FloatField("peak current, A", null=True, blank=True, validators=AMPERES)
    standby_a = models.FloatField("standby current, A", default=0.0, validators=AMPERES)
    duty = models.FloatField("part of a spell that it runs", default=1.0, validators=between(0, 1))
    drop_class = models.CharField("class of voltage drop", max_length=20, choices=DropClass, default=DropClass.GENERAL)
    max_fuse_a = models.FloatField("greatest fuse, A", null=True, blank=True, validators=between(0.1, 1000, "A"))
    propulsion = models.BooleanField("it is a motor", default=False)

    class Meta:
        verbose_name = "load"

    def __str__(self):
        return f"{self.voltage_v:g} V, {self.max_a:g} A"

    def clean(self):
        if None in (self.typical_a, self.max_a):
            return
        if self.typical_a > self.max_a:
            raise ValidationError({"typical_a": "The typical current is not above the greatest current."})
        if self.peak_a is not None and self.peak_a < self.max_a:
            raise ValidationError({"peak_a": "The peak is not below the greatest steady current."})
        if self.propulsion != (self.drop_class == DropClass.PROPULSION):
            raise ValidationError({"drop_class": "A motor, and only a motor, is in the drop class propulsion."})


class BatteryRating(CatalogueRow):
    RELATED = "battery"
    SHAPE = same("voltage_v system_v rated_ah hour_rate chemistry max_continuous_a short_circuit_a")

    accessory_type = models.OneToOneField("AccessoryType", models.CASCADE, related_name="battery")
    voltage_v = models.FloatField("voltage, V", validators=VOLTS)
    system_v = models.FloatField("system voltage, V", validators=SYSTEM_VOLTS)
    rated_ah = models.FloatField("rated capacity, Ah", validators=between(0.1, 2000, "Ah"))
    hour_rate = models.FloatField("rated over, hours", default=20.0, validators=between(1, 100, "h"))
    chemistry = models.CharField(max_length=20, choices=Chemistry)
    max_continuous_a = models.FloatField("greatest steady current, A", validators=between(0.1, 1000, "A"))
    short_circuit_a = models.FloatField(
        "short-circuit current, A", null=True, blank=True, validators=between(1, 100_000, "A")
    )

    class Meta:
        verbose_name = "battery"
        verbose_name_plural = "batteries"

    def __str__(self):
        return f"{self.system_v:g} V, {self.rated_ah:g} Ah, {self.get_chemistry_display()}"


class ConverterRating(CatalogueRow):
    RELATED = "converter"
    SHAPE = same("system_v out_v max_out_a efficiency")

    accessory_type = models.OneToOneField("AccessoryType", models.CASCADE, related_name="converter")
    system_v = models.FloatField("system voltage, V", validators=SYSTEM_VOLTS)
    out_v = models.FloatField("volts out", validators=VOLTS)
    max_out_a = models.FloatField("greatest current out, A", validators=between(0.1, 500, "A"))
    efficiency = models.FloatField(validators=between(0.3, 1))

    class Meta:
        verbose_name = "converter"

    def __str__(self):
        return f"{self.system_v:g} V to {self.out_v:g} V"
