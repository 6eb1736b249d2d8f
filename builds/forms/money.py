"""Money that is taken or paid back."""

from django import forms

from builds.forms.ticket import RevisionForm
from builds.models import MoneyEntry
from shop.forms import MoneyField


class MoneyForm(RevisionForm):
    """What kind, how much, in which way."""

    kind = forms.ChoiceField(label="What it is", choices=MoneyEntry.Kind.choices)
    amount = MoneyField(label="Amount", error_messages={"required": "The amount is missing; accepted: such as 120.00."})
    way = forms.ChoiceField(label="Taken in", choices=MoneyEntry.Way.choices)
    note = forms.CharField(label="Note", max_length=300, required=False, help_text="Needed for a refund.")

    def __init__(self, *args, kinds: list[str], **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [(key, word) for key, word in MoneyEntry.Kind.choices if key in kinds]
