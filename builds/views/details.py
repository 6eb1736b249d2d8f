"""The counter's forms behind a ticket: who and what, the boat, aboard and day, operations, discount and fees."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from builds.actions import hulls, tickets
from builds.actions.ground import Refused
from builds.forms.hull import HullForm, StationForm, StationFormSet
from builds.forms.ticket import AboardForm, AboutForm, ChargesForm, OperationsForm, SpellForm, WaterForm
from builds.models import Ticket
from builds.views.counter import ticket_or_404
from catalog.models import HullType, ShopOperation
from shop.roles import COUNTER, allow

form_page = require_http_methods(["GET", "HEAD", "POST"])
SPARE_ROWS = 2


def saved(request: HttpRequest, ticket: Ticket, template: str, context: dict, valid: bool, act) -> HttpResponse:
    """Do the act of a valid form and go back to the ticket; else show the form again with what was typed."""
    if request.method == "POST" and valid:
        try:
            act()
            return redirect(ticket)
        except Refused as error:
            context["trouble"] = str(error)
    status = 422 if request.method == "POST" else 200
    return render(request, template, {"door": "counter", "ticket": ticket, **context}, status=status)


@form_page
@allow(COUNTER)
def about(request: HttpRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    customer = ticket.customer
    initial = {"title": ticket.title, "asked": ticket.asked, "revision": ticket.revision}
    if customer:
        initial |= {"customer": customer.name, "phone": customer.phone, "email": customer.email}
    form = AboutForm(request.POST or None, initial=initial)

    def act():
        data = form.cleaned_data
        changed = tickets.describe(
            request.user, ticket, title=data["title"], asked=data["asked"], revision=data["revision"]
        )
        if (data["customer"], data["phone"], data["email"]) != tuple(
            initial.get(name, "") for name in ("customer", "phone", "email")
        ):
            tickets.set_customer(request.user, changed, name=data["customer"], phone=data["phone"], email=data["email"])

    return saved(request, ticket, "counter/about.html", {"form": form}, form.is_valid(), act)


@form_page
@allow(COUNTER)
def boat(request: HttpRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    form = HullForm(request.POST or None, instance=ticket.hull, initial={"revision": ticket.revision})
    rows = [
        {name: getattr(station, name) for name in StationForm.Meta.fields} for station in ticket.hull.stations.all()
    ]
    stations = StationFormSet(request.POST or None, initial=rows, prefix="s")
    valid = request.method == "POST" and form.is_valid() & stations.is_valid()

    def act():
        kept = [one.row() for one in stations.forms if one.cleaned_data and not one.cleaned_data.get("DELETE")]
        hulls.correct_hull(
            request.user, ticket, figures=form.figures(), stations=kept, revision=form.cleaned_data["revision"]
        )

    context = {"form": form, "stations": stations, "hull_types": HullType.objects.offered()}
    return saved(request, ticket, "counter/boat.html", context, valid, act)


@require_http_methods(["POST"])
@allow(COUNTER)
def change_boat(request: HttpRequest, number: str) -> HttpResponse:
    """Put the ticket on another hull type."""
    ticket = ticket_or_404(number)
    hull_type = HullType.objects.offered().filter(code=request.POST.get("hull_type", "")).first()
    if hull_type is not None:
        hulls.take_hull_type(request.user, ticket, hull_type)
    return redirect(ticket)


@form_page
@allow(COUNTER)
def afloat(request: HttpRequest, number: str) -> HttpResponse:
    """Who and what is aboard, on which water, and how the day runs."""
    ticket = ticket_or_404(number)
    stations = [(station.key, station.name) for station in ticket.hull.stations.all()]
    loads = [line for line in ticket.lines.all() if hasattr(line.accessory, "load")]
    aboard_rows = [
        {"is_person": row.is_person, "name": row.name, "mass": row.mass_kg, "station": row.station}
        for row in ticket.aboard.all()
    ]
    spell_rows = [
        {
            "name": spell.name,
            "hours": f"{spell.hours:g} h",
            **{f"on_{key}": round(share * 100, 2) for key, share in spell.on.items()},
        }
        for spell in ticket.spells.all()
    ]
    data = request.POST or None
    water = WaterForm(data, initial={"water": ticket.water, "air_temp": ticket.air_temp_c, "revision": ticket.revision})
    aboard = forms.formset_factory(AboardForm, extra=SPARE_ROWS, max_num=30)(
        data, initial=aboard_rows, prefix="a", form_kwargs={"stations": stations}
    )
    day = forms.formset_factory(SpellForm, extra=SPARE_ROWS, max_num=30)(
        data, initial=spell_rows, prefix="d", form_kwargs={"loads": loads}
    )
    valid = request.method == "POST" and water.is_valid() & aboard.is_valid() & day.is_valid()

    def act():
        said = water.cleaned_data
        tickets.set_afloat(
            request.user,
            ticket,
            aboard=[row for one in aboard.forms if (row := one.row())],
            water=said["water"],
            air_temp_c=said["air_temp"],
            revision=said["revision"],
        )
        tickets.set_day(request.user, ticket, spells=[row for one in day.forms if (row := one.row())])

    context = {"form": water, "aboard": aboard, "day": day, "loads": loads}
    return saved(request, ticket, "counter/afloat.html", context, valid, act)


@form_page
@allow(COUNTER)
def operations(request: HttpRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    known = list(ShopOperation.objects.all())
    initial = {row.operation.code: row.quantity for row in ticket.operations.all()} | {"revision": ticket.revision}
    form = OperationsForm(request.POST or None, initial=initial, operations=known)

    def act():
        tickets.set_operations(
            request.user, ticket, quantities=form.quantities(), revision=form.cleaned_data["revision"]
        )

    return saved(request, ticket, "counter/operations.html", {"form": form}, form.is_valid(), act)


@form_page
@allow(COUNTER)
def charges(request: HttpRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    initial = {"discount_percent": ticket.discount_basis_points / 100 or None, "revision": ticket.revision}
    for i, fee in enumerate(ticket.fees.all()[:3], start=1):
        initial |= {f"fee_name_{i}": fee.name, f"fee_amount_{i}": fee.amount}
    form = ChargesForm(request.POST or None, initial=initial)

    def act():
        tickets.set_charges(
            request.user,
            ticket,
            discount_basis_points=int((form.cleaned_data["discount_percent"] or 0) * 100),
            fees=form.fees(),
            revision=form.cleaned_data["revision"],
        )

    return saved(request, ticket, "counter/charges.html", {"form": form}, form.is_valid(), act)
