"""Quotes, acceptances and work orders: what is handed over is frozen, numbered and kept as it was."""

import datetime
import hashlib
import json
import zlib
from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from builds import bridge, promise
from builds.actions.ground import Refused, acting
from builds.documents import Disclaimer, PaperFacts, hole_templates_pdf, quote_pdf, work_order_pdf
from builds.documents.figures import letters_in_short
from builds.documents.places import by_place
from builds.estimator.document import canonical, read_sheet
from builds.estimator.estimate import document, estimate
from builds.models import Acceptance, Customer, KeptCatalogue, Quote, Ticket, WorkOrder
from catalog.actions import rates_quoted
from catalog.models import ShopRates
from shop import clock, roles

Render = Callable[..., bytes]
"""Lays a paper out: facts, sheet, estimate and paper size to PDF bytes."""
CATALOGUE_PARTS = ("accessories", "shop_operations", "shop")
"""The parts of a build sheet that many tickets share and that are kept once for all."""


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def keep_catalogue(records: dict) -> KeptCatalogue:
    """Return the kept copy of a catalogue, writing it where it is not kept yet."""
    text = canonical(records).encode()
    kept = KeptCatalogue.objects.filter(sha256=sha256(text)).first()
    return kept or KeptCatalogue.objects.create(sha256=sha256(text), packed=zlib.compress(text, 6))


def issue_quote(
    actor,
    ticket: Ticket,
    *,
    paper: str = "a4",
    override_reason: str = "",
    revision: int | None = None,
    render: Render = quote_pdf,
) -> Quote:
    """Fix the ticket's estimate as the next numbered quote, with its PDF, which `render` lays out.

    Raises Refused for a ticket without a line, and for a stop unless the owner overrides it with a reason.
    """
    sheet_record = bridge.build_sheet(ticket)
    kind = bridge.catalogue_for(ticket)
    found = estimate(read_sheet(sheet_record, kind))
    stops = [caution for caution in found.cautions if caution.severity == "stop"]
    if not sheet_record["lines"]:
        raise Refused("The ticket has no line yet. Add a part, then quote.")
    if stops and not override_reason.strip():
        raise Refused(f"{stops[0].sentence} A stop keeps the quote from being issued until it is mended.")
    if stops and not roles.may(actor, "override_stop"):
        raise PermissionDenied
    now = clock.now()
    rates = ShopRates.objects.holding_on(clock.today())
    facts = facts_of(ticket, rates, now)
    version = (ticket.quotes.aggregate(Max("version"))["version__max"] or 0) + 1
    facts.number, facts.version = f"Q-{ticket.number.removeprefix('T-')}-{version}", version
    facts.valid_until = clock.today() + datetime.timedelta(days=rates.quote_valid_days)
    facts.ready_on = promise.ready_on(found.order.ready_h, found.order.bench_min, rates, clock.today())
    facts.override_reason, facts.replaces = override_reason.strip(), version - 1 or None
    estimate_record = document(found)
    whole = {**sheet_record, **{name: getattr(kind, at) for name, at in CATALOGUE_AT.items()}}
    pdf = render(facts, whole, estimate_record, paper)
    with acting(actor, ticket, "issue_quote", "issue quote", revision or ticket.revision, override_reason) as changed:
        changed.quoted_total = found.price.total
        rates_quoted(clock.today())
        return Quote.objects.create(
            ticket=changed,
            version=version,
            number=facts.number,
            issued_at=now,
            issued_by=actor,
            valid_until=facts.valid_until,
            ready_on=facts.ready_on,
            catalogue=keep_catalogue({name: whole[name] for name in CATALOGUE_PARTS}),
            sheet_json=canonical(sheet_record),
            estimate_json=json.dumps(estimate_record, ensure_ascii=False),
            ticket_revision=changed.revision + 1,
            paper=paper,
            pdf=pdf,
            pdf_sha256=sha256(pdf),
            total=found.price.total,
            deposit=found.price.deposit,
            override_reason=override_reason.strip(),
            disclaimer_version=Disclaimer.VERSION,
        )


CATALOGUE_AT = {"accessories": "accessory_records", "shop_operations": "operation_records", "shop": "shop_record"}


def facts_of(ticket: Ticket, rates: ShopRates, now: datetime.datetime) -> PaperFacts:
    """Return what a paper says besides the sheet and the estimate."""
    return PaperFacts(
        shop_name=rates.shop_name,
        shop_address=rates.address,
        ticket_number=ticket.number,
        title=ticket.title or "Fitting out",
        hull_number=ticket.hull.number,
        hull_name=ticket.hull.name,
        hull_material=ticket.hull.get_material_display(),
        customer=ticket.customer.name if ticket.customer else "",
        issued_at=timezone.localtime(now),
        workmanship_days=rates.workmanship_days,
        base_url=settings.SHOP_ADDRESS,
        bins={line.accessory.code: line.accessory.bin for line in ticket.lines.all() if line.accessory.bin},
    )


def accept(
    actor, ticket: Ticket, *, name: str, way: str, initialled: list[str], note: str = "", revision: int | None = None
) -> Acceptance:
    """Record the customer's yes to the latest quote. Every place of an opening carries the customer's initials."""
    quote = ticket.quotes.order_by("-version").first()
    if quote is None:
        raise Refused("There is no quote to accept yet.")
    if not name.strip():
        raise Refused("Who accepted is missing. Write the customer's name.")
    if clock.today() > quote.valid_until:
        raise Refused(f"The quote was good until {quote.valid_until:%d %b %Y}. Issue a new one.")
    if missing := [place for place in places_of(quote) if place not in initialled]:
        raise Refused(f"Not initialled yet: {', '.join(missing)}. Each place of a hole needs the customer's initials.")
    with acting(actor, ticket, "accept", "accept quote", revision, note) as changed:
        if quote.ticket_revision != changed.revision:
            raise Refused("The ticket changed after this quote. Issue a new one.")
        if not changed.customer_id:
            changed.customer = Customer.objects.create(name=name.strip())
        return Acceptance.objects.create(
            quote=quote,
            way=way,
            name=name.strip(),
            at=clock.now(),
            recorded_by=actor,
            initialled=initialled,
            pdf_sha256=quote.pdf_sha256,
            note=note,
        )


def places_of(quote: Quote) -> list[str]:
    """Return the letters of the quote's openings, one text for each place that is initialled."""
    groups = by_place(quote.estimate.get("openings", []))
    return [letters_in_short(opening["letter"] for opening in group) for group in groups.values()]


def issue_work_order(
    actor, ticket: Ticket, *, paper: str = "a4", revision: int | None = None, render: Render = work_order_pdf
) -> WorkOrder:
    """Print the next version of the work order from the accepted quote, and put the ticket on the bench."""
    acceptance = (
        Acceptance.objects.filter(quote__ticket=ticket).select_related("quote__catalogue").order_by("-at").first()
    )
    if acceptance is None:
        raise Refused("The customer has not accepted a quote yet.")
    now = clock.now()
    rates = ShopRates.objects.holding_on(clock.today())
    facts = facts_of(ticket, rates, now)
    version = (ticket.work_orders.aggregate(Max("version"))["version__max"] or 0) + 1
    quote = acceptance.quote
    facts.number, facts.version, facts.replaces = ticket.number, version, version - 1 or None
    facts.quote_number, facts.ready_on = quote.number, quote.ready_on
    facts.accepted_at, facts.accepted_by = timezone.localtime(acceptance.at), acceptance.name
    facts.initialled, facts.override_reason = acceptance.initialled, quote.override_reason
    pdf = render(facts, quote.sheet, quote.estimate, paper)
    with acting(actor, ticket, "issue_work_order", "issue work order", revision) as changed:
        return WorkOrder.objects.create(
            ticket=changed,
            quote=quote,
            version=version,
            issued_at=now,
            issued_by=actor,
            paper=paper,
            pdf=pdf,
            pdf_sha256=sha256(pdf),
        )


def kept_pdf(kind: type[Quote] | type[WorkOrder], **which) -> tuple[bytes, str]:
    """Return the bytes of a paper as it was handed over, and a name for the file. Raises DoesNotExist."""
    with transaction.atomic():
        row = kind.objects.select_related("ticket").get(**which)
    return bytes(row.pdf), f"{row.number if kind is Quote else f'{row.ticket.number}-work-order-{row.version}'}.pdf"


def hole_templates(ticket: Ticket, paper: str = "a4") -> bytes:
    """Return the drilling templates of the latest accepted quote, laid out from what it keeps. Raises Refused."""
    acceptance = (
        Acceptance.objects.filter(quote__ticket=ticket).select_related("quote__catalogue").order_by("-at").first()
    )
    if acceptance is None:
        raise Refused("The customer has not accepted a quote yet; nothing is drilled before that.")
    facts = facts_of(ticket, ShopRates.objects.holding_on(clock.today()), clock.now())
    return hole_templates_pdf(facts, acceptance.quote.sheet, acceptance.quote.estimate, paper)
