"""Opening a ticket, and what is said on it besides its lines: customer, boat, who and what is aboard, the day."""

from django.db import transaction

from builds.actions.ground import acting, require
from builds.actions.hulls import copy_of_type
from builds.content import content_of
from builds.models import Aboard, Customer, Fee, HullRecord, NumberSeries, Spell, Ticket, TicketOperation
from builds.models.customer import digits_of
from catalog.models import HullType, ShopOperation
from shop import clock, journal

# What a ticket starts with: the shop does these on every boat (common practice, no source).
USUAL_OPERATIONS = (
    "op_checkin_photos",
    "op_setup_stands_clean",
    "op_parts_pick_dry_fit",
    "op_clean_close",
    "op_handover",
)
USUAL_PADDLER_KG = 85.0
USUAL_KIT_KG = 10.0


def open_ticket(
    actor,
    *,
    hull_type: HullType | None = None,
    hull: HullRecord | None = None,
    customer: Customer | None = None,
    title: str = "",
    asked: str = "",
    assumed: bool = False,
) -> Ticket:
    """Open a ticket on a known boat, or on a new hull record that starts as a copy of a hull type."""
    require(actor, "change")
    with transaction.atomic():
        now = clock.now()
        hull = hull or copy_of_type(hull_type, customer=customer, assumed=assumed)
        ticket = Ticket.objects.create(
            number=f"T-{NumberSeries.take('ticket'):04d}",
            title=title,
            asked=asked,
            customer=customer or hull.customer,
            hull=hull,
            counter=actor,
            opened_at=now,
            changed_at=now,
            state_at=now,
        )
        put_usual_aboard(ticket)
        usual = {operation.code: operation for operation in ShopOperation.objects.filter(code__in=USUAL_OPERATIONS)}
        TicketOperation.objects.bulk_create(
            TicketOperation(ticket=ticket, operation=usual[code], place=place)
            for place, code in enumerate(USUAL_OPERATIONS)
            if code in usual
        )
        journal.record(actor, "open ticket", ticket, {}, {"state": ticket.state, **content_of(ticket)})
    return ticket


def put_usual_aboard(ticket: Ticket) -> None:
    stations = list(ticket.hull.stations.values_list("key", flat=True))
    seat = next((key for key in stations if "seat" in key or "cockpit" in key), "")
    well = next((key for key in stations if key in ("tank_well", "day_hatch", "stern_hatch")), seat)
    Aboard.objects.create(ticket=ticket, is_person=True, name="paddler", mass_kg=USUAL_PADDLER_KG, station=seat)
    Aboard.objects.create(ticket=ticket, name="kit", mass_kg=USUAL_KIT_KG, station=well, place=1)


def describe(actor, ticket: Ticket, *, title: str, asked: str, revision: int | None = None) -> Ticket:
    """Change the job's title and the words that were asked."""
    with acting(actor, ticket, "change", "describe", revision) as changed:
        changed.title, changed.asked = title, asked
    return changed


def set_customer(
    actor, ticket: Ticket, *, name: str, phone: str = "", email: str = "", revision: int | None = None
) -> Ticket:
    """Name the customer: the ticket's own record is corrected, or a new one begun; no name takes the customer off."""
    with acting(actor, ticket, "change", "set customer", revision) as changed:
        if not name.strip():
            changed.customer = None
        else:
            customer = changed.customer or Customer()
            customer.name, customer.phone, customer.email = name.strip(), phone.strip(), email.strip()
            customer.phone_digits = digits_of(phone)
            customer.save()
            changed.customer = customer
            HullRecord.objects.filter(pk=changed.hull_id, customer=None).update(customer=customer)
    return changed


def set_afloat(
    actor, ticket: Ticket, *, aboard: list[dict], water: str, air_temp_c: float, revision: int | None = None
) -> Ticket:
    """Say who and what is aboard, on which water, how warm."""
    with acting(actor, ticket, "change", "set aboard and water", revision) as changed:
        changed.water, changed.air_temp_c = water, air_temp_c
        changed.aboard.all().delete()
        Aboard.objects.bulk_create(Aboard(ticket=changed, place=i, **row) for i, row in enumerate(aboard))
    return changed


def set_day(actor, ticket: Ticket, *, spells: list[dict], revision: int | None = None) -> Ticket:
    """Say how the customer's day runs; no spell at all means eight hours."""
    with acting(actor, ticket, "change", "set day", revision) as changed:
        changed.spells.all().delete()
        Spell.objects.bulk_create(Spell(ticket=changed, place=i, **row) for i, row in enumerate(spells))
    return changed


def set_operations(actor, ticket: Ticket, *, quantities: dict[str, int], revision: int | None = None) -> Ticket:
    """Say which shop operations the ticket has, and how often."""
    with acting(actor, ticket, "change", "set operations", revision) as changed:
        changed.operations.all().delete()
        known = {operation.code: operation for operation in ShopOperation.objects.all()}
        TicketOperation.objects.bulk_create(
            TicketOperation(ticket=changed, operation=known[code], quantity=quantity, place=place)
            for place, (code, quantity) in enumerate(quantities.items())
            if quantity and code in known
        )
    return changed


def set_charges(
    actor, ticket: Ticket, *, discount_basis_points: int, fees: list[dict], revision: int | None = None
) -> Ticket:
    """Set the discount and the fees."""
    with acting(actor, ticket, "change", "set discount and fees", revision) as changed:
        changed.discount_basis_points = discount_basis_points
        changed.fees.all().delete()
        Fee.objects.bulk_create(Fee(ticket=changed, place=i, **row) for i, row in enumerate(fees))
    return changed


def close(actor, ticket: Ticket, act: str, *, why: str = "", revision: int | None = None) -> Ticket:
    """Decline, lapse or cancel a ticket."""
    with acting(actor, ticket, act, act, revision, why) as changed:
        pass
    return changed


def reopen(actor, ticket: Ticket, *, revision: int | None = None) -> Ticket:
    """Make a declined, lapsed or cancelled ticket a draft again."""
    with acting(actor, ticket, "reopen", "reopen", revision) as changed:
        pass
    return changed
