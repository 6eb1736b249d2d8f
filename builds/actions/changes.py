"""Change orders: what changes after acceptance, agreed with the customer before it is done."""

import datetime
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import PermissionDenied
from django.utils import timezone

from builds import bridge, promise, stock
from builds.actions import holding
from builds.actions.ground import Refused, acting, require
from builds.actions.lines import changes_since_agreed, content_before
from builds.actions.papers import CATALOGUE_AT, CATALOGUE_PARTS, day_of, facts_of, keep_catalogue, sha256
from builds.agreed import Agreed, agreed_of
from builds.content import put_back
from builds.documents import Change, change_order_pdf, with_head
from builds.documents.parts import parts_of
from builds.documents.places import Place, openings_of
from builds.estimator.comparing import Difference, compare, in_words
from builds.estimator.document import canonical, read_sheet
from builds.estimator.estimate import document, estimate
from builds.models import ChangeOrder, Ticket
from catalog.models import ShopRates
from shop import clock, journal, roles

Document = dict[str, Any]


@dataclass
class Consent:
    """Who agreed to a change, in which way, on which number, and when."""

    name: str
    way: str
    number_called: str = ""
    at: datetime.datetime | None = None


@dataclass
class Proposed:
    """A change that is being written: the whole sheet and estimate as they would be, and what differs."""

    agreed: Agreed
    sheet_record: Document
    catalogue: Any
    sheet: Document
    estimate: Document
    stops: list[Any]
    differences: list[Difference]

    @property
    def added(self) -> dict[str, Any]:
        """What parts, labour and total rise by, as money, and the minutes."""
        before, after = self.agreed.kept.estimate, self.estimate
        names = ("parts", "labour", "total")
        gain = {name: Decimal(after["price"][name]) - Decimal(before["price"][name]) for name in names}
        return gain | {"minutes": after["labour"]["mean_min"] - before["labour"]["mean_min"]}

    @property
    def total(self) -> Decimal:
        return Decimal(self.estimate["price"]["total"])

    @property
    def new_places(self) -> list[Place]:
        """The places of openings that the customer has not seen yet."""
        before = {place_key(place) for place in places_in(self.agreed.kept.sheet, self.agreed.kept.estimate)}
        return [place for place in places_in(self.sheet, self.estimate) if place_key(place) not in before]

    def initialled(self, agreed_places: Sequence[str]) -> list[str]:
        """Return the places agreed to one by one, those from before by their letters now; raises Refused for a gap."""
        new = [place.letters for place in self.new_places]
        if missing := [letters for letters in new if letters not in agreed_places]:
            raise Refused(f"Not agreed to yet: {', '.join(missing)}. Read each new place out, then tick it.")
        kept = places_in(self.agreed.kept.sheet, self.agreed.kept.estimate)
        seen = {place_key(place) for place in kept if place.letters in self.agreed.initialled}
        places = places_in(self.sheet, self.estimate)
        return [place.letters for place in places if place.letters in new or place_key(place) in seen]

    def what(self) -> list[dict[str, str]]:
        """The differences as the entry keeps them: with what they cost, and without, for who works."""
        currency = self.estimate["price"]["currency"]
        return [{"kind": one.kind, "words": one.words, "sentence": in_words(one, currency)} for one in self.differences]


def begin_change(actor, ticket: Ticket, *, revision: int | None = None) -> Ticket:
    """Open the ticket's lines for a change order; the bench goes on with what is agreed."""
    with acting(actor, ticket, "begin_change", "begin change", revision) as changed:
        changed.changing = True
    return changed


def drop_change(actor, ticket: Ticket, *, revision: int | None = None) -> Ticket:
    """Put the ticket back to what is agreed."""
    with acting(actor, ticket, "drop_change", "drop change", revision) as changed:
        put_back(changed, content_before(list(changes_since_agreed(changed))))
        changed.changing = False
    return changed


def proposed(ticket: Ticket) -> Proposed:
    """Return the change that the ticket's lines propose, at the prices that were agreed. Raises Refused, Unusable."""
    agreed = agreed_of(ticket)
    if agreed is None:
        raise Refused("Nothing is agreed yet; change the ticket and issue a quote.")
    record, kind = bridge.build_sheet(ticket), bridge.catalogue_for(ticket)
    found = estimate(read_sheet(record, kind))
    whole = {**record, **{name: getattr(kind, at) for name, at in CATALOGUE_AT.items()}}
    after = document(found)
    differences = compare(agreed.kept.sheet, agreed.kept.estimate, whole, after)
    stops = [caution for caution in found.cautions if caution.severity == "stop"]
    return Proposed(agreed, record, kind, whole, after, stops, differences)


def agree_change(
    actor,
    ticket: Ticket,
    *,
    why: str,
    consent: Consent,
    places: Sequence[str] = (),
    override_reason: str = "",
    paper: str = "a4",
    revision: int | None = None,
    render: Callable[..., bytes] = change_order_pdf,
) -> ChangeOrder:
    """Record the customer's consent to the change as a numbered entry that nobody edits, and close the change.

    `places` are the letters of the new places, each of which the customer agrees to by itself.
    """
    require(actor, "agree_change")
    now = clock.now()
    refuse_incomplete(ticket, why, consent, now)
    new = proposed(ticket)
    if not new.differences:
        raise Refused("Nothing differs from what is agreed. Change a line, or drop the change.")
    if new.stops and not override_reason.strip():
        raise Refused(f"{new.stops[0].sentence} A stop keeps the change from being agreed until it is mended.")
    if new.stops and not roles.may(actor, "override_stop"):
        raise PermissionDenied
    initialled = new.initialled(places)
    rates = ShopRates.objects.holding_on(clock.today())
    n = (new.agreed.change.n if new.agreed.change else 0) + 1
    entry = entry_of(actor, ticket, new, n, why, consent, now, rates, override_reason.strip())
    entry.initialled = initialled
    pdf = render(
        change_facts(ticket, rates, now, entry), new.sheet, new.estimate, change_on_paper(entry, new, rates), paper
    )
    pdf = with_head(pdf, journal.head(), paper)
    said = {"change_order": entry.number, "consent": entry.consent, "total": str(entry.total)}
    with acting(actor, ticket, "agree_change", "agree change", revision or ticket.revision, why, said=said) as changed:
        changed.changing = False
        changed.quoted_total = entry.total
        changed.agreed_bench_min = new.estimate["labour"]["bench_min"]
        entry.catalogue = keep_catalogue({name: new.sheet[name] for name in CATALOGUE_PARTS})
        entry.paper, entry.pdf, entry.pdf_sha256 = paper, pdf, sha256(pdf)
        entry.save()
        changed.agreed_change = entry
        holding.hold(changed, entry, actor)
    return entry


def refuse_incomplete(ticket: Ticket, why: str, consent: Consent, now: datetime.datetime) -> None:
    if not why.strip():
        raise Refused("Why the work changes is missing. Write it in a few words.")
    if not consent.name.strip():
        raise Refused("Who agreed is missing. Write the name.")
    if consent.way == ChangeOrder.Way.TELEPHONE and not consent.number_called.strip():
        raise Refused("The number that was called is missing.")
    agreed = agreed_of(ticket)
    if consent.at and consent.at > now:
        raise Refused("The consent cannot be later than now.")
    if consent.at and agreed and consent.at < agreed.acceptance.at.replace(second=0, microsecond=0):
        raise Refused("The consent cannot be earlier than the acceptance.")


def entry_of(actor, ticket, new: Proposed, n, why, consent: Consent, now, rates, override_reason) -> ChangeOrder:
    """Return the entry, not saved yet."""
    added = new.added
    wait_days = stock.wait_days(holding.parts_wanted(new.sheet_record["lines"]), clock.today(), ticket)
    return ChangeOrder(
        ticket=ticket,
        quote=new.agreed.quote,
        n=n,
        number=f"C-{ticket.number.removeprefix('T-')}-{n}",
        replaces=new.agreed.number,
        what=new.what(),
        why=why.strip(),
        sheet_json=canonical(new.sheet_record),
        estimate_json=json.dumps(new.estimate, ensure_ascii=False),
        added_parts=added["parts"],
        added_labour=added["labour"],
        added_minutes=added["minutes"],
        added_total=added["total"],
        total=Decimal(new.estimate["price"]["total"]),
        ready_on=day_of(promise.of_labour(new.estimate["labour"], rates, clock.today(), wait_days, ticket)),
        consent_way=consent.way,
        consent_name=consent.name.strip(),
        number_called=consent.number_called.strip(),
        consent_at=consent.at or now,
        recorded_at=now,
        recorded_by=actor,
        override_reason=override_reason,
    )


def change_facts(ticket: Ticket, rates: ShopRates, now: datetime.datetime, entry: ChangeOrder):
    facts = facts_of(ticket, rates, now)
    facts.number, facts.ready_on, facts.override_reason = entry.number, entry.ready_on, entry.override_reason
    return facts


def change_on_paper(entry: ChangeOrder, new: Proposed, rates: ShopRates) -> Change:
    return Change(
        number=entry.number,
        n=entry.n,
        what=entry.sentences,
        why=entry.why,
        added_parts=entry.added_parts,
        added_labour=entry.added_labour,
        added_minutes=entry.added_minutes,
        added_total=entry.added_total,
        new_total=entry.total,
        old_total=new.agreed.total,
        consent_name=entry.consent_name,
        consent_way=entry.get_consent_way_display(),
        number_called=entry.number_called,
        consent_at=timezone.localtime(entry.consent_at),
        recorded_by=str(entry.recorded_by),
        new_places=[(place.letters, place.name, place.where) for place in new.new_places],
        replaces=f"{'change order' if new.agreed.change else 'quote'} {new.agreed.number}",
    )


def places_in(sheet: Document, found: Document) -> tuple[Place, ...]:
    return openings_of(found, parts_of(sheet)).places


def place_key(place: Place) -> tuple[str, ...]:
    """What makes two places the same before and after a change; letters move when openings are added."""
    return place.name, place.where, place.sizes
