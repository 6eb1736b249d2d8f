"""How much of each consumable was used, in its own unit; what is left empty was not written down."""

from collections.abc import Sequence
from decimal import Decimal

from django import forms

from builds.used_up import UsedRow
from catalog.models import Consumable

MOST = Decimal(1_000_000)


class AmountField(forms.DecimalField):
    """An amount in one unit, which may be typed behind it."""

    def __init__(self, *, unit: str = "", **kwargs):
        self.unit = unit
        accepted = f"12 or 0.75{f' {unit}' if unit else ''}"
        errors = {
            "invalid": f"That is no amount; accepted: such as {accepted}.",
            "min_value": "An amount starts at 0.",
            "max_value": f"That is too much; at most {MOST:,}.",
            "max_decimal_places": "An amount has at most 3 digits after the point.",
            "max_digits": f"That is too much; at most {MOST:,}.",
        }
        box = forms.TextInput(attrs={"inputmode": "decimal", "class": "num", "autocomplete": "off"})
        about = {"min_value": 0, "max_value": MOST, "decimal_places": 3, "required": False, "widget": box}
        super().__init__(**{**about, "error_messages": errors, **kwargs})

    def to_python(self, value):
        text = str(value or "").strip()
        return super().to_python(text.removesuffix(self.unit).strip() if self.unit else text)


class UsedForm(forms.Form):
    revision = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, rows: Sequence[UsedRow], **kwargs):
        super().__init__(*args, **kwargs)
        self.of = rows
        for row in rows:
            held = plain(row.noted.quantity) if row.noted else None
            self.fields[f"used_{row.item.code}"] = AmountField(unit=row.unit, label=row.item.name, initial=held)
        known = [row.item.code for row in rows]
        self.others = {item.code: item for item in Consumable.objects.exclude(code__in=known).order_by("name", "code")}
        choices = [("", "Nothing else"), *((code, named(item)) for code, item in self.others.items())]
        self.fields["other"] = forms.ChoiceField(label="Something else", choices=choices, required=False)
        self.fields["other_amount"] = AmountField(label="How much of it")

    def measured(self):
        """What the estimator works out: sealant, ties, wire and the like."""
        return [(row, self[f"used_{row.item.code}"]) for row in self.of if row.item.computed]

    def listed(self):
        """What the types list piece by piece."""
        return [(row, self[f"used_{row.item.code}"]) for row in self.of if not row.item.computed]

    @property
    def opens(self) -> bool:
        """Whether something stands among the pieces that has to be seen."""
        return any(row.noted or field.errors for row, field in self.listed()) or not self.measured()

    def clean(self):
        data = super().clean()
        other, amount = data.get("other"), data.get("other_amount")
        if other and amount is None and "other_amount" not in self.errors:
            self.add_error("other_amount", "How much of it is missing.")
        if amount is not None and not other and "other" not in self.errors:
            self.add_error("other", "What it is is missing. Choose it.")
        return data

    def used(self) -> dict[str, Decimal]:
        """Return what was written, by the consumable's code."""
        data = self.cleaned_data
        found = {row.item.code: data[f"used_{row.item.code}"] for row in self.of}
        if data.get("other"):
            found[data["other"]] = data["other_amount"]
        return {code: quantity for code, quantity in found.items() if quantity is not None}


def named(item: Consumable) -> str:
    return item.name if item.unit == "each" else f"{item.name}, {item.unit}"


def plain(quantity: Decimal) -> str:
    """Return a quantity without noughts at its end."""
    text = f"{quantity:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
