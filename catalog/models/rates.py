"""The shop's rates and rules, each set with the date it holds from. A quote keeps the set it was made with."""

from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.urls import reverse

from catalog import rate_defaults as defaults
from catalog import rules
from catalog.fields import TableField
from catalog.models.base import CatalogueRow, between, one_of, same
from catalog.vocabulary import LONGEST_TEXT, TEXTS, QuoteRule
from shop.fields import MoneyField

SHARE = between(0, 1)


def default_currency():
    return settings.CURRENCY


class TaxRounding(models.TextChoices):
    TICKET = "ticket", "on the totals of the ticket"
    LINE = "line", "on each line"


class ShopRatesQuerySet(models.QuerySet):
    def holding_on(self, date):
        """Return the rules that hold on a date: the latest that began on or before it; before all, the first."""
        return self.filter(holds_from__lte=date).order_by("-holds_from").first() or self.order_by("holds_from").first()


class MarkupScaleField(models.JSONField):
    """Steps of a sliding scale, as the build sheet writes them."""

    def validate(self, value, model_instance):
        problem = rules.markup_problem(value)
        if problem:
            raise ValidationError(problem)


class WorkingDaysField(models.JSONField):
    """ISO 8601 numbers of the days on which the bench works: 1 is Monday."""

    def validate(self, value, model_instance):
        if not isinstance(value, list) or not value or not all(day in range(1, 8) for day in value):
            raise ValidationError("At least one day is needed; days are 1 (Monday) to 7 (Sunday).")
        if value != sorted(set(value)):
            raise ValidationError("Days stand in their order, each once.")


class TextsField(models.JSONField):
    """The owner's wording, by the name of the text."""

    def validate(self, value, instance):
        super().validate(value, instance)
        if not isinstance(value, dict) or not all(isinstance(text, str) for text in value.values()):
            raise ValidationError("Texts by their names are needed.")
        if unknown := [name for name in value if name not in TEXTS]:
            raise ValidationError(f"“{unknown[0]}” is no text of the papers.")
        if any(len(text) > LONGEST_TEXT for text in value.values()):
            raise ValidationError(f"A text has at most {LONGEST_TEXT} letters.")


class ShopRates(CatalogueRow):
    SHAPE = same(
        "currency labour_rate_per_h labour_cost_per_h billing_step_min minimum_charge_min labour_percentile "
        "labour_correlation phase_setup_min setup_share_max run_min_per_m run_included_m factors markup_scale "
        "tax tax_rounding deposit margin_floor capacity_caution capacity_strong deck_freeboard_caution_mm "
        "usable_depth peukert feed_drop drop_limits fuse_factor insulation_c hot_hull sheathed"
    )
    LEDGER = same(
        "holds_from shop_name address mail_from quote_valid_days quote_rule quote_tolerance signature_link_days "
        "price_age_months workmanship_days storage_free_days storage_fee_per_day restock_days bench_hours_per_day "
        "working_days texts"
    )
    KEPT = frozenset(("first_quoted_on",))

    holds_from = models.DateField(
        "holds from", unique=True, error_messages={"unique": "There are rules from this date already."}
    )
    first_quoted_on = models.DateField(null=True, blank=True, editable=False)

    currency = models.CharField(max_length=3, default=default_currency, editable=False)
    labour_rate_per_h = MoneyField("labour rate per hour", default=Decimal("95.00"))
    labour_cost_per_h = MoneyField("labour cost per hour", default=Decimal("38.00"))
    billing_step_min = models.FloatField("billing step, min", default=15.0, validators=between(1, 480, "min"))
    minimum_charge_min = models.FloatField("minimum charge, min", default=30.0, validators=between(0, 480, "min"))
    labour_percentile = models.FloatField("percentile quoted", default=0.5, validators=between(0.01, 0.99))
    labour_correlation = models.FloatField("correlation of labour", default=0.3, validators=SHARE)
    phase_setup_min = TableField(
        "set-up by phase, min", default=defaults.phase_setup_min, keys=defaults.PHASE_SETUP_MIN, largest=480
    )
    setup_share_max = models.FloatField("greatest part of set-up", default=0.3, validators=SHARE)
    run_min_per_m = models.FloatField("minutes per metre of run", default=4.0, validators=between(0, 120, "min/m"))
    run_included_m = models.FloatField("run included, m", default=2.0, validators=between(0, 20, "m"))
    factors = TableField("factors of a hull", default=defaults.factors, keys=defaults.FACTORS, largest=10)
    markup_scale = MarkupScaleField("mark-up scale", default=defaults.markup_scale)
    tax = TableField(default=defaults.tax, keys=defaults.TAX, kind="decimal", largest=1)
    tax_rounding = models.CharField("tax is rounded", max_length=10, choices=TaxRounding, default=TaxRounding.TICKET)
    deposit = TableField(default=defaults.deposit, keys=defaults.DEPOSIT, kind="decimal", largest=1)
    margin_floor = models.FloatField("least margin", default=0.35, validators=SHARE)
    capacity_caution = models.FloatField("caution of load, part of rating", default=0.70, validators=SHARE)
    capacity_strong = models.FloatField("strong caution of load, part of rating", default=0.85, validators=SHARE)
    deck_freeboard_caution_mm = models.FloatField(
        "caution of floor above water, mm", default=20.0, validators=between(0, 500, "mm")
    )
    usable_depth = TableField("usable charge", default=defaults.usable_depth, keys=defaults.USABLE_DEPTH, largest=1)
    peukert = TableField("Peukert's exponent", default=defaults.peukert, keys=defaults.PEUKERT, largest=2)
    feed_drop = models.FloatField("drop of the feed", default=0.01, validators=between(0.001, 0.5))
    drop_limits = TableField("limits of drop", default=defaults.drop_limits, keys=defaults.DROP_LIMITS, largest=0.5)
    fuse_factor = TableField(
        "fuse above design current", default=defaults.fuse_factor, keys=defaults.FUSE_FACTOR, largest=5
    )
    insulation_c = models.FloatField(
        "insulation rated at, °C", default=75.0, validators=one_of(60, 75, 80, 90, 105, 125, 200, unit="°C")
    )
    hot_hull = models.BooleanField("the hull gets hot inside", default=False)
    sheathed = models.BooleanField("conductors are sheathed", default=True)

    shop_name = models.CharField(max_length=120, default="Example Paddle Outfitting")
    address = models.TextField("address, one line below the other", max_length=400, blank=True)
    quote_valid_days = models.PositiveSmallIntegerField(
        "a quote holds, days", default=14, validators=between(1, 365, "days")
    )
    quote_rule = models.CharField(
        "what a quote promises",
        max_length=20,
        choices=QuoteRule,
        default=QuoteRule.NOT_TO_EXCEED,
        help_text="Work that costs more needs the customer's agreement first.",
    )
    quote_tolerance = models.FloatField(
        "tolerance above a quote",
        default=0.10,
        validators=between(0, 0.5),
        help_text="Counts only where the rule allows one; at most 50 %.",
    )
    signature_link_days = models.PositiveSmallIntegerField(
        "a link to sign holds, days",
        default=14,
        validators=between(1, 90, "days"),
        help_text="After that the customer asks for a new one.",
    )
    price_age_months = models.PositiveSmallIntegerField(
        "a price is old after, months",
        default=12,
        validators=between(0, 120, "months"),
        help_text="The counter is then told to ask before quoting. 0: no price is old.",
    )
    mail_from = models.EmailField(
        "e-mail address of the shop", blank=True, help_text="Quotes and links to sign are sent from it."
    )
    workmanship_days = models.PositiveSmallIntegerField(
        "workmanship warranted, days", default=90, validators=between(0, 3650, "days")
    )
    storage_free_days = models.PositiveSmallIntegerField(
        "storage free after the customer is told, days", default=14, validators=between(0, 365, "days")
    )
    storage_fee_per_day = MoneyField("storage after that, a day", default=Decimal("0.00"))
    restock_days = models.PositiveSmallIntegerField(
        "a part that ran out is here after, days",
        default=5,
        validators=between(0, 365, "days"),
        help_text="For types without days of their own.",
    )
    bench_hours_per_day = models.FloatField("bench hours a day", default=6.0, validators=between(0.5, 24, "h"))
    working_days = WorkingDaysField(default=defaults.working_days)
    texts = TextsField(default=dict, blank=True)

    objects = ShopRatesQuerySet.as_manager()

    class Meta:
        ordering = ["-holds_from"]
        verbose_name = "rates and rules"
        verbose_name_plural = "rates and rules"

    def __str__(self):
        return f"Rates and rules from {self.holds_from}"

    def get_absolute_url(self):
        return reverse("catalog:rates", args=[self.holds_from.isoformat()])

    @property
    def address_lines(self) -> list[str]:
        return [line.strip() for line in self.address.splitlines() if line.strip()]

    def clean(self):
        if None not in (self.capacity_caution, self.capacity_strong) and self.capacity_caution > self.capacity_strong:
            raise ValidationError({"capacity_caution": "The caution comes no later than the strong caution."})
        for column in ("labour_rate_per_h", "labour_cost_per_h"):
            if (getattr(self, column) or 0) < 0:
                raise ValidationError({column: "An hour does not cost less than nothing."})
