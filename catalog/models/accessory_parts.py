"""What belongs to an accessory type: its openings, steps, consumables, needs and conflicts."""

from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models

from catalog import rules
from catalog.fields import WordListField
from catalog.models.base import CODE, PlacedRow, between, same
from catalog.vocabulary import Mounting, OpeningShape, Phase, Strength, Surface

MILLIMETRES = between(0.1, 3000, "mm")
FASTENER = RegexValidator(
    r"^(M\d{1,2}|rivet \d(\.\d)?|ST\d(\.\d)?)\Z", "A fastener is written as M5, rivet 4.8, ST4.2 and the like."
)


class Opening(PlacedRow):
    """A hole or cut-out of the type's pattern, from the place of the line: aft, and to starboard or up."""

    RELATED = "openings"
    SHAPE = same("shape diameter_mm width_mm height_mm corner_mm dx_mm dy_mm purpose fastener cable mountings surface")
    LEFT_OUT = frozenset(("diameter_mm", "width_mm", "height_mm", "corner_mm", "mountings", "surface"))
    EMPTY_IS_NULL = frozenset(("fastener", "surface"))

    accessory_type = models.ForeignKey("AccessoryType", models.CASCADE, related_name="openings")
    shape = models.CharField(max_length=20, choices=OpeningShape, default=OpeningShape.ROUND)
    diameter_mm = models.FloatField("diameter, mm", null=True, blank=True, validators=MILLIMETRES)
    width_mm = models.FloatField("width along the hull, mm", null=True, blank=True, validators=MILLIMETRES)
    height_mm = models.FloatField("height across, mm", null=True, blank=True, validators=MILLIMETRES)
    corner_mm = models.FloatField("corner radius, mm", null=True, blank=True, validators=between(0, 1000, "mm"))
    dx_mm = models.FloatField("aft, mm", default=0.0, validators=between(-6000, 6000, "mm"))
    dy_mm = models.FloatField("to starboard or up, mm", default=0.0, validators=between(-3000, 3000, "mm"))
    purpose = models.CharField(max_length=120, default="fastener")
    fastener = models.CharField(
        max_length=20, blank=True, validators=[FASTENER], help_text="Such as M5, rivet 4.8 or ST4.2."
    )
    cable = models.BooleanField("a cable passes", default=False)
    mountings = WordListField(
        null=True,
        blank=True,
        choices_from=Mounting,
        help_text="Made only for these mountings. Empty: always. “never”: with none of them.",
    )
    surface = models.CharField(
        max_length=20, choices=Surface, blank=True, help_text="Only where it differs from the station's."
    )

    def __str__(self):
        return f"{self.purpose}, {self.size()}"

    def size(self) -> str:
        """Return the size as a reader says it: `5.2 mm`, `95 × 60 mm, corners 6`."""
        if self.shape == OpeningShape.ROUND:
            return f"{self.diameter_mm or 0:g} mm"
        corners = f", corners {self.corner_mm:g}" if self.corner_mm and self.shape == OpeningShape.RECTANGLE else ""
        return f"{self.width_mm or 0:g} × {self.height_mm or 0:g} mm{corners}"

    def clean(self):
        sizes = {name: getattr(self, name) for name in ("diameter_mm", "width_mm", "height_mm", "corner_mm")}
        problem = rules.opening_problem(self.shape, sizes)
        if problem:
            raise ValidationError({problem[0]: problem[1]})


class InstallStep(PlacedRow):
    RELATED = "steps"
    SHAPE = same("phase share text bit caution check") | {"check": "second_tick"}
    EMPTY_IS_NULL = frozenset(("bit", "caution"))

    accessory_type = models.ForeignKey("AccessoryType", models.CASCADE, related_name="steps")
    phase = models.CharField(max_length=20, choices=Phase)
    share = models.FloatField(
        "share", validators=between(0, 1), help_text="Of the likely minutes; the shares of all steps add to 1."
    )
    text = models.CharField(max_length=300)
    bit = models.CharField("bit or saw", max_length=80, blank=True)
    caution = models.CharField(max_length=200, blank=True)
    second_tick = models.BooleanField(
        "second tick", default=False, help_text="A reading, a safety check, or a second pair of eyes."
    )

    class Meta(PlacedRow.Meta):
        verbose_name = "step"

    def __str__(self):
        return f"{self.phase}: {self.text}"


class ConsumableUse(PlacedRow):
    RELATED = "consumables"
    SHAPE = {"item": "item", "quantity": "quantity"}

    accessory_type = models.ForeignKey("AccessoryType", models.CASCADE, related_name="consumables")
    item = models.CharField("consumable", max_length=60, validators=[CODE])
    quantity = models.FloatField(validators=between(0.001, 10_000))

    class Meta(PlacedRow.Meta):
        verbose_name = "consumable"

    def __str__(self):
        return f"{self.quantity:g} {self.item}"


class Requirement(PlacedRow):
    """A need: one of these types on the ticket, or a tag that the hull or a type provides."""

    RELATED = "requires"
    SHAPE = {"any_of": "any_of", "strength": "strength", "why": "why"}

    accessory_type = models.ForeignKey("AccessoryType", models.CASCADE, related_name="requires")
    any_of = WordListField(help_text="Codes of types, or tags such as tag:12v_supply; any one of them will do.")
    strength = models.CharField(max_length=20, choices=Strength, default=Strength.MUST)
    why = models.CharField(max_length=300)

    class Meta(PlacedRow.Meta):
        verbose_name = "need"

    def __str__(self):
        return f"{self.strength}: {', '.join(self.any_of)}"


class Conflict(PlacedRow):
    """Two types that cannot be fitted together, or only with care; listed once, it counts both ways."""

    RELATED = "conflicts"
    SHAPE = {"with": "other", "why": "why"}

    accessory_type = models.ForeignKey("AccessoryType", models.CASCADE, related_name="conflicts")
    other = models.CharField("other type", max_length=60, validators=[CODE])
    why = models.CharField(
        max_length=300, help_text="A reason that starts with “Only one” stops a quote; every other is a caution."
    )

    class Meta(PlacedRow.Meta):
        verbose_name = "conflict"

    def __str__(self):
        return f"not with {self.other}"
