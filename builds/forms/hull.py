"""The boat's own form: figures as measured, and its stations."""

from django import forms

from builds.models import HullRecord, HullStation
from shop.forms import LengthField, MassField


class HullForm(forms.ModelForm):
    """The hull record's figures; lengths and masses with any unit."""

    revision = forms.IntegerField(widget=forms.HiddenInput, required=False)
    length_m = LengthField(label="Length", low=1.5, high=12)
    beam_m = LengthField(label="Beam", low=0.3, high=3)
    depth_m = LengthField(label="Depth, keel to gunwale amidships", low=0.1, high=2)
    mass_kg = MassField(label="Mass", low=3, high=400)
    rated_load_kg = MassField(
        label="Rated load",
        required=False,
        low=10,
        high=2000,
        help_text="The maker's figure. Empty where it is not known.",
    )
    waterplane_exponent = forms.FloatField(label="Fullness of the ends", min_value=1, max_value=40)
    section_exponent = forms.FloatField(label="Fullness of the sections", min_value=1, max_value=40)
    float_test_draft_mid_m = LengthField(label="Float test: draft amidships", required=False, low=0.001, high=1)
    float_test_load_kg = MassField(label="Float test: load aboard", required=False, low=0, high=1000)

    class Meta:
        model = HullRecord
        fields = [
            "name",
            "craft",
            "material",
            "length_m",
            "beam_m",
            "depth_m",
            "mass_kg",
            "rated_load_kg",
            "rating_includes_hull",
            "waterplane_exponent",
            "section_exponent",
            "float_test_draft_mid_m",
            "float_test_load_kg",
            "old",
            "salt_corroded",
            "hull_number",
            "provides",
        ]
        labels = {
            "rating_includes_hull": "The rating includes the hull",
            "old": "Old hull, brittle",
            "salt_corroded": "Corroded by salt",
            "hull_number": "Hull identification number",
            "provides": "What the boat has",
        }

    def clean(self):
        data = super().clean()
        draft, load = data.get("float_test_draft_mid_m"), data.get("float_test_load_kg")
        if (draft is None) != (load is None) and not self.errors:
            self.add_error("float_test_load_kg", "A float test has both: the draft, and the load that was aboard.")
        if draft and data.get("depth_m") and draft > data["depth_m"]:
            self.add_error("float_test_draft_mid_m", "The draft is less than the boat's depth.")
        return data

    def figures(self) -> dict:
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


class StationForm(forms.ModelForm):
    """One station; an empty row is no row."""

    x_m = LengthField(label="Aft of the bow tip", low=-1, high=12)
    y_m = LengthField(label="To starboard", required=False, low=-3, high=3)
    z_m = LengthField(label="Above the keel", low=-1, high=3)
    well_half_width_m = LengthField(label="Half the floor's width", required=False, low=0.01, high=2)

    class Meta:
        model = HullStation
        fields = [
            "key",
            "name",
            "x_m",
            "y_m",
            "z_m",
            "surface",
            "hand_reach",
            "blind",
            "holds_battery",
            "well_half_width_m",
        ]

    def row(self) -> dict:
        data = {name: self.cleaned_data[name] for name in self.Meta.fields}
        return {**data, "y_m": data["y_m"] or 0.0}


StationFormSet = forms.formset_factory(StationForm, extra=1, can_delete=True, max_num=100)
