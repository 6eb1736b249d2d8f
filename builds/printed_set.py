"""The papers that go to the bench with a boat, those that are wanted, as one PDF."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from builds import bench
from builds.actions.ground import Refused
from builds.actions.papers import facts_of, hole_templates
from builds.bench import ReadingRow
from builds.documents import Measured, PaperFacts, end_labels_pdf, test_sheet_pdf
from builds.documents.figures import moment, trimmed
from builds.models import HandOverSheet, Ticket, WorkOrder
from catalog import shelf
from shop import clock
from shop.pdf import joined

PAPERS = {
    "work_order": "Work order",
    "hole_templates": "Hole templates, true size",
    "end_labels": "Labels for cable ends",
    "test_sheet": "Test sheet",
    "hand_over": "Hand-over sheet and tag",
}
"""In the order in which they lie on the bench."""


def printed_set(ticket: Ticket, names: Sequence[str], paper: str) -> bytes:
    """Return the named papers as one PDF; what was printed and kept goes in as it is. Raises Refused."""
    order = bench.latest_order(ticket)
    if order is None:
        raise Refused("The work order is not printed yet. The counter prints it.")
    wanted = [name for name in PAPERS if name in names]
    if not wanted:
        raise Refused("No paper is chosen. Tick at least one.")
    return joined(*(MAKERS[name](ticket, order, paper) for name in wanted))


def kept_order(ticket: Ticket, order: WorkOrder, paper: str) -> bytes:
    return bytes(order.pdf)


def templates(ticket: Ticket, order: WorkOrder, paper: str) -> bytes:
    return hole_templates(ticket, paper)


def labels(ticket: Ticket, order: WorkOrder, paper: str) -> bytes:
    return end_labels_pdf(facts_now(ticket), order.agreed.sheet, order.agreed.estimate, paper)


def test_sheet(ticket: Ticket, order: WorkOrder, paper: str) -> bytes:
    return test_sheet_pdf(facts_now(ticket), [measured(row) for row in bench.tests_of(ticket)], paper)


def kept_hand_over(ticket: Ticket, order: WorkOrder, paper: str) -> bytes:
    sheet = HandOverSheet.objects.filter(ticket=ticket).first()
    if sheet is None:
        raise Refused("The boat is not handed over yet; its sheet is printed then.")
    return bytes(sheet.pdf)


def facts_now(ticket: Ticket) -> PaperFacts:
    return facts_of(ticket, shelf.rates_on(clock.today()), clock.now())


def measured(row: ReadingRow) -> Measured:
    """Return a test with its latest reading as the test sheet prints it."""
    kind, reading = row.kind, row.reading
    blank = Measured(kind.name, kind.done, row.row.number, row.row.name, row.row.expected, kind.unit)
    if reading is None:
        return blank
    figure = "" if reading.figure is None else trimmed(reading.figure, 3, kind.unit)
    by = f"{reading.by.get_short_name()}, {moment(clock.local(reading.at))}"
    return replace(blank, reading=figure, verdict=reading.get_verdict_display(), note=reading.note, by=by)


MAKERS: dict[str, Callable[[Ticket, WorkOrder, str], bytes]] = {
    "work_order": kept_order,
    "hole_templates": templates,
    "end_labels": labels,
    "test_sheet": test_sheet,
    "hand_over": kept_hand_over,
}
