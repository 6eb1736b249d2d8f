"""Forms of the shelf: counts, entries by hand, orders, what came, the customer's own parts, what is missing."""

from collections.abc import Sequence
from decimal import Decimal

from django import forms

from builds.actions.shelf import WRITTEN_BY_HAND
from builds.models import Delivery, Line, Movement, OrderLine, OwnPart, PartFound
from builds.purchase import ToOrder
from catalog.fields import LARGEST_UNIT_PRICE, UNIT_PRICE_DIGITS
from catalog.records import price_text

MOST = Decimal(1_000_000)
DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def quantity_field(label: str, **options) -> forms.DecimalField:
    """Return a field for how much there is, in the item's unit."""
    return forms.DecimalField(
        label=label,
        min_value=0,
        max_value=MOST,
        decimal_places=3,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "num"}),
        error_messages={
            "required": f"{label} is missing; accepted: such as 12 or 0.75.",
            "invalid": f"{label} is a number; accepted: such as 12 or 0.75.",
            "min_value": f"{label} starts at 0.",
            "max_value": f"{label} is too much; at most {MOST:,}.",
            "max_decimal_places": f"{label} has at most 3 digits after the point.",
        },
        **options,
    )


def whole_field(label: str, most: int, **options) -> forms.IntegerField:
    return forms.IntegerField(
        label=label,
        min_value=options.pop("least", 0),
        max_value=most,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "num"}),
        error_messages={
            "required": f"{label} is missing.",
            "invalid": f"{label} is a whole number.",
            "min_value": f"{label} is too few.",
            "max_value": f"{label}: at most {most:,}.",
        },
        **options,
    )


def cost_field(**options) -> forms.DecimalField:
    """Return a field for what one piece or unit costs; empty stands for the catalogue's cost."""
    return forms.DecimalField(
        label="Cost each",
        required=False,
        min_value=0,
        max_value=LARGEST_UNIT_PRICE,
        decimal_places=UNIT_PRICE_DIGITS,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "num"}),
        error_messages={
            "invalid": "Cost each is an amount; accepted: such as 12.50.",
            "min_value": "Cost each starts at 0.",
            "max_value": "Cost each is too much.",
            "max_decimal_places": f"Cost each has at most {UNIT_PRICE_DIGITS} digits after the point.",
        },
        **options,
    )


def day_field(label: str) -> forms.DateField:
    errors = {
        "required": f"{label} is missing; accepted: such as 2026-12-04.",
        "invalid": f"{label}: that is no day; accepted: such as 2026-12-04.",
    }
    return forms.DateField(label=label, widget=DAY, error_messages=errors)


class CountForm(forms.Form):
    """How much of each thing there is; what is left empty was not counted."""

    why = forms.CharField(label="Why the counts differ", max_length=300, required=False)

    def __init__(self, *args, things: Sequence[dict], **kwargs):
        super().__init__(*args, **kwargs)
        self.things = things
        for thing in things:
            self.fields[f"count_{thing['key']}"] = quantity_field("The count", required=False)
            self.fields[f"seen_{thing['key']}"] = forms.DecimalField(required=False, widget=forms.HiddenInput)

    def rows(self):
        return [(thing, self[f"count_{thing['key']}"], self[f"seen_{thing['key']}"]) for thing in self.things]

    def counted(self) -> dict[str, tuple[Decimal, Decimal | None]]:
        """Return what was counted, by the thing's key, with what the page said."""
        data = self.cleaned_data
        return {
            thing["key"]: (data[f"count_{thing['key']}"], data[f"seen_{thing['key']}"])
            for thing in self.things
            if data.get(f"count_{thing['key']}") is not None
        }


class EntryForm(forms.Form):
    """What came back, was sent back or is damaged."""

    kind = forms.ChoiceField(
        label="What happened", choices=[(kind.value, kind.label) for kind in Movement.Kind if kind in WRITTEN_BY_HAND]
    )
    quantity = quantity_field("How much")
    why = forms.CharField(
        label="Why", max_length=300, error_messages={"required": "Why is missing. Write it in a few words."}
    )


class OrderForm(forms.Form):
    """An order at one supplier: how many packs of what is short, when it is expected; at the office what it costs."""

    supplier = forms.CharField(max_length=80, required=False, widget=forms.HiddenInput)
    reference = forms.CharField(
        label="Supplier's number", max_length=60, required=False, help_text="Of the order, where there is one."
    )
    ordered_on = day_field("Ordered on")
    expected_on = day_field("Expected on")
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args, rows: Sequence[ToOrder], costs: bool = False, **kwargs):
        super().__init__(*args, **kwargs)
        self.of, self.costs = rows, costs
        for row in rows:
            if costs:
                self.fields[f"cost_{row.item.key}"] = cost_field(initial=price_text(row.item.unit_cost))
            self.fields[f"packs_{row.item.key}"] = whole_field(
                "Packs", 9999, required=False, initial=row.standing.packs
            )
            self.fields[f"short_{row.item.key}"] = forms.DecimalField(
                required=False, initial=row.standing.short, widget=forms.HiddenInput
            )

    def rows(self):
        return [
            (
                row,
                self[f"packs_{row.item.key}"],
                self[f"short_{row.item.key}"],
                self[f"cost_{row.item.key}"] if self.costs else None,
            )
            for row in self.of
        ]

    def about(self):
        """Yield the fields of the order as a whole."""
        return [self[name] for name in ("reference", "ordered_on", "expected_on", "note")]


class ReceiveForm(forms.Form):
    """What came of an order; what is left empty did not come."""

    def __init__(self, *args, lines: Sequence[OrderLine], **kwargs):
        super().__init__(*args, **kwargs)
        self.lines = lines
        for line in lines:
            self.fields[f"came_{line.pk}"] = quantity_field("How much came", required=False)
            self.fields[f"opened_{line.pk}"] = forms.BooleanField(label="Boxes opened", required=False)
            self.fields[f"condition_{line.pk}"] = forms.ChoiceField(
                label="Condition", choices=Delivery.Condition.choices, required=False
            )
            self.fields[f"note_{line.pk}"] = forms.CharField(label="Note", max_length=300, required=False)

    def rows(self):
        names = ("came", "opened", "condition", "note")
        return [(line, [self[f"{name}_{line.pk}"] for name in names]) for line in self.lines]


class ExpectForm(forms.Form):
    """Another day on which an order is expected."""

    expected_on = day_field("Expected on")
    why = forms.CharField(label="Why it moved", max_length=300, required=False)


class OwnPartForm(forms.Form):
    """How a part of the customer's own came, in which condition, and whether it ran."""

    line = forms.CharField(max_length=20, widget=forms.HiddenInput)
    received_on = forms.DateField(
        label="Received on",
        required=False,
        widget=DAY,
        error_messages={"invalid": "That is no day; accepted: such as 2026-12-04."},
    )
    condition = forms.ChoiceField(label="Condition", choices=OwnPart.Condition.choices)
    powered = forms.ChoiceField(label="Powered on the bench", choices=OwnPart.Powered.choices)
    reading = forms.CharField(label="Reading", max_length=60, required=False, help_text="Such as 0.62 A at 12.8 V.")
    note = forms.CharField(label="Note", max_length=300, required=False)


class MissingForm(forms.Form):
    """Which part is not there, how many, in a few words."""

    line = forms.ChoiceField(label="Which part", error_messages={"required": "Which part is missing."})
    quantity = whole_field("How many", 999, least=1, initial=1)
    words = forms.CharField(
        label="What is not there, and where you looked",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "A few words are missing: what is not there, and where you looked."},
    )
    step = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, lines: Sequence[Line], **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["line"].choices = [(line.key, f"{n} {line.accessory.name}") for n, line in lines]


class FoundForm(forms.Form):
    """How a wait ended."""

    how = forms.ChoiceField(choices=[(how, how.label) for how in (PartFound.How.FOUND, PartFound.How.OTHER)])
    words = forms.CharField(max_length=300, required=False)
