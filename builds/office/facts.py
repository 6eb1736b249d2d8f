"""Rows to facts: what the margin of one ticket follows from."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from builds.agreed import Agreed, agreed_of
from builds.earnings.facts import Facts, Plan, Used, Worked, exact
from builds.earnings.plan import plan_of
from builds.models import ComeBack, ComeBackEnd, Line, Movement, Need, Ticket, WorkEntry
from builds.models.papers import KeptEstimate
from catalog import shelf
from shop import clock


def facts_of(ticket: Ticket) -> Facts | None:
    """Return the facts of a ticket as they are in the database now, or None where nothing is agreed."""
    agreed = agreed_of(ticket)
    if agreed is None:
        return None
    bundles = dict(Line.objects.filter(ticket=ticket).values_list("key", "bundle"))
    quoted, agreed_last = plans_of(agreed, bundles)
    return Facts(
        quoted,
        agreed_last,
        worked=tuple(worked_on(ticket)),
        used=tuple(used_on(ticket)),
        came_back=ComeBack.objects.filter(ticket=ticket).exists(),
    )


def plans_of(agreed: Agreed, bundles: dict[str, str]) -> tuple[Plan, Plan]:
    """Return the accepted quote and what was agreed last, as plans."""
    quoted = kept_plan(agreed.quote, bundles)
    return quoted, kept_plan(agreed.change, bundles) if agreed.change else quoted


def kept_plan(kept: KeptEstimate, bundles: dict[str, str]) -> Plan:
    sheet = kept.sheet
    accessories = {line["id"]: line["accessory"] for line in sheet["lines"]}
    categories = {code: kind["category"] for code, kind in sheet["accessories"].items()}
    return plan_of(kept.estimate, sheet["shop"], accessories, bundles, categories)


def worked_on(ticket: Ticket) -> Iterator[Worked]:
    """Yield the work entries of a ticket, each with what an hour of labour cost on its day."""
    cost_on: dict[datetime.date, Decimal] = {}
    for entry in WorkEntry.objects.filter(ticket=ticket):
        day = clock.local(entry.at).date()
        if day not in cost_on:
            cost_on[day] = shelf.rates_on(day).labour_cost_per_h
        yield Worked(
            line=entry.line_key or entry.operation_code,
            accessory=entry.accessory_code,
            phase=entry.phase,
            minutes=exact(entry.minutes),
            tech=str(entry.tech_id),
            cost_per_h=cost_on[day],
            come_back=entry.come_back_id is not None,
        )


def used_on(ticket: Ticket) -> Iterator[Used]:
    """Yield the parts that were used, with what they cost; a line without any cost what was estimated.

    At the bench: what the entries of the shelf took off for the ticket, at the weighted average of that moment. A type
    that was never counted, and an entry from before costs were kept, say nothing. On come-backs: what was written down.
    """
    yield from off_the_shelf(ticket)
    ends = ComeBackEnd.objects.filter(come_back__ticket=ticket, parts_cost__gt=0)
    for cost in ends.order_by("pk").values_list("parts_cost", flat=True):
        yield Used(line="", accessory="", quantity=Fraction(1), unit_cost=cost, come_back=True)


def off_the_shelf(ticket: Ticket) -> Iterator[Used]:
    """Yield what each line took off the shelf; lines that share a type share its entries by what each needed."""
    entries = Movement.objects.filter(ticket=ticket, kind=Movement.Kind.USED, item__accessory__isnull=False)
    taken: dict[int, list[tuple[Fraction, Decimal | None]]] = defaultdict(list)
    for item, quantity, unit_cost in entries.order_by("pk").values_list("item", "quantity", "unit_cost"):
        taken[item].append((-exact(quantity), unit_cost))
    known = {item: some for item, some in taken.items() if all(cost is not None for _, cost in some)}
    if not known:
        return
    needs = Need.objects.filter(ticket=ticket, used=True, item__in=known).exclude(line_key="").order_by("pk")
    needed: dict[int, dict[str, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    codes: dict[int, str] = {}
    for item, line, quantity, code in needs.values_list("item", "line_key", "quantity", "item__accessory__code"):
        needed[item][line] += exact(quantity)
        codes[item] = code
    for item, lines in needed.items():
        quantity = sum((part for part, _ in known[item]), Fraction(0))
        worth = sum((part * exact(cost) for part, cost in known[item]), Fraction(0))
        each, share = (worth / quantity if quantity else Fraction(0)), quantity / sum(lines.values())
        for line, wanted in lines.items():
            yield Used(line=line, accessory=codes[item], quantity=wanted * share, unit_cost=each)
