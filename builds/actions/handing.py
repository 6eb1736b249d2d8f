"""The hand-over: the boat leaves checked and tested, with its sheet; or with the owner's reason, which is printed."""

import datetime
from collections.abc import Callable
from dataclasses import replace

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from builds import bench
from builds.actions.ground import Refused, acting, require
from builds.actions.papers import sha256, work_order_facts
from builds.agreed import Agreed
from builds.balance import standing_of
from builds.bench import ReadingRow
from builds.documents import HandOver, Tested, hand_over_pdf, with_head
from builds.documents.figures import trimmed
from builds.models import HandOverSheet, ReadyTold, Ticket, WorkOrder
from catalog import shelf
from shop import clock, journal, roles

Render = Callable[..., bytes]


def hand_over(
    actor,
    ticket: Ticket,
    *,
    why: str = "",
    unpaid: str = "",
    paper: str = "a4",
    revision: int | None = None,
    render: Render = hand_over_pdf,
) -> HandOverSheet:
    """Hand the checked boat over with its sheet.

    A test that failed, was left out or has no reading keeps the boat here unless the owner writes a reason; money that
    is left to pay, unless someone writes why.
    """
    require(actor, "hand_over")
    order, rows = bench.latest_order(ticket), bench.tests_of(ticket)
    if order is None:
        raise Refused("There is no work order; nothing was done on this boat.")
    refuse_open_tests(actor, rows, why)
    refuse_unpaid(ticket, unpaid)
    now = clock.now()
    facts = work_order_facts(ticket, Agreed(order.quote, order.change_order), shelf.rates_on(clock.today()), now)
    handing = replace(handing_of(actor, ticket, order, rows, why, now), unpaid=unpaid.strip())
    sheet = render(facts, order.agreed.sheet, order.agreed.estimate, handing, paper)
    pdf = with_head(sheet, journal.head(), paper)
    with acting(actor, ticket, "hand_over", "hand over", revision, why) as changed:
        return HandOverSheet.objects.create(
            ticket=changed,
            at=now,
            by=actor,
            why=why.strip(),
            unpaid=unpaid.strip(),
            paper=paper,
            pdf=pdf,
            pdf_sha256=sha256(pdf),
        )


def refuse_open_tests(actor, rows: list[ReadingRow], why: str) -> None:
    left = [row for row in rows if row.open]
    if not left:
        return
    if not why.strip():
        first = left[0]
        how = first.reading.get_verdict_display() if first.reading else "not done"
        raise Refused(f"{len(left)} tests are open; {first.kind.name}, {first.row.name}: {how}. The owner may say why.")
    if not roles.may(actor, "override_stop"):
        raise PermissionDenied


def refuse_unpaid(ticket: Ticket, unpaid: str) -> None:
    left = standing_of(ticket).balance
    if left > 0 and not unpaid.strip():
        raise Refused(
            f"{left:,} {settings.CURRENCY} is left to pay. Take it, or write why the boat leaves before that."
        )


def tell_ready(actor, ticket: Ticket, *, way: str, name: str, revision: int | None = None) -> ReadyTold:
    """Write down that the customer was told that the boat is ready: how, and who heard it."""
    require(actor, "tell_ready")
    if way not in ReadyTold.Way.values:
        raise Refused("How the customer was told is missing.")
    if not name.strip():
        raise Refused("Who was told is missing. Write the name.")
    said = {"way": way, "name": name.strip()}
    with acting(actor, ticket, "tell_ready", "tell ready", revision, said=said) as changed:
        return ReadyTold.objects.create(ticket=changed, at=clock.now(), by=actor, way=way, name=name.strip())


def handing_of(
    actor, ticket: Ticket, order: WorkOrder, rows: list[ReadingRow], why: str, now: datetime.datetime
) -> HandOver:
    cured = bench.cured_of(ticket, order)
    return HandOver(
        at=timezone.localtime(now),
        by=str(actor),
        afloat_from=clock.local(cured) if isinstance(cured, datetime.datetime) else None,
        cure_is_open=cured if isinstance(cured, str) else "",
        tests=[tested(row) for row in rows],
        why=why.strip(),
    )


def tested(row: ReadingRow) -> Tested:
    reading = row.reading
    if reading is None:
        return Tested(row.kind.name, row.row.name, "", "not done")
    figure = "" if reading.figure is None else trimmed(reading.figure, 3, row.kind.unit)
    return Tested(row.kind.name, row.row.name, figure, reading.get_verdict_display(), reading.note)
