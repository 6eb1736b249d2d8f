"""For how long the owner keeps what."""

from django import forms

from builds.models import RetentionRules

LONGEST_YEARS = 50


class RetentionForm(forms.ModelForm):
    class Meta:
        model = RetentionRules
        fields = ["accounts_years", "claims_years", "offers_years", "customers_years"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.min_value, field.max_value = (0 if name == "offers_years" else 1), LONGEST_YEARS
            field.validators += [
                forms.fields.validators.MinValueValidator(field.min_value),
                forms.fields.validators.MaxValueValidator(field.max_value),
            ]
