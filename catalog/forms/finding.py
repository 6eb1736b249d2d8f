"""What a person asks of the list of types."""

from django import forms

from catalog.vocabulary import Craft, spoken

FITS, DOES_NOT = "fits", "not"


class FindForm(forms.Form):
    q = forms.CharField(label="Words", required=False, max_length=120)
    category = forms.ChoiceField(label="Category", required=False)
    craft = forms.ChoiceField(label="Craft", required=False, choices=[("", "any craft"), *Craft.choices])
    suits = forms.ChoiceField(
        label="Suits it", required=False, choices=[(FITS, "suits"), (DOES_NOT, "does not suit")], initial=FITS
    )
    withdrawn = forms.BooleanField(label="Withdrawn ones too", required=False)

    def __init__(self, data, categories):
        super().__init__(data)
        self.fields["category"].choices = [("", "any category"), *((word, spoken(word)) for word in categories)]

    def found(self, types):
        """Return the types asked for; what could not be read is left aside."""
        asked = self.cleaned_data if self.is_valid() else {}
        types = types.matching(asked.get("q", ""))
        if not asked.get("withdrawn"):
            types = types.offered()
        if asked.get("category"):
            types = types.filter(category=asked["category"])
        if asked.get("craft"):
            suits = asked.get("suits") != DOES_NOT
            types = types.fitting(asked["craft"]) if suits else types.not_fitting(asked["craft"])
        return types
