"""Accessory types: what the shop fits, with everything an estimate needs to know about it."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Count
from django.urls import reverse

from catalog import rules
from catalog.fields import FoldedField, TextListField, WordListField, fold
from catalog.models.accessory_parts import Conflict, ConsumableUse, InstallStep, Opening, Requirement
from catalog.models.base import CODE, TAG, CatalogueRow, Supplied, between, same
from catalog.models.ratings import BatteryRating, ConverterRating, LoadRating
from catalog.records import Group, Many, One
from catalog.vocabulary import BenchTest, Craft, InsideAccess, Mounting, SealKind
from shop.fields import MoneyField

MINUTES = between(0, 10_000, "min")
KILOGRAMS = between(0, 500, "kg")


class AccessoryTypeQuerySet(models.QuerySet):
    def offered(self):
        """What can still be put on a ticket."""
        return self.filter(withdrawn=False)

    def matching(self, text: str):
        """The types whose name, code or category hold every word of a text, accents and case aside."""
        types = self
        for word in fold(text.replace("_", " ")).split():
            types = types.filter(folded__contains=word)
        return types

    def fitting(self, craft: str):
        return self.filter(craft__has=craft)

    def not_fitting(self, craft: str):
        return self.exclude(craft__has=craft)

    def whole(self):
        """Everything that a record needs, in a fixed number of queries."""
        return self.select_related("load", "battery", "converter").prefetch_related(
            "openings", "steps", "consumables", "requires", "conflicts"
        )

    def for_list(self):
        """What one line of the list shows, in one query."""
        return self.annotate(opening_count=Count("openings")).order_by("category", "name", "code")

    def categories(self) -> list[str]:
        return list(self.order_by("category").values_list("category", flat=True).distinct())


class AccessoryType(Supplied, CatalogueRow):
    SHAPE = {
        "id": "code",
        "name": "name",
        "category": "category",
        "craft": "craft",
        "mass_kg": "mass_kg",
        "mass_in_use_kg": "mass_in_use_kg",
        "mountings": "mountings",
        "load": One(LoadRating),
        "battery": One(BatteryRating),
        "converter": One(ConverterRating),
        "distribution": Group({"ways": "distribution_ways"}, optional=True),
        "switch": Group({"ways": "switch_ways"}, optional=True),
        "openings": Many(Opening),
        "opening_min_height_mm": "opening_min_height_mm",
        "may_sit_below_water": "may_sit_below_water",
        "seal": Group({"kind": "seal_kind", "bead_mm": "seal_bead_mm"}),
        "inside_access": "inside_access",
        "cure_h": "cure_h",
        "labour": Group(same("low_min likely_min high_min repeat_ratio")),
        "steps": Many(InstallStep),
        "consumables": Many(ConsumableUse),
        "requires": Many(Requirement),
        "provides": "provides",
        "conflicts": Many(Conflict),
        "cautions": "cautions",
        "owner_checks": "owner_checks",
        "bench_tests": "bench_tests",
        "tools": "tools",
        "body_length_mm": "body_length_mm",
        "body_width_mm": "body_width_mm",
        "price": "price",
        "cost": "cost",
        "source": "source",
    }
    LEDGER = same("priced_on bin lead_days withdrawn supplier part_number order_pack stock_minimum")
    LEFT_OUT = frozenset(("body_length_mm", "body_width_mm"))

    code = models.CharField(max_length=60, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    category = models.CharField(max_length=40, validators=[TAG], help_text="Such as rod_and_fishing, or lights.")
    craft = WordListField("fits", choices_from=Craft)
    mass_kg = models.FloatField("mass, kg", validators=KILOGRAMS)
    mass_in_use_kg = models.FloatField("mass in use, kg", validators=KILOGRAMS)
    mountings = WordListField(choices_from=Mounting, help_text="The first one is what a ticket starts with.")
    distribution_ways = models.PositiveSmallIntegerField(
        "ways of a distribution", null=True, blank=True, validators=between(1, 60)
    )
    switch_ways = models.PositiveSmallIntegerField(
        "ways of a switch panel", null=True, blank=True, validators=between(1, 60)
    )
    opening_min_height_mm = models.FloatField(
        "lowest opening above loaded water, mm", null=True, blank=True, validators=between(-500, 1000, "mm")
    )
    may_sit_below_water = models.BooleanField("may sit below water", default=False)
    seal_kind = models.CharField("seal", max_length=20, choices=SealKind, default=SealKind.NONE)
    seal_bead_mm = models.FloatField("bead, mm", default=0.0, validators=between(0, 50, "mm"))
    inside_access = models.CharField("reach behind", max_length=20, choices=InsideAccess, default=InsideAccess.NO)
    cure_h = models.FloatField("cure, h", default=0.0, validators=between(0, 1000, "h"))
    low_min = models.FloatField("low, min", validators=MINUTES)
    likely_min = models.FloatField("likely, min", validators=MINUTES)
    high_min = models.FloatField("high, min", validators=MINUTES)
    repeat_ratio = models.FloatField(
        "next one on a ticket",
        default=1.0,
        validators=between(0, 1),
        help_text="The next one on a ticket takes this part of the likely minutes.",
    )
    provides = WordListField("tags it provides", blank=True)
    cautions = TextListField()
    owner_checks = TextListField(
        "owner's checks",
    )
    bench_tests = WordListField(blank=True, choices_from=BenchTest)
    tools = TextListField()
    body_length_mm = models.FloatField(
        "body, along the hull, mm", null=True, blank=True, validators=between(1, 3000, "mm")
    )
    body_width_mm = models.FloatField("body, across, mm", null=True, blank=True, validators=between(1, 3000, "mm"))
    price = MoneyField(null=True, blank=True, help_text="Empty: cost times the mark-up scale.")
    cost = MoneyField()
    source = models.TextField("where the figures come from", max_length=2000)
    priced_on = models.DateField("price dated", null=True, blank=True)
    lead_days = models.PositiveSmallIntegerField(
        "days until it is here",
        default=0,
        validators=between(0, 365, "days"),
        help_text="0: on the shelf as a rule.",
    )
    order_pack = models.PositiveSmallIntegerField(
        "pieces in a pack", default=1, validators=between(1, 1000), help_text="Ordered in whole packs."
    )
    withdrawn = models.BooleanField(default=False, help_text="Stays on old tickets, cannot be put on a new one.")
    folded = FoldedField(sources=("name", "code", "category"))

    objects = AccessoryTypeQuerySet.as_manager()

    class Meta:
        ordering = ["category", "name"]
        indexes = [models.Index(fields=["category", "name"], name="accessory_category_name")]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("catalog:type", args=[self.code])

    def clean(self):
        minutes = (self.low_min, self.likely_min, self.high_min)
        if None not in minutes and (problem := rules.minutes_problem(*minutes)):
            raise ValidationError({"likely_min": problem})
        if self.seal_kind == SealKind.BEAD and not self.seal_bead_mm:
            raise ValidationError({"seal_bead_mm": "A seal of the kind bead has a bead; its width in mm is missing."})
        for column in ("price", "cost"):
            if (getattr(self, column) or 0) < 0:
                raise ValidationError({column: "An amount below 0 is no price."})

    def clean_parts(self, parts):
        for kind, rows in parts.items():
            problems = [problem for problem in self._problems_of(kind, rows) if problem]
            if problems:
                raise ValidationError(problems)

    def _problems_of(self, kind, rows):
        """What is wrong with the rows of one kind, taken together."""
        if kind == "steps":
            yield rules.shares_problem([step.share for step in rows], self.likely_min)
            yield rules.phases_problem([step.phase for step in rows])
        elif kind == "consumables":
            yield rules.twice_problem((use.item for use in rows), "consumable")
        elif kind == "openings":
            yield rules.mountings_problem((word for hole in rows for word in hole.mountings or ()), self.mountings)
        elif kind == "conflicts":
            yield rules.twice_problem((conflict.other for conflict in rows), "conflict with")
            yield rules.self_conflict_problem((conflict.other for conflict in rows), self.code)
