"""Many tickets of one rig, accepted, worked on and handed over: written as rows, for the office's pages."""

import datetime
import json
import random

from builds.models import Acceptance, Quote, Ticket, WorkEntry
from shop import clock
from tests.builds.conftest import agreed_on_paper

OTHERS = "others"


def handed_over(rig, counter, tech, count, times=1.0, sd=0.15, seed=1, days_apart=3):
    """Accept the rig's quote, then write `count` tickets more that agreed to the same, each worked on in all phases.

    Work takes `times` its likely minutes, give or take `sd`: a figure, or one by the code of the type or operation and
    one for OTHERS.
    """
    quote = agreed_on_paper(counter, rig).agreed_quote
    now = clock.now()
    moments = [now - datetime.timedelta(days=days_apart * (n + 1)) for n in range(count)]
    tickets = Ticket.objects.bulk_create(
        Ticket(
            number=f"H-{n:04}",
            title=rig.title,
            tech=tech,
            counter=counter,
            hull_id=rig.hull_id,
            state="handed_over",
            opened_at=at,
            changed_at=at,
            state_at=at,
        )
        for n, at in enumerate(moments)
    )
    first = Quote.objects.get(pk=quote.pk)
    said = {field.attname: getattr(first, field.attname) for field in Quote._meta.concrete_fields if field.name != "id"}
    quotes = Quote.objects.bulk_create(
        Quote(**said | {"ticket_id": ticket.pk, "number": f"Q-{ticket.number}", "issued_at": ticket.state_at})
        for ticket in tickets
    )
    Acceptance.objects.bulk_create(
        Acceptance(quote=one, way="paper", name="Customer", at=one.issued_at, pdf_sha256=one.pdf_sha256)
        for one in quotes
    )
    for ticket, one in zip(tickets, quotes, strict=True):
        ticket.agreed_quote = one
    Ticket.objects.bulk_update(tickets, ["agreed_quote"])
    draw = random.Random(seed)
    WorkEntry.objects.bulk_create(
        entry for ticket in tickets for entry in entries(first, ticket, tech, ticket.state_at, times, sd, draw)
    )
    return tickets


def entries(quote, ticket, tech, at, times, sd, draw):
    kinds = {line["id"]: line["accessory"] for line in json.loads(quote.sheet_json)["lines"]}
    for line in quote.estimate["labour"]["lines"]:
        code = kinds.get(line["line"], line["line"])
        factor = (times.get(code, times.get(OTHERS, 1.0)) if isinstance(times, dict) else times) * draw.lognormvariate(
            0, sd
        )
        where = {"line_key": line["line"]} if line["line"] in kinds else {"operation_code": line["line"]}
        accessory = code if line["line"] in kinds else ""
        for phase, minutes in line["by_phase"].items():
            if minutes:
                yield WorkEntry(
                    ticket=ticket,
                    tech=tech,
                    at=at,
                    phase=phase,
                    minutes=minutes * factor,
                    accessory_code=accessory,
                    **where,
                )
