"""Rows to facts: what the margin of one ticket follows from."""

import datetime
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from builds.agreed import Agreed, agreed_of
from builds.earnings.facts import Facts, Plan, Used, Worked, exact
from builds.earnings.plan import plan_of
from builds.models import ComeBack, ComeBackEnd, Line, Ticket, WorkEntry
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

    The shelf knows what was used, not what it had cost, so that only the parts of come-backs are here.
    """
    ends = ComeBackEnd.objects.filter(come_back__ticket=ticket, parts_cost__gt=0)
    for cost in ends.order_by("pk").values_list("parts_cost", flat=True):
        yield Used(line="", accessory="", quantity=Fraction(1), unit_cost=cost, come_back=True)
