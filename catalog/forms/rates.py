"""The form of dated rates and rules: each value of a small table is a field of its own."""

from decimal import Decimal

from django import forms

from catalog import rules
from catalog.fields import TableField
from catalog.forms.fields import LONG, MIDDLE, WIDE, CatalogueForm, NumberField, ShareField, with_units
from catalog.models import ShopRates
from catalog.records import plain
from catalog.vocabulary import LONGEST_TEXT, TEXTS, spoken
from shop.forms import DurationField

DAYS = [(1, "Monday"), (2, "Tuesday"), (3, "Wednesday"), (4, "Thursday"), (5, "Friday"), (6, "Saturday"), (7, "Sunday")]
MARKUP_STEPS = 7
GROUPS = (
    ("From when", "holds_from"),
    ("Labour", "labour_rate_per_h labour_cost_per_h billing_step_min minimum_charge_min labour_percentile"),
    ("Minutes", "labour_correlation setup_share_max run_min_per_m run_included_m phase_setup_min factors"),
    ("Money", "markup_scale tax tax_rounding deposit margin_floor"),
    ("Afloat", "capacity_caution capacity_strong deck_freeboard_caution_mm"),
    ("Electrics", "usable_depth peukert feed_drop drop_limits fuse_factor insulation_c hot_hull sheathed"),
    ("Quotes", "quote_valid_days quote_rule quote_tolerance signature_link_days price_age_months mail_from"),
    ("The shop", "shop_name address workmanship_days storage_free_days storage_fee_per_day"),
    ("The bench", "bench_hours_per_day working_days restock_days"),
    ("Texts on paper, empty for the program's own", "texts"),
)
# Tables whose values are parts of a whole, and those in minutes; the others are plain factors.
OF_A_WHOLE = {"tax", "deposit", "usable_depth", "drop_limits"}
TABLES = [column for column in ShopRates._meta.fields if isinstance(column, TableField)]


class RatesForm(CatalogueForm):
    class Meta:
        model = ShopRates
        fields = [
            name
            for _, names in GROUPS
            for name in names.split()
            if name not in {"texts", *(column.name for column in TABLES)}
        ]
        formfield_callback = with_units
        widgets = {"holds_from": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}

    working_days = forms.TypedMultipleChoiceField(choices=DAYS, coerce=int, widget=forms.CheckboxSelectMultiple)
    markup_scale = forms.CharField(
        label="Mark-up scale",
        widget=forms.Textarea(attrs={"rows": MARKUP_STEPS}),
        help_text="One step a line, by cost: below 25: 2.0 and so on. At the end: above: 1.2.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["working_days"].width = self.fields["markup_scale"].width = WIDE
        self.initial["markup_scale"] = "\n".join(
            f"below {step['below']}: {step['factor']}" if step["below"] else f"above: {step['factor']}"
            for step in self.instance.markup_scale
        )
        for column in TABLES:
            for key, value in getattr(self.instance, column.name).items():
                self.fields[name_of(column, key)] = table_field(column, key)
                self.initial[name_of(column, key)] = Decimal(value) if column.kind == "decimal" else value
        for key, label in TEXTS.items():
            area = forms.Textarea(attrs={"rows": 3})
            self.fields[text_name(key)] = forms.CharField(
                label=label, required=False, max_length=LONGEST_TEXT, widget=area
            )
            self.fields[text_name(key)].width = LONG
            self.initial[text_name(key)] = self.instance.texts.get(key, "")

    def clean_markup_scale(self):
        scale = []
        for line in self.cleaned_data["markup_scale"].splitlines():
            words = line.lower().replace(":", " ").removeprefix("below ").split()
            if not words:
                continue
            if len(words) != 2:
                raise forms.ValidationError(
                    f"“{line[:60]}” is no step. Accepted: below 25: 2.0, and above: 1.2 at the end."
                )
            scale.append({"below": None if words[0] == "above" else words[0], "factor": words[1]})
        if problem := rules.markup_problem(scale):
            raise forms.ValidationError(problem)
        return scale

    def clean(self):
        """Put the values of each table together again."""
        cleaned = super().clean()
        for column in TABLES:
            values, held = {}, getattr(self.instance, column.name)
            for key in held:
                value = cleaned.get(name_of(column, key))
                if value is None:
                    continue
                values[key] = spelled(value, held[key]) if column.kind == "decimal" else plain(value)
                if problem := column.problem(values[key]):
                    self.add_error(name_of(column, key), problem.capitalize())
            if len(values) == len(column.keys):
                setattr(self.instance, column.name, values)
        typed = {key: (cleaned.get(text_name(key)) or "").strip() for key in TEXTS}
        self.instance.texts = {key: text for key, text in typed.items() if text}
        return cleaned

    def shown(self):
        """Yield each heading but the date's with the labels and values of its fields, as a page shows them."""
        for heading, fields in list(self.groups())[1:]:
            yield heading, [(field.label, _as_read(field)) for field in fields]

    def groups(self):
        """Yield each heading with its bound fields; a table stands as its values."""
        tables = {column.name: column for column in TABLES}
        for heading, names in GROUPS:
            fields = []
            for name in names.split():
                column = tables.get(name)
                shown = [name_of(column, key) for key in column.keys] if column else [name]
                shown = [text_name(key) for key in TEXTS] if name == "texts" else shown
                fields += [self[field] for field in shown if field in self.fields]
            yield heading, fields


def name_of(column: TableField, key: str) -> str:
    return f"{column.name}__{key}"


def text_name(key: str) -> str:
    return f"texts__{key}"


def table_field(column: TableField, key: str) -> forms.Field:
    """Return the field of one value of a table."""
    label = f"{column.verbose_name.removesuffix(', min').capitalize()}: {spoken(key)}"
    if column.name in OF_A_WHOLE:
        field = ShareField(label=label, as_float=column.kind != "decimal")
    elif column.name.endswith("_min"):
        field = DurationField(label=label, bare="minute", to="minute")
    else:
        field = NumberField(label=label)
    field.width = MIDDLE
    return field


def _as_read(field) -> str:
    """Return the value of a bound field as a person reads it."""
    value = field.field.prepare_value(field.value())
    choices = dict(getattr(field.field, "choices", ()))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(choices.get(one, one)) for one in value)
    return str(choices.get(value, value))


def spelled(share: Decimal, held: str) -> str:
    """Return a share as the build sheet writes it, 0.06; one that did not change keeps its spelling, 0.50."""
    return held if share == Decimal(held) else f"{share.normalize():f}"
