"""Bundles of the shop's own: lines that usually go on a ticket together, put there with one press."""

from django.core.exceptions import ValidationError
from django.db import models
from django.urls import reverse

from catalog.fields import FoldedField, WordListField, fold
from catalog.models.accessory import AccessoryType
from catalog.models.base import CODE, TAG, CatalogueRow, PlacedRow, between
from catalog.records import Many
from catalog.vocabulary import Craft, Mounting, Use

LAST_PLACE = 999


class BundleLine(PlacedRow):
    """One accessory type of a bundle. Its place is a word that a station's code starts with, such as console."""

    RELATED = "lines"
    SHAPE = {
        "accessory": "accessory_id",
        "quantity": "quantity",
        "mounting": "mounting",
        "place": "place_word",
        "drive": "drive",
    }
    EMPTY_IS_NULL = frozenset(("mounting", "place_word"))

    bundle = models.ForeignKey("Bundle", models.CASCADE, related_name="lines")
    # The column holds the type's code, so that a record is read before the types are asked for.
    accessory = models.ForeignKey(
        AccessoryType, models.PROTECT, to_field="code", related_name="+", verbose_name="accessory type"
    )
    quantity = models.PositiveSmallIntegerField("how many", default=1, validators=between(1, 99))
    mounting = models.CharField(
        max_length=20, choices=Mounting, blank=True, help_text="Empty: the one that the type starts with."
    )
    place_word = models.CharField(
        "station",
        max_length=60,
        blank=True,
        validators=[TAG],
        help_text="What the code of a station starts with, such as console or rear_deck. Empty: the usual place.",
    )
    drive = models.BooleanField("drive battery", default=False)

    class Meta(PlacedRow.Meta):
        verbose_name = "line"

    def __str__(self):
        return f"{self.quantity} {self.accessory_id}"


class BundleQuerySet(models.QuerySet):
    def offered(self):
        """The bundles that may go on a ticket, in the shop's order, with their lines and types: two queries."""
        return self.filter(withdrawn=False).whole()

    def whole(self):
        """Everything that a record or a page needs, in two queries."""
        lines = BundleLine.objects.select_related("accessory")
        return self.prefetch_related(models.Prefetch("lines", queryset=lines))

    def next_place(self) -> int:
        """Return the place after the last one."""
        last = self.aggregate(last=models.Max("place"))["last"] or 0
        return min(last + 1, LAST_PLACE)

    def matching(self, text: str):
        """The bundles whose name, code or note hold every word of a text, accents and case aside."""
        bundles = self
        for word in fold(text.replace("_", " ")).split():
            bundles = bundles.filter(folded__contains=word)
        return bundles


class Bundle(CatalogueRow):
    SHAPE = {"id": "code", "name": "name", "craft": "craft", "uses": "uses", "note": "note", "lines": Many(BundleLine)}
    LEDGER = {"place": "place", "withdrawn": "withdrawn"}

    code = models.CharField(max_length=60, unique=True, validators=[CODE])
    name = models.CharField(max_length=80)
    craft = WordListField("craft", choices_from=Craft, blank=True, help_text="None ticked: for every craft.")
    uses = WordListField(
        "use", choices_from=Use, blank=True, help_text="It comes first where the customer wants one of these."
    )
    note = models.CharField(max_length=300, blank=True, help_text="What the counter says about it, in one sentence.")
    place = models.PositiveSmallIntegerField(
        "place in the list", default=1, validators=between(1, LAST_PLACE), help_text="1 is offered first."
    )
    withdrawn = models.BooleanField(default=False, help_text="Is offered no more; tickets that took it keep its lines.")
    folded = FoldedField(sources=("name", "code", "note"))

    objects = BundleQuerySet.as_manager()

    class Meta:
        ordering = ["place", "name", "pk"]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("catalog:bundle", args=[self.code])

    def suits(self, craft: str) -> bool:
        """Whether it is for a craft; one that names no craft is for every one."""
        return not self.craft or craft in self.craft

    def clean_parts(self, parts):
        if "lines" in parts and not parts["lines"]:
            raise ValidationError("A bundle has at least one line.")
