"""Forms of what a customer agrees to: the yes to a quote, and the consent to a change."""

import json
from collections.abc import Sequence

from django import forms

from builds.documents.places import Place
from builds.forms.ticket import RevisionForm
from builds.models import ChangeOrder

LARGEST_SCAN = 10_000_000
SCANS = {b"%PDF": "pdf", b"\x89PNG": "png", b"\xff\xd8\xff": "jpg"}
MOST_STROKES, MOST_POINTS = 200, 4000


class ConsentForm(RevisionForm):
    """Who agreed to a change order, how, when, and why the work changes."""

    why = forms.CharField(
        label="Why the work changes",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Why the work changes is missing. Write it in a few words."},
    )
    way = forms.ChoiceField(label="Agreed", choices=ChangeOrder.Way.choices)
    name = forms.CharField(
        label="Who agreed", max_length=120, error_messages={"required": "Who agreed is missing. Write the name."}
    )
    number_called = forms.CharField(label="Number called", max_length=40, required=False)
    at = forms.DateTimeField(
        label="When",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%d/%m/%Y %H:%M"],
        error_messages={"invalid": "That is no moment; accepted: such as 2026-12-01 14:30."},
    )
    override_reason = forms.CharField(label="Reason to go on in spite of the stop", max_length=500, required=False)

    def __init__(self, *args, places: Sequence[Place] = (), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["places"] = forms.MultipleChoiceField(
            label="New openings, agreed to place by place",
            choices=[(place.letters, place_words(place)) for place in places],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )


def place_words(place: Place) -> str:
    return ", ".join(filter(None, (f"Agreed to: {place.letters}", place.name, place.where)))


class YesForm(RevisionForm):
    """The customer's yes: the name, the initials, each place, agreed to be signed here, drawn or typed."""

    name = forms.CharField(label="Your name", max_length=120, error_messages={"required": "The name is missing."})
    initials = forms.CharField(label="Your initials", max_length=10, required=False)
    agreed_electronically = forms.BooleanField(label="I agree to sign here, on this screen", required=False)
    drawing = forms.CharField(required=False, max_length=200_000, widget=forms.HiddenInput)

    def __init__(self, *args, places: list[str], **kwargs):
        super().__init__(*args, **kwargs)
        self.places = places
        self.fields["initialled"] = forms.MultipleChoiceField(
            label="Places",
            choices=[(place, place) for place in places],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )

    def clean_drawing(self) -> list[list[list[int]]]:
        """Return the strokes of a drawn signature, each point within 1000 by 300; nothing where none was drawn."""
        text = self.cleaned_data["drawing"]
        if not text:
            return []
        try:
            strokes = json.loads(text)
            drawn = [[[int(x), int(y)] for x, y in stroke] for stroke in strokes]
        except (ValueError, TypeError):
            raise forms.ValidationError("The drawing could not be read. Draw again, or type the name only.") from None
        points = [point for stroke in drawn for point in stroke]
        if len(drawn) > MOST_STROKES or len(points) > MOST_POINTS:
            raise forms.ValidationError("The drawing is too long. Draw again, or type the name only.")
        if not all(0 <= x <= 1000 and 0 <= y <= 300 for x, y in points):
            raise forms.ValidationError("The drawing leaves its field. Draw again, or type the name only.")
        return [stroke for stroke in drawn if stroke]

    def clean(self):
        data = super().clean()
        left = [place for place in self.places if place not in data.get("initialled", [])]
        if self.places and not data.get("initials", "").strip() and "initials" not in self.errors:
            self.add_error("initials", "Your initials are missing; they go to each place of a hole.")
        if left and "initialled" not in self.errors:
            self.add_error("initialled", f"Not initialled yet: {', '.join(left)}.")
        if not data.get("agreed_electronically"):
            self.add_error("agreed_electronically", "Tick this to sign here, or choose the paper.")
        return data


class PaperYesForm(RevisionForm):
    """The yes that came on paper: scanned back, or ticked by staff with the reason why there is no scan."""

    name = forms.CharField(
        label="Customer's name", max_length=120, error_messages={"required": "Who accepts is missing."}
    )
    scan = forms.FileField(
        label="Scan of the signed paper", required=False, help_text="PDF, PNG or JPEG, at most 10 MB."
    )
    note = forms.CharField(label="Why there is no scan", max_length=500, required=False)

    def __init__(self, *args, places: list[str], **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["initialled"] = forms.MultipleChoiceField(
            label="Initialled on the paper, place by place",
            choices=[(place, place) for place in places],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )

    def clean_scan(self):
        scan = self.cleaned_data["scan"]
        if scan is None:
            return None
        if scan.size > LARGEST_SCAN:
            raise forms.ValidationError("The scan is larger than 10 MB. Scan it in black and white.")
        data = scan.read()
        kind = next((kind for mark, kind in SCANS.items() if data.startswith(mark)), None)
        if kind is None:
            raise forms.ValidationError("The scan is no PDF, PNG or JPEG.")
        return data, kind

    def clean(self):
        data = super().clean()
        if not data.get("scan") and not data.get("note", "").strip() and "scan" not in self.errors:
            self.add_error("scan", "Scan the signed paper, or write why there is no scan.")
        return data
