"""Hull records: begun from a hull type, then corrected by what was measured."""

from collections.abc import Mapping
from functools import partial
from typing import Any

from builds import personal
from builds.actions.ground import Refused, acting
from builds.estimator.document import read_sheet
from builds.estimator.flotation import forms_of
from builds.estimator.specs import Unusable
from builds.models import Customer, HullRecord, HullStation, NumberSeries, Ticket
from builds.models.hull import HULL_FIGURES, STATION_FIGURES
from catalog.models import HullType
from shop import journal


def copy_of_type(hull_type: HullType, *, customer: Customer | None = None, assumed: bool = False) -> HullRecord:
    """Return a new hull record with the hull type's figures and stations; call inside a transaction."""
    hull = HullRecord.objects.create(
        number=f"H-{NumberSeries.take('hull'):04d}",
        customer=customer,
        hull_type=hull_type,
        assumed=assumed,
        **{name: getattr(hull_type, name) for name in HULL_FIGURES},
    )
    HullStation.objects.bulk_create(
        HullStation(hull=hull, place=place, **{name: getattr(station, name) for name in STATION_FIGURES})
        for place, station in enumerate(hull_type.stations.all())
    )
    return hull


def take_hull_type(actor, ticket: Ticket, hull_type: HullType, *, revision: int | None = None) -> Ticket:
    """Put the ticket on another kind of boat: a new hull record; lines at stations that it lacks lose their place."""
    with acting(actor, ticket, "change", "change boat", revision) as changed:
        put_on_type(changed, hull_type)
    return changed


def put_on_type(ticket: Ticket, hull_type: HullType) -> None:
    """Put a ticket that is being changed on a new hull record of a type."""
    ticket.hull = copy_of_type(hull_type, customer=ticket.customer)
    forget_missing_stations(ticket)


def take_hull(actor, ticket: Ticket, hull: HullRecord, *, revision: int | None = None) -> Ticket:
    """Put the ticket on a boat that the shop knows."""
    with acting(actor, ticket, "change", "change boat", revision) as changed:
        changed.hull = hull
        changed.customer = changed.customer or hull.customer
        forget_missing_stations(changed)
    return changed


def keep_float_test(actor, ticket: Ticket, sheet: Mapping[str, Any], draft_m: float, load_kg: float) -> None:
    """Refit the boat by a draft measured amidships with the work of `sheet` done; call inside a transaction.

    Raises Refused for a draft that no boat of its dimensions has.

    The next estimate on this boat floats it by that; what was agreed stays as it was.
    """
    hull = ticket.hull
    before = {"draft_mid_m": hull.float_test_draft_mid_m, "load_kg": hull.float_test_load_kg}
    hull.float_test_draft_mid_m, hull.float_test_load_kg = draft_m, load_kg
    tested = {**sheet["hull"], "float_test": {"draft_mid_m": draft_m, "load_kg": load_kg}}
    try:
        forms_of(read_sheet({**sheet, "hull": tested}))
    except Unusable as error:
        raise Refused(f"The draft, in metres, {error.problems[0].message}.") from None
    hull.save(update_fields=["float_test_draft_mid_m", "float_test_load_kg"])
    journal.record(actor, "keep float test", hull, before, {"draft_mid_m": draft_m, "load_kg": load_kg})


def forget_missing_stations(ticket: Ticket) -> None:
    known = list(ticket.hull.stations.values_list("key", flat=True))
    ticket.lines.exclude(station__in=known).update(station="", offset_x_m=0, offset_y_m=0, offset_z_m=0)
    ticket.aboard.exclude(station__in=known).update(station="")


def correct_hull(
    actor, ticket: Ticket, *, figures: dict, stations: list[dict] | None = None, revision: int | None = None
) -> Ticket:
    """Correct the boat by what was measured. Stations that lines stand at cannot go."""
    with acting(actor, ticket, "change", "correct boat", revision) as changed:
        hull = changed.hull
        before = {name: getattr(hull, name) for name in figures}
        for name, value in figures.items():
            setattr(hull, name, value)
        hull.assumed = False
        hull.save()
        if stations is not None:
            kept = {row["key"] for row in stations}
            used = changed.lines.exclude(station="").exclude(station__in=kept).first()
            if used:
                raise Refused(f"A line stands at “{used.station}”. Move the line first, then take the station off.")
            hull.stations.all().delete()
            HullStation.objects.bulk_create(
                HullStation(hull=hull, place=place, **row) for place, row in enumerate(stations)
            )
        put_away = partial(personal.put_away, changed, changed.customer_id)
        journal.record(actor, "correct hull", hull, put_away(before), put_away(figures))
    return changed
