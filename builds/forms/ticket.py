"""Forms of the ticket: text with a unit in, canonical values out."""

from django import forms

from builds.models import Line, Ticket
from builds.suiting import records
from catalog.models import ShopOperation
from shop.forms import DurationField, LengthField, MassField, MoneyField, TemperatureField


class RevisionForm(forms.Form):
    """A form that knows which revision of the ticket its page showed."""

    revision = forms.IntegerField(widget=forms.HiddenInput, required=False)


class StartForm(forms.Form):
    """A new ticket: which boat, and whatever is known of who and what; nothing of it has to be."""

    hull_type = forms.CharField(max_length=60, required=False)
    hull = forms.CharField(max_length=20, required=False)
    known_customer = forms.IntegerField(required=False)
    customer = forms.CharField(label="Customer", max_length=120, required=False)
    phone = forms.CharField(label="Phone", max_length=40, required=False)
    title = forms.CharField(label="Job", max_length=120, required=False)
    asked = forms.CharField(label="What was asked for", max_length=500, required=False)


class AddLineForm(forms.Form):
    """The next line: words or a code, where, how many."""

    part = forms.CharField(
        label="Next line",
        max_length=120,
        error_messages={"required": "Write a part: its name, its code or a few words."},
    )
    where = forms.CharField(label="Where", max_length=120, required=False)
    quantity = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=999,
        initial=1,
        error_messages={
            "required": "How many is missing; accepted: 1 to 999.",
            "invalid": "How many is a whole number; accepted: 1 to 999.",
            "min_value": "How many starts at 1.",
            "max_value": "999 is the most on one line.",
        },
    )


class LineForm(RevisionForm):
    """Everything about one line; another part's words put that part in its place."""

    part = forms.CharField(label="Part", max_length=120, required=False)
    quantity = forms.IntegerField(label="How many", min_value=1, max_value=999)
    station = forms.ChoiceField(label="Station", required=False)
    offset_x = LengthField(label="Aft", required=False, bare="mm", to="m", low=-12, high=12)
    offset_y = LengthField(label="To starboard", required=False, bare="mm", to="m", low=-3, high=3)
    offset_z = LengthField(label="Up", required=False, bare="mm", to="m", low=-2, high=2)
    mounting = forms.ChoiceField(label="Fixing", required=False)
    supplied_by = forms.ChoiceField(label="Supplied by", choices=Line.SuppliedBy.choices)
    unit_price = MoneyField(label="Price each", required=False)
    battery_key = forms.ChoiceField(label="Fed by", required=False)
    circuit = forms.CharField(label="Circuit", max_length=40, required=False)
    switch_key = forms.ChoiceField(label="Switched at", required=False)
    direct = forms.BooleanField(label="Fused at the battery", required=False)
    measured_run = LengthField(label="Measured run", required=False, bare="m", to="m", low=0, high=100)
    role = forms.ChoiceField(label="Battery is the", choices=Line.Role.choices, required=False)

    def __init__(self, *args, ticket: Ticket, line: Line, **kwargs):
        super().__init__(*args, initial=initial_of(line, ticket), **kwargs)
        lines = list(ticket.lines.all())
        kind = line.accessory
        stations = [(station.key, station.name) for station in ticket.hull.stations.all()]
        self.fields["station"].choices = [("", "no place yet"), *stations]
        words = dict(Line._meta.get_field("mounting").choices)
        self.fields["mounting"].choices = [
            ("", f"usual: {words.get(kind.mountings[0], kind.mountings[0])}"),
            *((mounting, words.get(mounting, mounting)) for mounting in kind.mountings),
        ]
        ballo = {other.key: place for place, other in enumerate(lines, start=1)}
        batteries = [other for other in lines if records()[other.accessory.code].get("battery")]
        panels = [other for other in lines if other.accessory.switch_ways and other.key != line.key]
        self.fields["battery_key"].choices = [("", "the house battery"), *named(batteries, ballo)]
        self.fields["switch_key"].choices = [("", "no switch"), *named(panels, ballo)]
        record = records()[kind.code]
        self.draws = bool(record.get("load") or kind.distribution_ways)
        self.is_battery = bool(record.get("battery"))
        for name in () if self.draws else ("battery_key", "circuit", "switch_key", "direct", "measured_run"):
            del self.fields[name]
        if not self.is_battery:
            del self.fields["role"]

    def figures(self) -> dict:
        """Return the line's figures as the action takes them."""
        data = dict(self.cleaned_data)
        data.pop("revision", None)
        data.pop("part", None)
        for axis in "xyz":
            data[f"offset_{axis}_m"] = data.pop(f"offset_{axis}") or 0.0
        if "measured_run" in data:
            data["measured_run_m"] = data.pop("measured_run")
        return data


def named(lines: list[Line], ballo: dict[str, int]) -> list[tuple[str, str]]:
    return [(line.key, f"{ballo[line.key]} {line.accessory.name}") for line in lines]


def initial_of(line: Line, ticket: Ticket) -> dict:
    same = "quantity station mounting supplied_by unit_price battery_key circuit switch_key direct role"
    return {
        **{name: getattr(line, name) for name in same.split()},
        **{f"offset_{axis}": millimetres(getattr(line, f"offset_{axis}_m")) for axis in "xyz"},
        "measured_run": None if line.measured_run_m is None else f"{line.measured_run_m:g} m",
        "revision": ticket.revision,
        "part": line.accessory.name,
    }


def millimetres(length_m: float) -> str:
    return f"{length_m * 1000:g} mm" if length_m else ""


class AboutForm(RevisionForm):
    """Who it is for and what was asked."""

    customer = forms.CharField(label="Customer", max_length=120, required=False, help_text="A name is enough.")
    phone = forms.CharField(label="Phone", max_length=40, required=False)
    email = forms.EmailField(label="E-mail", required=False)
    title = forms.CharField(
        label="Job", max_length=120, required=False, help_text="A few words; printed on the papers."
    )
    asked = forms.CharField(
        label="What was asked for", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )


class AboardForm(forms.Form):
    """One person or one piece of gear aboard; an empty row is no row."""

    is_person = forms.BooleanField(label="Person", required=False)
    name = forms.CharField(label="Who or what", max_length=60, required=False)
    mass = MassField(label="Mass", required=False, low=0, high=400)
    station = forms.ChoiceField(label="Where", required=False)

    def __init__(self, *args, stations, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["station"].choices = [("", "amidships"), *stations]

    def clean(self):
        data = super().clean()
        if data.get("name") and data.get("mass") is None and "mass" not in self.errors:
            self.add_error("mass", f"The mass of “{data['name']}” is missing; accepted: such as 85 kg or 190 lb.")
        return data

    def row(self) -> dict | None:
        data = self.cleaned_data
        if data.get("mass") is None:
            return None
        return {
            "is_person": data["is_person"],
            "name": data["name"] or ("paddler" if data["is_person"] else "kit"),
            "mass_kg": data["mass"],
            "station": data["station"],
        }


class WaterForm(RevisionForm):
    """Which water, and how cold."""

    water = forms.ChoiceField(label="Water", choices=Ticket._meta.get_field("water").choices)
    air_temp = TemperatureField(label="Air on a usual day", low=-40, high=50)


class SpellForm(forms.Form):
    """One part of the day, and how much of it each load runs, in percent."""

    name = forms.CharField(label="Part of the day", max_length=60, required=False)
    hours = DurationField(label="Hours", required=False, bare="hour", to="hour", low=0, high=240)

    def __init__(self, *args, loads: list[Line], **kwargs):
        super().__init__(*args, **kwargs)
        self.loads = loads
        for line in loads:
            self.fields[f"on_{line.key}"] = forms.FloatField(
                label=line.accessory.name, required=False, min_value=0, max_value=100
            )

    def clean(self):
        data = super().clean()
        if data.get("name") and data.get("hours") is None and "hours" not in self.errors:
            self.add_error("hours", f"The hours of “{data['name']}” are missing; accepted: such as 2.5 or 90 min.")
        return data

    def row(self) -> dict | None:
        data = self.cleaned_data
        if not data.get("hours"):
            return None
        on = {line.key: data[f"on_{line.key}"] / 100 for line in self.loads if data.get(f"on_{line.key}") is not None}
        return {"name": data["name"] or "spell", "hours": data["hours"], "on": on}

    @property
    def shares(self):
        return [self[f"on_{line.key}"] for line in self.loads]


class OperationsForm(RevisionForm):
    """How often each shop operation is done."""

    def __init__(self, *args, operations: list[ShopOperation], **kwargs):
        super().__init__(*args, **kwargs)
        self.operations = operations
        for operation in operations:
            self.fields[operation.code] = forms.IntegerField(
                label=operation.name, required=False, min_value=0, max_value=99, help_text=operation.note
            )

    def quantities(self) -> dict[str, int]:
        return {o.code: self.cleaned_data.get(o.code) or 0 for o in self.operations}


class ChargesForm(RevisionForm):
    """The discount and up to three fees."""

    discount_percent = forms.DecimalField(
        label="Discount on parts and labour, %", required=False, min_value=0, max_value=100, decimal_places=2
    )
    fee_name_1 = forms.CharField(label="Fee", max_length=60, required=False)
    fee_amount_1 = MoneyField(label="Amount", required=False)
    fee_name_2 = forms.CharField(label="Fee", max_length=60, required=False)
    fee_amount_2 = MoneyField(label="Amount", required=False)
    fee_name_3 = forms.CharField(label="Fee", max_length=60, required=False)
    fee_amount_3 = MoneyField(label="Amount", required=False)

    def clean(self):
        data = super().clean()
        for i in (1, 2, 3):
            named, amount = data.get(f"fee_name_{i}"), data.get(f"fee_amount_{i}")
            if named and amount is None and f"fee_amount_{i}" not in self.errors:
                self.add_error(f"fee_amount_{i}", f"The amount of “{named}” is missing.")
            if amount is not None and not named:
                self.add_error(f"fee_name_{i}", "A fee needs a name; it is printed on the quote.")
        return data

    def fees(self) -> list[dict]:
        data = self.cleaned_data
        return [
            {"name": data[f"fee_name_{i}"], "amount": data[f"fee_amount_{i}"]}
            for i in (1, 2, 3)
            if data.get(f"fee_name_{i}")
        ]
