"""The questions of the trade, in the order in which they are asked; none has to be answered."""

from django import forms

from builds.forms.ticket import RevisionForm
from builds.models import Interview, Ticket
from catalog.models import HullType
from catalog.vocabulary import Use
from shop import clock
from shop.forms import DurationField, MassField


def choices(kind, blank: str = "not asked") -> list[tuple[str, str]]:
    return [("", blank), *kind.choices]


class InterviewForm(RevisionForm):
    """Every answer may stay empty; each field's name is the question's."""

    hull_type = forms.ChoiceField(label="Which craft?", required=False)
    paddler = MassField(label="Paddler, dressed", required=False, low=0, high=400)
    kit = MassField(label="Kit carried", required=False, low=0, high=400)
    uses = forms.MultipleChoiceField(
        label="What is it for?", choices=Use.choices, required=False, widget=forms.CheckboxSelectMultiple
    )
    water = forms.ChoiceField(label="Which water?", choices=Ticket._meta.get_field("water").choices, required=False)
    hours_afloat = DurationField(label="Hours afloat", required=False, bare="hour", to="hour", low=0, high=24)
    hours_dark = DurationField(label="Of them in the dark", required=False, bare="hour", to="hour", low=0, high=24)
    trips = forms.IntegerField(label="Trips between charges", required=False, min_value=1, max_value=30)
    motor = forms.ChoiceField(label="Ever a motor?", choices=choices(Interview.Motor), required=False)
    transport = forms.ChoiceField(label="How does it travel?", choices=choices(Interview.Transport), required=False)
    lifters = forms.IntegerField(label="How many lift it?", required=False, min_value=1, max_value=6)
    storage = forms.ChoiceField(label="Where is it kept?", choices=choices(Interview.Storage), required=False)
    freezes = forms.NullBooleanField(
        label="Does it freeze there?",
        required=False,
        widget=forms.Select(choices=[("", "not asked"), ("true", "yes"), ("false", "no")]),
    )
    battery_now = forms.ChoiceField(label="A battery already?", choices=choices(Interview.Battery), required=False)
    side = forms.ChoiceField(label="Rod or hand on which side?", choices=choices(Interview.Side), required=False)
    holes = forms.ChoiceField(label="How do you feel about holes?", choices=choices(Interview.Holes), required=False)
    own_parts = forms.CharField(label="Own parts brought", max_length=300, required=False)
    float_by = forms.DateField(
        label="When must it float?",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": "That is no day; accepted: such as 2026-12-24 or 24/12/2026."},
    )
    approver = forms.CharField(label="Who may approve more?", max_length=120, required=False)
    approver_phone = forms.CharField(label="On which number?", max_length=40, required=False)

    def __init__(self, *args, ticket: Ticket, hull_types: list[HullType], **kwargs):
        self.ticket = ticket
        super().__init__(*args, initial=initial_of(ticket), **kwargs)
        self.fields["hull_type"].choices = [("", ticket.hull.name), *((kind.code, kind.name) for kind in hull_types)]

    def clean(self):
        data = super().clean()
        afloat, dark = data.get("hours_afloat"), data.get("hours_dark")
        if afloat is not None and dark is not None and dark > afloat:
            self.add_error("hours_dark", f"{dark:g} h in the dark are more than {afloat:g} h afloat.")
        if data.get("float_by") and data["float_by"] < clock.today():
            self.add_error("float_by", "That day has passed; accepted: today or later.")
        return data

    def answers(self) -> dict:
        """Return the answers that the interview keeps."""
        data = self.cleaned_data
        return {name: data[name] for name in Interview.ANSWERS}


def initial_of(ticket: Ticket) -> dict:
    asked = getattr(ticket, "asked_of", None)
    people = [row for row in ticket.aboard.all() if row.is_person]
    gear = [row for row in ticket.aboard.all() if not row.is_person]
    initial = {name: getattr(asked, name) for name in Interview.ANSWERS} if asked else {}
    for name in ("hours_afloat", "hours_dark"):
        if initial.get(name) is not None:
            initial[name] = f"{initial[name]:g} h"
    return initial | {
        "paddler": people[0].mass_kg if people else None,
        "kit": gear[0].mass_kg if gear else None,
        "water": ticket.water,
        "revision": ticket.revision,
    }
