"""Tickets that are accepted and shelves that are counted, for the tests of parts."""

import datetime
import json
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction

from builds import stock
from builds.actions import holding, lines, papers, shelf, tickets
from builds.models import StockItem, Ticket
from catalog.models import AccessoryType, HullType
from shop import clock
from tests.builds.conftest import agreed_on_paper, whole


def kind(code):
    return AccessoryType.objects.get(code=code)


def item(code):
    return StockItem.objects.get(accessory__code=code)


def counted(actor, **how_many):
    """Count accessory types, for a reason where they were counted before."""
    figures = {shelf.item_of(kind(code)).pk: (Decimal(many), None) for code, many in how_many.items()}
    shelf.count(actor, figures, why="counted anew")


def draft(counter, *wanted, title="Dawn rig"):
    """A draft with so many of each type: (code, how many) or (code, how many, who supplies it)."""
    ticket = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title=title)
    for code, many, *by in wanted:
        mounting = {"rod_holder_flush_tube": "rivet"}.get(code, "")
        figures = {"supplied_by": by[0]} if by else {}
        lines.add_line(counter, ticket, kind(code), quantity=many, mounting=mounting, **figures)
    return whole(ticket)


def accepted(counter, *wanted, title="Dawn rig"):
    ticket = draft(counter, *wanted, title=title)
    return agreed_on_paper(counter, ticket)


def on_the_bench(counter, *wanted):
    ticket = accepted(counter, *wanted)
    papers.issue_work_order(counter, ticket)
    return whole(ticket)


def standing(code):
    row = stock.items().get(accessory__code=code)
    return stock.standings([row])[row.pk]


def held(ticket, code):
    """How much of a type the ticket holds."""
    return sum(one.held for one in standing(code).needs if one.need.ticket_id == ticket.pk)


@dataclass
class Agreed:
    """Stands for what a customer agreed to: the types of its lines, by line key."""

    wanted: dict[str, tuple[str, int]]
    ready_on: datetime.date = field(default_factory=clock.today)

    @property
    def sheet_json(self):
        return json.dumps(
            {
                "lines": [
                    {"id": key, "accessory": code, "quantity": many, "supplied_by": "shop"}
                    for key, (code, many) in self.wanted.items()
                ]
            }
        )

    @property
    def estimate(self):
        return {"labour": {"bench_min": 60.0, "ready_h": 1.0}, "consumables": []}


def hold(ticket, **wanted):
    """Let a ticket hold what is agreed, by line key: L1=("anchor_trolley", 2)."""
    with transaction.atomic():
        holding.hold(Ticket.objects.select_for_update().get(pk=ticket.pk), Agreed(wanted))
