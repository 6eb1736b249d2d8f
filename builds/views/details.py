"""The counter's forms behind a ticket: who and what, the boat, aboard and day, operations, discount and fees."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from builds.actions import hulls, tickets
from builds.actions.ground import Outdated, Refused
from builds.forms.both import show_both
from builds.forms.hull import HullForm, StationForm, StationFormSet
from builds.forms.ticket import AboardForm, AboutForm, ChargesForm, OperationsForm, SpellForm, WaterForm
from builds.models import Ticket
from builds.suiting import records
from builds.views.ticket import acted, ticket_or_404
from catalog.models import HullType, ShopOperation
from shop.roles import COUNTER, allow

form_page = require_http_methods(["GET", "HEAD", "POST"])
SPARE_ROWS = 2


def saved(request: HttpRequest, ticket: Ticket, template: str, forms_of, act, more: dict | None = None) -> HttpResponse:
    """Show the forms of a ticket; bind, check and save what was posted, and go back to the ticket.

    `forms_of` gives the forms, by their name in the template, for a ticket and the posted data or None. What cannot be
    saved is shown again as it was typed; where someone else saved meanwhile, with their version beside it.
    """
    bound = forms_of(ticket, request.POST or None)
    context, status = {"door": "counter", "ticket": ticket, **(more or {})}, 200
    if request.method == "POST":
        status = 422
        valid = [one.is_valid() for one in bound.values()]
        if all(valid):
            try:
                act(**bound)
                return redirect(ticket)
            except Outdated as error:
                beside(bound, forms_of(error.ticket_now, None), error.ticket.revision)
                context["trouble"], context["outdated"], status = str(error), True, 409
            except Refused as error:
                context["trouble"], status = str(error), 409
    return render(request, template, {**context, **bound}, status=status)


def beside(mine: dict, theirs: dict, revision: int) -> None:
    """Put the saved version beside the typed one, in every form and every row of a formset."""
    for name, form in mine.items():
        pairs = zip(form, theirs[name], strict=False) if isinstance(form, forms.BaseFormSet) else [(form, theirs[name])]
        for one, other in pairs:
            show_both(one, other, revision)


@form_page
@allow(COUNTER)
def about(request: HttpRequest, number: str) -> HttpResponse:
    """Who the customer is, and what the job is called."""
    ticket = ticket_or_404(number)

    def forms_of(ticket: Ticket, data) -> dict:
        customer = ticket.customer
        initial = {"title": ticket.title, "asked": ticket.asked, "revision": ticket.revision}
        if customer:
            initial |= {"customer": customer.name, "phone": customer.phone, "email": customer.email}
        return {"form": AboutForm(data, initial=initial)}

    def act(form: AboutForm) -> None:
        data = dict(form.cleaned_data)
        tickets.describe(request.user, ticket, revision=data.pop("revision"), name=data.pop("customer"), **data)

    return saved(request, ticket, "counter/about.html", forms_of, act)


@form_page
@allow(COUNTER)
def boat(request: HttpRequest, number: str) -> HttpResponse:
    """The boat's figures and stations, as they were measured."""
    ticket = ticket_or_404(number)

    def forms_of(ticket: Ticket, data) -> dict:
        rows = [{name: getattr(one, name) for name in StationForm.Meta.fields} for one in ticket.hull.stations.all()]
        form = HullForm(data, instance=ticket.hull, initial={"revision": ticket.revision})
        return {"form": form, "stations": StationFormSet(data, initial=rows, prefix="s")}

    def act(form: HullForm, stations) -> None:
        kept = [one.row() for one in stations.forms if one.cleaned_data and not one.cleaned_data.get("DELETE")]
        hulls.correct_hull(
            request.user, ticket, figures=form.figures(), stations=kept, revision=form.cleaned_data["revision"]
        )

    return saved(request, ticket, "counter/boat.html", forms_of, act, {"hull_types": HullType.objects.offered()})


@require_http_methods(["POST"])
@allow(COUNTER)
def change_boat(request: HttpRequest, number: str) -> HttpResponse:
    """Put the ticket on another hull type."""
    ticket = ticket_or_404(number)
    hull_type = HullType.objects.offered().filter(code=request.POST.get("hull_type", "")).first()
    if hull_type is None:
        return redirect(ticket)
    return acted(request, number, lambda ticket: hulls.take_hull_type(request.user, ticket, hull_type))


@form_page
@allow(COUNTER)
def afloat(request: HttpRequest, number: str) -> HttpResponse:
    """Who and what is aboard, on which water, and how the day runs."""
    ticket = ticket_or_404(number)
    loads = [line for line in ticket.lines.all() if records()[line.accessory.code].get("load")]
    stations = [(station.key, station.name) for station in ticket.hull.stations.all()]
    aboard_set = forms.formset_factory(AboardForm, extra=SPARE_ROWS, max_num=30)
    day_set = forms.formset_factory(SpellForm, extra=SPARE_ROWS, max_num=30)

    def forms_of(ticket: Ticket, data) -> dict:
        water = {"water": ticket.water, "air_temp": ticket.air_temp_c, "revision": ticket.revision}
        return {
            "form": WaterForm(data, initial=water),
            "aboard": aboard_set(data, initial=aboard_rows(ticket), prefix="a", form_kwargs={"stations": stations}),
            "day": day_set(data, initial=spell_rows(ticket), prefix="d", form_kwargs={"loads": loads}),
        }

    def act(form: WaterForm, aboard, day) -> None:
        said = form.cleaned_data
        tickets.set_afloat(
            request.user,
            ticket,
            aboard=[row for one in aboard.forms if (row := one.row())],
            spells=[row for one in day.forms if (row := one.row())],
            water=said["water"],
            air_temp_c=said["air_temp"],
            revision=said["revision"],
        )

    return saved(request, ticket, "counter/afloat.html", forms_of, act, {"loads": loads})


def aboard_rows(ticket: Ticket) -> list[dict]:
    return [
        {"is_person": row.is_person, "name": row.name, "mass": row.mass_kg, "station": row.station}
        for row in ticket.aboard.all()
    ]


def spell_rows(ticket: Ticket) -> list[dict]:
    return [
        {
            "name": spell.name,
            "hours": f"{spell.hours:g} h",
            **{f"on_{key}": round(share * 100, 2) for key, share in spell.on.items()},
        }
        for spell in ticket.spells.all()
    ]


@form_page
@allow(COUNTER)
def operations(request: HttpRequest, number: str) -> HttpResponse:
    """How often each shop operation is done."""
    ticket = ticket_or_404(number)
    known = list(ShopOperation.objects.all())

    def forms_of(ticket: Ticket, data) -> dict:
        initial = {row.operation.code: row.quantity for row in ticket.operations.all()} | {"revision": ticket.revision}
        return {"form": OperationsForm(data, initial=initial, operations=known)}

    def act(form: OperationsForm) -> None:
        tickets.set_operations(
            request.user, ticket, quantities=form.quantities(), revision=form.cleaned_data["revision"]
        )

    return saved(request, ticket, "counter/operations.html", forms_of, act)


@form_page
@allow(COUNTER)
def charges(request: HttpRequest, number: str) -> HttpResponse:
    """The discount and the fees."""
    ticket = ticket_or_404(number)

    def forms_of(ticket: Ticket, data) -> dict:
        initial = {"discount_percent": ticket.discount_basis_points / 100 or None, "revision": ticket.revision}
        for i, fee in enumerate(ticket.fees.all()[:3], start=1):
            initial |= {f"fee_name_{i}": fee.name, f"fee_amount_{i}": fee.amount}
        return {"form": ChargesForm(data, initial=initial)}

    def act(form: ChargesForm) -> None:
        tickets.set_charges(
            request.user,
            ticket,
            discount_basis_points=int((form.cleaned_data["discount_percent"] or 0) * 100),
            fees=form.fees(),
            revision=form.cleaned_data["revision"],
        )

    return saved(request, ticket, "counter/charges.html", forms_of, act)
