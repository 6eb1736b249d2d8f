"""Opening a ticket, and what is said on it besides its lines: customer, boat, who and what is aboard, the day."""

from django.db import transaction

from builds import personal
from builds.actions import holding
from builds.actions.ground import acting, require
from builds.actions.hulls import copy_of_type
from builds.content import content_of
from builds.models import Aboard, Customer, Fee, HullRecord, NumberSeries, Spell, Ticket, TicketOperation
from catalog.models import HullType, ShopOperation
from shop import clock, journal, once

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
    name: str = "",
    phone: str = "",
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
        once.spend(ticket.get_absolute_url())
        if name.strip():
            name_customer(ticket, name, phone, ticket.customer.email if ticket.customer else "")
            ticket.save()
        put_usual_aboard(ticket)
        usual = {operation.code: operation for operation in ShopOperation.objects.filter(code__in=USUAL_OPERATIONS)}
        TicketOperation.objects.bulk_create(
            TicketOperation(ticket=ticket, operation=usual[code], place=place)
            for place, code in enumerate(USUAL_OPERATIONS)
            if code in usual
        )
        content = personal.put_away(ticket, ticket.customer_id, content_of(ticket))
        journal.record(actor, "open ticket", ticket, {}, {"state": ticket.state, **content})
    return ticket


def put_usual_aboard(ticket: Ticket) -> None:
    stations = list(ticket.hull.stations.values_list("key", flat=True))
    seat = next((key for key in stations if "seat" in key or "cockpit" in key), "")
    well = next((key for key in stations if key in ("tank_well", "day_hatch", "stern_hatch")), seat)
    Aboard.objects.create(ticket=ticket, is_person=True, name="paddler", mass_kg=USUAL_PADDLER_KG, station=seat)
    Aboard.objects.create(ticket=ticket, name="kit", mass_kg=USUAL_KIT_KG, station=well, place=1)


def describe(
    actor,
    ticket: Ticket,
    *,
    title: str,
    asked: str,
    name: str = "",
    phone: str = "",
    email: str = "",
    revision: int | None = None,
) -> Ticket:
    """Say what the job is called, what was asked and whose it is."""
    with acting(actor, ticket, "change", "describe", revision) as changed:
        changed.title, changed.asked = title, asked
        name_customer(changed, name, phone, email)
    return changed


def set_customer(
    actor, ticket: Ticket, *, name: str, phone: str = "", email: str = "", revision: int | None = None
) -> Ticket:
    """Name the customer."""
    with acting(actor, ticket, "change", "set customer", revision) as changed:
        name_customer(changed, name, phone, email)
    return changed


def name_customer(ticket: Ticket, name: str, phone: str, email: str) -> None:
    """Correct the ticket's own customer record, or begin a new one; no name takes the customer off."""
    if not name.strip():
        ticket.customer = None
        return
    ticket.customer = ticket.customer or Customer()
    ticket.customer.correct(name=name, phone=phone, email=email)
    ticket.customer_id = ticket.customer.pk
    HullRecord.objects.filter(pk=ticket.hull_id, customer=None).update(customer=ticket.customer)


def set_afloat(
    actor,
    ticket: Ticket,
    *,
    aboard: list[dict],
    water: str,
    air_temp_c: float,
    spells: list[dict] | None = None,
    revision: int | None = None,
) -> Ticket:
    """Say who and what is aboard, on which water, how warm, and how the day runs."""
    with acting(actor, ticket, "change", "set aboard and water", revision) as changed:
        changed.water, changed.air_temp_c = water, air_temp_c
        changed.aboard.all().delete()
        Aboard.objects.bulk_create(Aboard(ticket=changed, place=i, **row) for i, row in enumerate(aboard))
        if spells is not None:
            write_spells(changed, spells)
    return changed


def set_day(actor, ticket: Ticket, *, spells: list[dict], revision: int | None = None) -> Ticket:
    """Say how the customer's day runs; no spell at all means eight hours."""
    with acting(actor, ticket, "change", "set day", revision) as changed:
        write_spells(changed, spells)
    return changed


def write_spells(ticket: Ticket, spells: list[dict]) -> None:
    ticket.spells.all().delete()
    Spell.objects.bulk_create(Spell(ticket=ticket, place=i, **row) for i, row in enumerate(spells))


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
        holding.release(changed)
    return changed


def reopen(actor, ticket: Ticket, *, revision: int | None = None) -> Ticket:
    """Make a declined, lapsed or cancelled ticket a draft again."""
    with acting(actor, ticket, "reopen", "reopen", revision) as changed:
        changed.agreed_quote = changed.agreed_change = changed.agreed_bench_min = None
    return changed
