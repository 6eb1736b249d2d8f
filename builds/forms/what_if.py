"""What the owner asks: other rates for the tickets of the last year. What is left empty stays as it was."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from builds.what_if import TAXED
from catalog import rules
from catalog.models import ShopRates
from shop.forms import DurationField, MoneyField

NOTHING = "Nothing is different yet. Fill in at least one field."


class WhatIfForm(forms.Form):
    labour_rate_per_h = MoneyField(label="Labour rate per hour", required=False)
    held_of_100 = forms.IntegerField(
        label="Quoted minutes hold in",
        min_value=1,
        max_value=99,
        required=False,
        error_messages={"invalid": "Accepted: a whole number from 1 to 99."},
    )
    minimum_charge_min = DurationField(
        label="Minimum charge",
        bare="minute",
        to="minute",
        low=0,
        high=480,
        required=False,
    )
    markup_scale = forms.CharField(
        label="Mark-up scale",
        required=False,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="One step a line, by cost: below 25: 2.0 and so on. At the end: above: 1.2.",
    )
    scale_all = forms.BooleanField(
        label="Price every part of known cost by this scale, also where the catalogue has a price", required=False
    )
    tax_parts = forms.CharField(label="Tax on parts", required=False)
    tax_labour = forms.CharField(label="Tax on labour", required=False)
    tax_consumables = forms.CharField(label="Tax on consumables", required=False)
    tax_fees = forms.CharField(label="Tax on fees", required=False)

    def __init__(self, *args, rates: ShopRates, **kwargs):
        super().__init__(*args, **kwargs)
        today = {
            "labour_rate_per_h": f"Today {rates.labour_rate_per_h}.",
            "held_of_100": f"of 100 jobs: 50 is half by, 80 is 8 in 10 by. Today {100 * rates.labour_percentile:.0f}.",
            "minimum_charge_min": f"Minutes, such as 45. Today {rates.minimum_charge_min:g}.",
            "tax_parts": f"Per cent, such as 7.25. Today {percent(rates, 'parts')}.",
            "tax_labour": f"Today {percent(rates, 'labour')}.",
            "tax_consumables": f"Today {percent(rates, 'consumables')}.",
            "tax_fees": f"Today {percent(rates, 'fees')}.",
        }
        for name, words in today.items():
            self.fields[name].help_text = words

    def clean_markup_scale(self) -> list[dict[str, str | None]]:
        scale: list[dict[str, str | None]] = []
        for line in self.cleaned_data["markup_scale"].splitlines():
            words = line.lower().replace(":", " ").removeprefix("below ").split()
            if not words:
                continue
            if len(words) != 2:
                raise forms.ValidationError(
                    f"“{line[:60]}” is no step. Accepted: below 25: 2.0, and above: 1.2 at the end."
                )
            scale.append({"below": None if words[0] == "above" else words[0], "factor": words[1]})
        if scale and (problem := rules.markup_problem(scale)):
            raise forms.ValidationError(problem)
        return scale

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for kind in TAXED:
            name = f"tax_{kind}"
            try:
                cleaned[name] = share_of(cleaned.get(name) or "")
            except ValueError as wrong:
                self.add_error(name, str(wrong))
        if cleaned.get("scale_all") and not cleaned.get("markup_scale") and "markup_scale" not in self.errors:
            self.add_error("markup_scale", "The scale is missing. Write it, or leave the box below it empty.")
        if not self.errors and not self.asked():
            raise forms.ValidationError(NOTHING)
        return cleaned

    def asked(self) -> dict[str, Any]:
        """Return what is different, as a reckoning keeps it."""
        cleaned = self.cleaned_data
        tax = {kind: cleaned[f"tax_{kind}"] for kind in TAXED if cleaned.get(f"tax_{kind}")}
        asked = {
            "labour_rate_per_h": None if (rate := cleaned.get("labour_rate_per_h")) is None else str(rate),
            "labour_percentile": cleaned["held_of_100"] / 100 if cleaned.get("held_of_100") else None,
            "minimum_charge_min": cleaned.get("minimum_charge_min"),
            "markup_scale": cleaned.get("markup_scale") or None,
            "scale_all": cleaned.get("scale_all") or None,
            "tax": tax or None,
        }
        return {name: value for name, value in asked.items() if value is not None}


def percent(rates: ShopRates, kind: str) -> str:
    """Return today's tax rate as it is typed."""
    return f"{(100 * Decimal(rates.tax[kind])).normalize():f}"


def share_of(text: str) -> str:
    """Return per cent as a share, "" for nothing. Raises ValueError with what is accepted."""
    typed = text.strip().rstrip("%").strip().replace(",", ".")
    if not typed:
        return ""
    try:
        percent = Decimal(typed)
    except InvalidOperation:
        percent = Decimal("NaN")
    if not percent.is_finite() or not 0 <= percent <= 100:
        raise ValueError(f"“{text[:20]}” is no rate. Accepted: per cent from 0 to 100, such as 7.25.")
    return str(percent / 100)
