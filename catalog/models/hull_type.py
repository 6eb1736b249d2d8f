"""Hull types: the models the shop meets, and their named places. A customer's boat starts as a copy of one."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Count
from django.urls import reverse

from catalog import rules
from catalog.fields import FoldedField, WordListField, fold
from catalog.models.base import CODE, CatalogueRow, PlacedRow, between, same
from catalog.records import Group, Many
from catalog.vocabulary import Craft, Material, Surface


class HullTypeStation(PlacedRow):
    """A named place: metres aft of the bow tip, to starboard, and above the lowest point of the keel."""

    RELATED = "stations"
    SHAPE = {"id": "key"} | same("name x_m y_m z_m surface hand_reach blind holds_battery well_half_width_m")
    LEFT_OUT = frozenset(("well_half_width_m",))

    hull_type = models.ForeignKey("HullType", models.CASCADE, related_name="stations")
    key = models.CharField("code", max_length=60, validators=[CODE])
    name = models.CharField(max_length=120)
    x_m = models.FloatField("aft of the bow tip, m", validators=between(-1, 12, "m"))
    y_m = models.FloatField("to starboard, m", default=0.0, validators=between(-3, 3, "m"))
    z_m = models.FloatField("above the keel, m", validators=between(-1, 3, "m"))
    surface = models.CharField(max_length=20, choices=Surface, default=Surface.DECK)
    hand_reach = models.BooleanField("a hand reaches behind", default=False)
    blind = models.BooleanField("nobody sees behind", default=False)
    holds_battery = models.BooleanField(default=False)
    well_half_width_m = models.FloatField(
        "half the floor's width, m",
        null=True,
        blank=True,
        validators=between(0.01, 1.5, "m"),
        help_text="On floors that drain themselves only.",
    )

    class Meta(PlacedRow.Meta):
        verbose_name = "station"
        constraints = [
            models.UniqueConstraint(
                fields=["hull_type", "key"],
                name="hull_type_station_once",
                violation_error_message="This hull type has a station of this code already.",
            )
        ]

    def __str__(self):
        return self.name


class HullTypeQuerySet(models.QuerySet):
    def offered(self):
        return self.filter(withdrawn=False)

    def matching(self, text: str):
        """The hull types whose name, code, craft or material hold every word of a text."""
        hulls = self
        for word in fold(text.replace("_", " ")).split():
            hulls = hulls.filter(folded__contains=word)
        return hulls

    def for_list(self):
        """What one line of the list shows, in one query."""
        return self.annotate(station_count=Count("stations")).order_by("craft", "length_m", "name")

    def whole(self):
        """Everything that a record needs, in two queries."""
        return self.prefetch_related("stations")


class HullType(CatalogueRow):
    SHAPE = (
        {"id": "code"}
        | same(
            "name craft material length_m beam_m depth_m mass_kg rated_load_kg rating_includes_hull "
            "waterplane_exponent section_exponent cog_x_m cog_z_m"
        )
        | {
            "float_test": Group({"draft_mid_m": "float_test_draft_mid_m", "load_kg": "float_test_load_kg"}, True),
            "old": "old",
            "salt_corroded": "salt_corroded",
            "hull_number": "hull_number",
            "provides": "provides",
            "stations": Many(HullTypeStation),
            "source": "source",
        }
    )
    LEDGER = {"withdrawn": "withdrawn"}
    EMPTY_IS_NULL = frozenset(("hull_number",))

    code = models.CharField(max_length=60, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    craft = models.CharField(max_length=20, choices=Craft)
    material = models.CharField(max_length=20, choices=Material)
    length_m = models.FloatField("length, m", validators=between(1.5, 10, "m"))
    beam_m = models.FloatField("beam, m", validators=between(0.3, 2, "m"))
    depth_m = models.FloatField(
        "depth, m", validators=between(0.1, 1, "m"), help_text="From keel to gunwale, amidships."
    )
    mass_kg = models.FloatField("mass, kg", validators=between(3, 200, "kg"))
    rated_load_kg = models.FloatField(
        "rated load, kg",
        null=True,
        blank=True,
        validators=between(20, 1000, "kg"),
        help_text="The maker's figure. Empty where there is none: the shop never sets one.",
    )
    rating_includes_hull = models.BooleanField("rating includes the hull", default=False)
    waterplane_exponent = models.FloatField("waterplane exponent", validators=between(1, 40))
    section_exponent = models.FloatField("section exponent", validators=between(1, 40))
    cog_x_m = models.FloatField("centre of gravity, aft, m", null=True, blank=True, validators=between(0, 10, "m"))
    cog_z_m = models.FloatField("centre of gravity, up, m", null=True, blank=True, validators=between(0, 1, "m"))
    float_test_draft_mid_m = models.FloatField(
        "float test: draft amidships, m", null=True, blank=True, validators=between(0.001, 1, "m")
    )
    float_test_load_kg = models.FloatField(
        "float test: load aboard, kg", null=True, blank=True, validators=between(0, 1000, "kg")
    )
    old = models.BooleanField("old hull", default=False)
    salt_corroded = models.BooleanField("salt-corroded", default=False)
    hull_number = models.CharField(max_length=20, blank=True)
    provides = WordListField("what the hull provides", blank=True)
    source = models.TextField("where the figures come from", max_length=2000)
    withdrawn = models.BooleanField(default=False)
    folded = FoldedField(sources=("name", "code", "craft", "material"))

    objects = HullTypeQuerySet.as_manager()

    class Meta:
        ordering = ["craft", "length_m", "name"]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("catalog:hull_type", args=[self.code])

    def clean(self):
        if (self.float_test_draft_mid_m is None) != (self.float_test_load_kg is None):
            raise ValidationError({"float_test_load_kg": "A float test has both the draft and the load aboard."})
        if None not in (self.beam_m, self.length_m) and self.beam_m >= self.length_m:
            raise ValidationError({"beam_m": "The beam is less than the length."})

    def clean_parts(self, parts):
        stations = parts.get("stations", [])
        problem = rules.twice_problem((station.key for station in stations), "station")
        if problem:
            raise ValidationError(problem)
        for station in stations:
            if station.x_m > self.length_m * 1.05:
                raise ValidationError(
                    f"The station “{station.name}” lies {station.x_m:g} m aft of the bow tip, "
                    f"but the hull is {self.length_m:g} m long."
                )
            if abs(station.y_m) > self.beam_m:
                raise ValidationError(
                    f"The station “{station.name}” lies {station.y_m:g} m off the centreline, too far."
                )
