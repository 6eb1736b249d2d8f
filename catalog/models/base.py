"""What every row of the catalogue has: a shape, from which its record follows, and limits with a plain sentence."""

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from catalog.records import record_of

CODE = RegexValidator(
    r"^[a-z0-9][a-z0-9_]*\Z", "A code has small letters, digits and underscores only, such as rod_holder_clamp_on."
)
TAG = RegexValidator(r"^[a-z0-9][a-z0-9_]*\Z", "A word has small letters, digits and underscores only.")


def shown(number: float) -> str:
    """Return a limit as a reader writes it: 1,000,000 or 0.001."""
    return f"{number:,.0f}" if number == int(number) else f"{number:g}"


def between(low: float, high: float, unit: str = "") -> list:
    """Return validators that keep a number within limits and say so in a sentence."""
    sentence = f"The figure lies between {shown(low)} and {shown(high)}{' ' if unit else ''}{unit}."
    return [MinValueValidator(low, sentence), MaxValueValidator(high, sentence)]


def one_of(*numbers: float, unit: str) -> list:
    """Return validators that accept certain numbers only."""
    accepted = ", ".join(f"{number:g}" for number in numbers)
    pattern = "|".join(f"{number:g}".replace(".", r"\.") + r"(\.0+)?" for number in numbers)
    return [RegexValidator(rf"^({pattern})\Z", f"The figure is one of {accepted} {unit}.", code="one_of")]


def same(names: str) -> dict[str, str]:
    """Return a shape whose keys and columns have the same names."""
    return {name: name for name in names.split()}


class CatalogueRow(models.Model):
    """A row with a record. `SHAPE` names the keys of the build sheet, `LEDGER` the shop's own keys beside them."""

    SHAPE: dict = {}
    LEDGER: dict = {}
    # Keys that are left out of the record where they are empty, and columns whose empty text is null there.
    LEFT_OUT = frozenset()
    EMPTY_IS_NULL = frozenset()
    # Columns that a record does not speak of: they keep what they hold when the record is stored again.
    KEPT = frozenset()

    class Meta:
        abstract = True

    def record(self) -> dict:
        """Return the row as the build sheet writes it."""
        return record_of(self)

    def ledger_record(self) -> dict:
        """Return the record together with what only the shop keeps: price date, bin, withdrawn."""
        return record_of(self, ledger=True)

    def clean_parts(self, parts: dict[str, list]) -> None:
        """Raise ValidationError where the rows that belong to this one do not fit together or do not fit it.

        `parts` holds the rows of some or all kinds, by the key of the record.
        """


class PlacedRow(CatalogueRow):
    """A row that has its place among the others of its parent."""

    place = models.PositiveSmallIntegerField(default=1)

    class Meta:
        abstract = True
        ordering = ["place", "pk"]


class Supplied(models.Model):
    """What the shop keeps on the shelf and orders: where it lies, who delivers it, how few are too few."""

    bin = models.CharField("where it lies", max_length=60, blank=True)
    supplier = models.CharField(max_length=80, blank=True, help_text="Empty: no supplier yet.")
    part_number = models.CharField("supplier's part number", max_length=60, blank=True)
    stock_minimum = models.PositiveIntegerField(
        "fewest on the shelf",
        default=0,
        validators=between(0, 100_000),
        help_text="Fewer than this beyond what tickets need are ordered. 0: ordered for tickets alone.",
    )

    class Meta:
        abstract = True
