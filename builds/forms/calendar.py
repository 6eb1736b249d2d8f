"""Forms of the bench's calendar: where a ticket goes, hours of a week, a day off."""

import datetime

from django import forms

from builds.planner.workload import DAY_MIN, Held, Tech

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
EARLIER, LATER, PLACE, FREE = "earlier", "later", "place", "free"
HOW = [
    (EARLIER, "Earlier: before the ticket that is ahead of it"),
    (LATER, "Later: after the ticket that comes next"),
    (PLACE, "To a day or a tech"),
    (FREE, "Let it go: the calendar finds its place"),
]


class DayInput(forms.DateInput):
    input_type = "date"

    def __init__(self):
        super().__init__(format="%Y-%m-%d")


class MoveForm(forms.Form):
    """How a ticket is moved; a day or a tech is needed for one of the ways alone."""

    how = forms.ChoiceField(
        label="Where to", choices=HOW, widget=forms.RadioSelect, error_messages={"required": "Choose where to."}
    )
    day = forms.DateField(
        label="Not before", required=False, widget=DayInput, error_messages={"invalid": "A day, such as 2026-12-01."}
    )
    tech = forms.ChoiceField(label="Tech", required=False)

    def __init__(self, *args, techs: tuple[Tech, ...], **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["tech"].choices = [("", "whoever is free first"), *((tech.key, tech.name) for tech in techs)]

    def clean(self):
        data = super().clean()
        if data.get("how") == PLACE and not data.get("day") and not data.get("tech") and not self.errors:
            self.add_error("day", "Name a day, a tech or both.")
        return data


class PlaceForm(forms.Form):
    """A place as it was shown and is confirmed."""

    tech = forms.CharField(required=False)
    day = forms.DateField(required=False)
    before = forms.CharField(required=False, max_length=20)
    after = forms.CharField(required=False, max_length=20)

    def held(self) -> Held:
        data = self.cleaned_data
        return Held(data["tech"], data["day"], data["before"], data["after"])


class HoursForm(forms.Form):
    """One tech's hours at the bench by day, and when they begin."""

    opens = forms.TimeField(
        label="Begins at",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": "A time of day, such as 9:00."},
    )

    def __init__(self, *args, tech: Tech, **kwargs):
        minutes = tech.opens_min
        first = {"opens": datetime.time(minutes // 60, minutes % 60)}
        first |= {f"day_{n}": f"{tech.week_min[n] / 60:.4g}" for n in range(7)}
        super().__init__(*args, initial=first, prefix=f"tech_{tech.key}", **kwargs)
        for n, name in enumerate(DAYS):
            self.fields[f"day_{n}"] = forms.FloatField(
                label=f"{name}, h",
                min_value=0,
                max_value=16,
                error_messages={"invalid": "Hours, such as 6 or 7.5."},
                widget=forms.NumberInput(attrs={"step": "0.25", "inputmode": "decimal", "class": "num"}),
            )

    def clean(self):
        data = super().clean()
        if not self.errors and max(self.week_min()) > DAY_MIN - self.opens_min():
            self.add_error("opens", "A day's hours end by midnight. Begin earlier, or write fewer hours.")
        return data

    def week_min(self) -> list[int]:
        return [round(self.cleaned_data[f"day_{n}"] * 60) for n in range(7)]

    def opens_min(self) -> int:
        opens = self.cleaned_data["opens"]
        return opens.hour * 60 + opens.minute


class DayOffForm(forms.Form):
    day = forms.DateField(label="Day off", widget=DayInput, error_messages={"invalid": "A day, such as 2026-12-01."})
