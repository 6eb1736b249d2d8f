"""Quotes, acceptances and work orders: what is handed over is frozen, numbered and kept as it was."""

import datetime
import hashlib
import json
import zlib
from collections.abc import Callable
from decimal import Decimal

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db.models import Max
from django.utils import timezone

from builds import bridge, promise
from builds.actions.ground import Refused, acting, require
from builds.agreed import Agreed, agreed_of
from builds.bench import latest_order
from builds.documents import PaperFacts, hole_templates_pdf, quote_pdf, with_head, work_order_pdf
from builds.documents.disclaimer import statement_version
from builds.estimator.comparing import compare, in_words
from builds.estimator.document import canonical, read_sheet
from builds.estimator.estimate import Estimate, document, estimate
from builds.models import KeptCatalogue, Quote, Ticket, WorkOrder
from builds.models.papers import KeptEstimate, KeptPaper
from builds.planner.promise import Promise
from builds.suiting import asked_of
from catalog.actions import rates_quoted
from catalog.models import ShopRates
from catalog.rules import most_of
from shop import clock, journal, roles

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
    require(actor, "issue_quote")
    sheet_record = bridge.build_sheet(ticket)
    kind = bridge.catalogue_for(ticket)
    found = estimate(read_sheet(sheet_record, kind))
    refuse_stops(actor, sheet_record, found, override_reason)
    now = clock.now()
    rates = ShopRates.objects.holding_on(clock.today())
    estimate_record = document(found)
    whole = {**sheet_record, **{name: getattr(kind, at) for name, at in CATALOGUE_AT.items()}}
    facts = quote_facts(ticket, found, whole, estimate_record, rates, now)
    facts.override_reason = override_reason.strip()
    pdf = with_head(render(facts, whole, estimate_record, paper), journal.head(), paper)
    with acting(actor, ticket, "issue_quote", "issue quote", revision or ticket.revision, override_reason) as changed:
        changed.quoted_total = found.price.total
        rates_quoted(clock.today())
        return Quote.objects.create(
            ticket=changed,
            version=facts.version,
            number=facts.number,
            issued_at=now,
            issued_by=actor,
            valid_until=facts.valid_until,
            ready_on=facts.ready_on,
            catalogue=keep_catalogue({name: whole[name] for name in CATALOGUE_PARTS}),
            sheet_json=canonical(sheet_record),
            estimate_json=json.dumps(estimate_record, ensure_ascii=False),
            ticket_revision=changed.revision + 1,
            alternative=next((one.name for one in ticket.alternatives.all() if one.is_current), ""),
            paper=paper,
            pdf=pdf,
            pdf_sha256=sha256(pdf),
            total=found.price.total,
            deposit=found.price.deposit,
            most=facts.most,
            override_reason=facts.override_reason,
            disclaimer_version=statement_version(facts),
        )


def refuse_stops(actor, sheet_record: dict, found: Estimate, override_reason: str) -> None:
    """Refuse a sheet without a line, and one with a stop unless an owner gives a reason."""
    if not sheet_record["lines"]:
        raise Refused("The ticket has no line yet. Add a part, then quote.")
    stops = [caution for caution in found.cautions if caution.severity == "stop"]
    if stops and not override_reason.strip():
        raise Refused(f"{stops[0].sentence} A stop keeps the quote from being issued until it is mended.")
    if stops and not roles.may(actor, "override_stop"):
        raise PermissionDenied


def quote_facts(
    ticket: Ticket, found: Estimate, whole: dict, estimate_record: dict, rates: ShopRates, now: datetime.datetime
) -> PaperFacts:
    """Return what the next quote says of itself: number, dates, the most it may come to, what changed."""
    facts = facts_of(ticket, rates, now)
    before = Quote.objects.filter(ticket=ticket).select_related("catalogue").defer("pdf").order_by("-version").first()
    facts.version = before.version + 1 if before else 1
    facts.number = f"Q-{ticket.number.removeprefix('T-')}-{facts.version}"
    facts.valid_until = clock.today() + datetime.timedelta(days=rates.quote_valid_days)
    facts.ready_on = day_of(promise.promise_of(found, rates, clock.today(), ticket=ticket))
    facts.rule = rates.quote_rule
    facts.most = most_of(found.price.total, rates.quote_rule, Decimal(str(rates.quote_tolerance)), rates.currency)
    if before:
        facts.replaces = before.version
        facts.differences = differences_in_words(before, whole, estimate_record)
    return facts


def day_of(promised: Promise | None) -> datetime.date:
    """Return the promised day. Raises Refused where the bench has no time for the ticket."""
    if promised is None:
        raise Refused("The bench has no free hours in the next three years. Write down hours under Bench, The week.")
    return promised.ready_on


def differences_in_words(before: KeptEstimate, sheet: dict, estimate_record: dict) -> list[str]:
    """Return what differs from an earlier quote, each as a sentence with its price and minutes."""
    currency = estimate_record["price"]["currency"]
    found = compare(before.sheet, before.estimate, sheet, estimate_record)
    return [in_words(one, currency) for one in found]


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
        texts=rates.texts,
        texts_from=rates.holds_from if rates.texts else None,
        base_url=settings.SHOP_ADDRESS,
        bins={line.accessory.code: line.accessory.bin for line in ticket.lines.all() if line.accessory.bin},
    )


def issue_work_order(
    actor, ticket: Ticket, *, paper: str = "a4", revision: int | None = None, render: Render = work_order_pdf
) -> WorkOrder:
    """Print the next version of the work order from the accepted quote, and put the ticket on the bench."""
    require(actor, "issue_work_order")
    agreed = agreed_of(ticket)
    if agreed is None:
        raise Refused("The customer has not accepted a quote yet.")
    now = clock.now()
    rates = ShopRates.objects.holding_on(clock.today())
    facts = work_order_facts(ticket, agreed, rates, now)
    pdf = render(facts, agreed.kept.sheet, agreed.kept.estimate, paper)
    with acting(actor, ticket, "issue_work_order", "issue work order", revision) as changed:
        return WorkOrder.objects.create(
            ticket=changed,
            quote=agreed.quote,
            change_order=agreed.change,
            version=facts.version,
            issued_at=now,
            issued_by=actor,
            paper=paper,
            pdf=pdf,
            pdf_sha256=sha256(pdf),
        )


def work_order_facts(ticket: Ticket, agreed: Agreed, rates: ShopRates, now: datetime.datetime) -> PaperFacts:
    """Return what a work order says of itself: version, who accepted and initialled, the change order behind it."""
    facts = facts_of(ticket, rates, now)
    facts.version = (ticket.work_orders.aggregate(Max("version"))["version__max"] or 0) + 1
    facts.number, facts.replaces = ticket.number, facts.version - 1 or None
    if earlier := latest_order(ticket):
        facts.before = earlier.agreed.estimate
    facts.quote_number, facts.ready_on = agreed.quote.number, agreed.kept.ready_on
    facts.accepted_at, facts.accepted_by = timezone.localtime(agreed.acceptance.at), agreed.acceptance.name
    facts.initialled, facts.override_reason = agreed.initialled, agreed.kept.override_reason
    if asked := asked_of(ticket):
        facts.approver, facts.approver_number = asked.approver, asked.approver_phone
    if change := agreed.change:
        facts.change_number, facts.changes = change.number, change.deeds
        facts.consent = f"{change.consent}, {timezone.localtime(change.consent_at):%d %b %Y, %H:%M}."
    return facts


def kept_pdf(kind: type[KeptPaper], **which) -> tuple[bytes, str]:
    """Return the bytes of a paper as it was handed over, and a name for the file. Raises DoesNotExist."""
    row = kind.objects.select_related("ticket").get(**which)
    kind_words = kind._meta.verbose_name.replace(" ", "-")
    return bytes(row.pdf), f"{getattr(row, 'number', f'{row.ticket.number}-{kind_words}')}.pdf"


def hole_templates(ticket: Ticket, paper: str = "a4") -> bytes:
    """Return the drilling templates of the latest accepted quote, laid out from what it keeps. Raises Refused."""
    agreed = agreed_of(ticket)
    if agreed is None:
        raise Refused("The customer has not accepted a quote yet; nothing is drilled before that.")
    facts = facts_of(ticket, ShopRates.objects.holding_on(clock.today()), clock.now())
    return hole_templates_pdf(facts, agreed.kept.sheet, agreed.kept.estimate, paper)
