"""The catalogue in Django's admin, for the owner. Every change here is journalled and moves the version on."""

from django.contrib import admin
from django.db import transaction
from django.db.models import CharField, FloatField
from django.forms import BaseInlineFormSet, Textarea, TextInput

from catalog import actions, models
from catalog.fields import WordListField
from catalog.forms.bundles import LineForm


class PartsFormSet(BaseInlineFormSet):
    """Rows that are also checked together, by the rules of the row they belong to."""

    def clean(self):
        super().clean()
        if any(self.errors):
            return
        kept = [form for form in self.forms if form not in self.deleted_forms and (form.has_changed() or form.initial)]
        rows = sorted((form.instance for form in kept), key=lambda row: getattr(row, "place", 1))
        self.instance.clean_parts({self.model.RELATED: rows})


class PartInline(admin.TabularInline):
    formset = PartsFormSet
    extra = 0
    # Rows stay within the page's width.
    formfield_overrides = {
        CharField: {"widget": Textarea(attrs={"rows": 2, "cols": 18})},
        FloatField: {"widget": TextInput(attrs={"size": 6})},
        WordListField: {"widget": TextInput(attrs={"size": 16})},
    }


class RatingInline(admin.StackedInline):
    formset = PartsFormSet
    extra = 0


def inline(model, base=PartInline):
    """Return an inline for the rows of one model."""
    return type(f"{model.__name__}Inline", (base,), {"model": model})


class BundleLineInline(PartInline):
    model = models.BundleLine
    form = LineForm
    autocomplete_fields = ("accessory",)


class CatalogueAdmin(admin.ModelAdmin):
    save_on_top = True
    list_per_page = 60

    def get_readonly_fields(self, request, obj=None):
        """A code stays as it is: tickets, needs and conflicts name it."""
        return [*super().get_readonly_fields(request, obj), *(["code"] if obj and hasattr(obj, "code") else [])]

    def save_model(self, request, obj, form, change):
        request.catalogue_before = type(obj).objects.get(pk=obj.pk).ledger_record() if change else {}
        super().save_model(request, obj, form, change)

    def save_related(self, request, form, formsets, change):
        super().save_related(request, form, formsets, change)
        actions.note_change(request.user, form.instance, request.catalogue_before)

    def delete_model(self, request, obj):
        actions.note_removal(request.user, obj)
        super().delete_model(request, obj)

    def delete_queryset(self, request, queryset):
        with transaction.atomic():
            for row in queryset:
                self.delete_model(request, row)


@admin.register(models.AccessoryType)
class AccessoryTypeAdmin(CatalogueAdmin):
    list_display = (
        "name",
        "code",
        "category",
        "likely_min",
        "mass_kg",
        "price",
        "cost",
        "priced_on",
        "bin",
        "withdrawn",
    )
    list_filter = ("category", "withdrawn", "seal_kind", "inside_access", "may_sit_below_water")
    search_fields = ("folded",)
    search_help_text = "Any words of name, code or category."
    readonly_fields = ("folded",)
    inlines = [
        inline(models.LoadRating, RatingInline),
        inline(models.BatteryRating, RatingInline),
        inline(models.ConverterRating, RatingInline),
        *map(inline, (models.Opening, models.InstallStep, models.ConsumableUse, models.Requirement, models.Conflict)),
    ]
    fieldsets = [
        (None, {"fields": ["code", "name", "category", "craft", "mountings", "withdrawn", "bin"]}),
        ("Price", {"fields": ["price", "cost", "priced_on"]}),
        ("Shelf", {"fields": ["stock_minimum", "supplier", "part_number", "order_pack", "lead_days"]}),
        ("Minutes", {"fields": ["low_min", "likely_min", "high_min", "repeat_ratio", "cure_h"]}),
        ("Mass and size", {"fields": ["mass_kg", "mass_in_use_kg", "body_length_mm", "body_width_mm"]}),
        (
            "Openings and limits",
            {
                "fields": [
                    *("opening_min_height_mm", "may_sit_below_water", "seal_kind", "seal_bead_mm", "inside_access"),
                    *("distribution_ways", "switch_ways"),
                ]
            },
        ),
        ("Words", {"fields": ["provides", "cautions", "owner_checks", "bench_tests", "tools", "source"]}),
    ]

    def get_search_results(self, request, queryset, search_term):
        return queryset.matching(search_term), False


@admin.register(models.HullType)
class HullTypeAdmin(CatalogueAdmin):
    list_display = ("name", "code", "craft", "material", "length_m", "beam_m", "mass_kg", "rated_load_kg", "withdrawn")
    list_filter = ("craft", "material", "withdrawn")
    search_fields = ("folded",)
    inlines = [inline(models.HullTypeStation)]

    def get_search_results(self, request, queryset, search_term):
        return queryset.matching(search_term), False


@admin.register(models.Bundle)
class BundleAdmin(CatalogueAdmin):
    list_display = ("name", "code", "place", "withdrawn")
    list_filter = ("withdrawn",)
    search_fields = ("folded",)
    inlines = [BundleLineInline]

    def get_search_results(self, request, queryset, search_term):
        return queryset.matching(search_term), False


@admin.register(models.ShopOperation)
class ShopOperationAdmin(CatalogueAdmin):
    list_display = ("name", "code", "phase", "low_min", "likely_min", "high_min", "billable", "withdrawn")
    list_filter = ("phase", "billable", "withdrawn")
    search_fields = ("name", "code", "note")


@admin.register(models.Consumable)
class ConsumableAdmin(CatalogueAdmin):
    list_display = ("name", "code", "unit", "pack_quantity", "unit_price", "unit_cost", "computed")
    list_filter = ("unit", "computed")
    search_fields = ("name", "code")


@admin.register(models.ShopRates)
class ShopRatesAdmin(CatalogueAdmin):
    list_display = ("holds_from", "labour_rate_per_h", "labour_cost_per_h", "billing_step_min", "first_quoted_on")
    readonly_fields = ("currency", "first_quoted_on")

    def has_change_permission(self, request, obj=None):
        """Rates that a quote was made with are read, not changed; new ones begin on a later date."""
        used = obj is not None and obj.first_quoted_on is not None
        return not used and super().has_change_permission(request, obj)

    def has_delete_permission(self, request, obj=None):
        used = obj is not None and obj.first_quoted_on is not None
        return not used and super().has_delete_permission(request, obj)
