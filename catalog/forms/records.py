"""Forms of whole records: types, hull types, operations, consumables. Each names its groups, as the page shows them."""

from django import forms

from catalog.forms.fields import CatalogueForm, with_units
from catalog.models import AccessoryType, Consumable, HullType, ShopOperation


class RecordForm(CatalogueForm):
    """A form over one row of the catalogue; what belongs to the row is edited on pages of its own."""

    GROUPS: tuple = ()

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.fields.pop("code", None)

    def in_order(self, name: str) -> list[str]:
        """Return the words that were ticked: ticks have no order, so the record keeps the one it has."""
        ticked = self.cleaned_data[name]
        held = [word for word in getattr(self.instance, name) if word in ticked]
        return held + [word for word in ticked if word not in held]

    def groups(self):
        """Yield each heading with its bound fields."""
        for heading, names in self.GROUPS:
            yield heading, [self[name] for name in names.split() if name in self.fields]


# A type that takes minutes has at least one step; a new one starts with this, and the owner splits it up.
FIRST_STEP = {"phase": "mount", "share": 1.0, "text": "Fit it as its maker's instructions say."}


class TypeForm(RecordForm):
    def record(self):
        record = super().record()
        return record | {"steps": record["steps"] or [FIRST_STEP]}

    def clean_craft(self):
        return self.in_order("craft")


def record_form(model, *groups, form=RecordForm, **options) -> type[RecordForm]:
    """Return the form of a model, its fields in groups of (heading, names)."""
    names = " ".join(group[1] for group in groups).split()
    errors = {"code": {"unique": "There is a record with this code already."}} if "code" in names else None
    base = forms.modelform_factory(
        model, form=form, fields=names, formfield_callback=with_units, error_messages=errors, **options
    )
    base.GROUPS = groups
    return base


DATE = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

AccessoryTypeForm = record_form(
    AccessoryType,
    ("What it is", "code name category craft mountings withdrawn"),
    ("Price", "price cost priced_on"),
    ("Shelf", "bin stock_minimum supplier part_number order_pack lead_days"),
    ("Minutes", "low_min likely_min high_min repeat_ratio cure_h"),
    ("Mass and size", "mass_kg mass_in_use_kg body_length_mm body_width_mm"),
    (
        "Limits",
        "opening_min_height_mm may_sit_below_water seal_kind seal_bead_mm inside_access distribution_ways switch_ways",
    ),
    ("Words", "provides cautions owner_checks bench_tests tools source"),
    form=TypeForm,
    widgets={"priced_on": DATE},
)

HullTypeForm = record_form(
    HullType,
    ("What it is", "code name craft material withdrawn"),
    ("Dimensions", "length_m beam_m depth_m mass_kg rated_load_kg rating_includes_hull"),
    ("Form", "waterplane_exponent section_exponent cog_x_m cog_z_m float_test_draft_mid_m float_test_load_kg"),
    ("State and facts", "old salt_corroded hull_number provides source"),
)

OperationForm = record_form(
    ShopOperation,
    ("What it is", "code name phase billable withdrawn note"),
    ("Minutes", "low_min likely_min high_min"),
    ("Words", "source"),
)

ConsumableForm = record_form(
    Consumable,
    ("What it is", "code name unit pack_quantity computed"),
    ("Price", "unit_price unit_cost"),
    ("Shelf", "bin stock_minimum supplier part_number"),
    ("Words", "source"),
)
