"""The customer's yes: links to sign by, initials place by place, the signature, and the file that was signed."""

import datetime
import hashlib
import secrets
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from builds.actions import holding
from builds.actions.ground import Refused, acting, require
from builds.actions.papers import facts_of, sha256
from builds.documents import Signing, signature_pdf, with_head
from builds.documents.figures import letters_in_short, money
from builds.documents.parts import parts_of
from builds.documents.places import by_place, openings_of
from builds.models import Acceptance, Customer, Quote, SignatureLink, Ticket
from builds.states import QUOTED
from catalog.models import ShopRates
from shop import clock, journal
from shop.pdf import joined
from shop.roles import CUSTOMER

SECRET_BYTES = 16
"""128 bits, which nobody guesses."""


@dataclass(frozen=True)
class TheCustomer:
    """One who signs by a link and does not sign in: may sign the quote that the link belongs to, nothing else."""

    name: str
    role: str = CUSTOMER
    is_active: bool = True

    def __str__(self) -> str:
        return "The customer"


@dataclass
class Yes:
    """What the customer gave: the name, initials and the places that carry them, a drawn signature or none."""

    name: str
    initialled: list[str]
    initials: str = ""
    drawing: list[list[list[int]]] = field(default_factory=list)
    agreed_electronically: bool = False
    note: str = ""
    scan: bytes | None = None
    scan_name: str = ""


def hash_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def make_link(actor, ticket: Ticket, *, sent_to: str = "", revision: int | None = None) -> tuple[SignatureLink, str]:
    """Return a new link to the ticket's latest quote and its secret, which is kept nowhere."""
    require(actor, "send_quote")
    secret = secrets.token_urlsafe(SECRET_BYTES)
    quote = latest_quote(ticket)
    now = clock.now()
    rates = ShopRates.objects.holding_on(clock.today())
    expires = now + datetime.timedelta(days=rates.signature_link_days)
    said = {"quote": quote.number, "sent_to": sent_to, "expires": expires.isoformat()}
    with acting(actor, ticket, "send_quote", "send quote", revision, said=said) as changed:
        refuse_old(changed, quote)
        link = SignatureLink.objects.create(
            quote=quote,
            secret_sha256=hash_of(secret),
            made_at=now,
            made_by=actor,
            expires_at=expires,
            sent_to=sent_to,
        )
    return link, secret


def link_of(secret: str) -> SignatureLink | None:
    """Return the link of a secret, whether it can still sign or not; None for a secret that was never given."""
    return (
        SignatureLink.objects.filter(secret_sha256=hash_of(secret))
        .select_related("quote__ticket__customer", "quote__ticket__hull", "quote__catalogue", "made_by")
        .first()
    )


def acceptance_of(quote: Quote) -> Acceptance | None:
    return Acceptance.objects.filter(quote=quote).defer("scan").first()


def why_closed(link: SignatureLink) -> str:
    """Return why a link signs nothing any more, or nothing where it does."""
    if acceptance_of(link.quote):
        return "This quote is signed already."
    if clock.now() >= link.expires_at:
        return "This link has run out. Ask the shop for a new one."
    return why_old(link.quote.ticket, link.quote)


def why_old(ticket: Ticket, quote: Quote) -> str:
    """Return why a quote cannot be agreed to any more, or nothing where it can."""
    if clock.today() > quote.valid_until:
        return f"The quote was good until {quote.valid_until:%d %b %Y}. Issue a new one."
    if ticket.state != QUOTED or ticket.quotes.filter(version__gt=quote.version).exists():
        return "The ticket changed after this quote. Issue a new one."
    return ""


def refuse_old(ticket: Ticket, quote: Quote) -> None:
    if why := why_old(ticket, quote):
        raise Refused(why)


def latest_quote(ticket: Ticket) -> Quote:
    quote = Quote.objects.filter(ticket=ticket).select_related("catalogue", "ticket").order_by("-version").first()
    if quote is None:
        raise Refused("There is no quote to accept yet.")
    return quote


def places_of(quote: Quote) -> list[str]:
    """Return the letters of the quote's openings, one text for each place that is initialled."""
    groups = by_place(quote.estimate.get("openings", []))
    return [letters_in_short(opening["letter"] for opening in group) for group in groups.values()]


def accept(actor, ticket: Ticket, yes: Yes, *, way: str, revision: int | None = None) -> Acceptance:
    """Record the customer's yes to the latest quote, given on the counter's screen or on paper."""
    require(actor, "accept")
    quote = latest_quote(ticket)
    if way == Acceptance.Way.PAPER and not yes.scan and not yes.note.strip():
        raise Refused("The signed paper is missing. Scan it, or write why there is no scan.")
    if way == Acceptance.Way.COUNTER and not yes.agreed_electronically:
        raise Refused("The customer has not agreed to sign on the screen. Tick it, or take the yes on paper.")
    return record(actor, quote, "accept", yes, way=way, recorded_by=actor, revision=revision)


def sign(link: SignatureLink, yes: Yes) -> Acceptance:
    """Sign by a link. Raises Refused where it is signed, has run out, or the ticket changed in between."""
    if why := why_closed(link):
        raise Refused(why)
    if not yes.agreed_electronically:
        raise Refused("Agree to sign here, or ask the shop for the paper.")
    return record(TheCustomer(yes.name.strip()), link.quote, "sign", yes, way=Acceptance.Way.LINK, link=link)


def record(actor, quote: Quote, act: str, yes: Yes, *, way: str, revision=None, **who: Any) -> Acceptance:
    """Write the yes down; what was signed on a screen becomes a file, laid out before the ticket is locked."""
    require(actor, act)
    refuse_incomplete(quote, yes)
    now = clock.now()
    signed = None if way == Acceptance.Way.PAPER else signed_file(quote, yes, way, now, **who)
    with acting(actor, quote.ticket, act, f"{act} quote", revision, yes.note, said=said_of(quote, yes, way)) as changed:
        refuse_old(changed, quote)
        if not changed.customer_id:
            changed.customer = Customer.objects.create(name=yes.name.strip())
            changed.customer_id = changed.customer.pk
        changed.agreed_bench_min = quote.estimate["labour"]["bench_min"]
        changed.agreed_quote, changed.agreed_change = quote, None
        holding.hold(changed, quote)
        return Acceptance.objects.create(
            quote=quote,
            way=way,
            name=yes.name.strip(),
            at=now,
            initials=yes.initials.strip(),
            initialled=yes.initialled,
            drawing=yes.drawing,
            agreed_electronically=yes.agreed_electronically,
            pdf_sha256=quote.pdf_sha256,
            note=yes.note.strip(),
            scan=yes.scan,
            scan_name=yes.scan_name,
            signed_pdf=signed,
            signed_sha256=sha256(signed) if signed else "",
            **who,
        )


def refuse_incomplete(quote: Quote, yes: Yes) -> None:
    if not yes.name.strip():
        raise Refused("Who accepted is missing. Write the customer's name.")
    if missing := [place for place in places_of(quote) if place not in yes.initialled]:
        raise Refused(f"Not initialled yet: {', '.join(missing)}. Each place of a hole needs the customer's initials.")


def said_of(quote: Quote, yes: Yes, way: str) -> dict[str, Any]:
    return {"quote": quote.number, "name": yes.name.strip(), "way": way, "quote_sha256": quote.pdf_sha256}


def signed_file(quote: Quote, yes: Yes, way: str, at: datetime.datetime, **who: Any) -> bytes:
    """Return the quote's own pages with the signed page after them."""
    rates = ShopRates.objects.holding_on(clock.today())
    facts = facts_of(quote.ticket, rates, at)
    facts.number, facts.version = quote.number, quote.version
    sheet, estimate = quote.sheet, quote.estimate
    link, recorder = who.get("link"), who.get("recorded_by")
    openings = openings_of(estimate, parts_of(sheet))
    signing = Signing(
        quote_number=quote.number,
        name=yes.name.strip(),
        way=Acceptance.Way(way).label,
        at=timezone.localtime(at),
        sent_to=link.sent_to if link else "",
        recorded_by=str(recorder or (link.made_by if link else "")),
        initials=yes.initials.strip(),
        initialled=tuple(yes.initialled),
        agreed_electronically=yes.agreed_electronically,
        drawing=tuple(tuple((x, y) for x, y in stroke) for stroke in yes.drawing),
        note=yes.note.strip(),
        quote_sha256=quote.pdf_sha256,
        statement_version=quote.disclaimer_version,
        override_reason=quote.override_reason,
        total=money(quote.total, rates.currency),
        places=tuple((place.letters, place.name, place.where) for place in openings.places),
    )
    page = with_head(signature_pdf(facts, sheet, estimate, signing, quote.paper), journal.head(), quote.paper)
    return joined(bytes(quote.pdf), page)
