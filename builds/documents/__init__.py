"""Printed documents: from a sheet, its estimate and the ticket's facts to PDF bytes. Pure: no database, no clock.

Every paper leaves out what its estimate does not have. No cost and no margin is on any of them.
"""

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from django.template.loader import render_to_string

from shop.pdf import marked, pdf

from .bench_week import Week, bench_week_context
from .change_order import Change, change_order_context
from .disclaimer import Disclaimer, disclaimer_context
from .end_labels import end_labels_context
from .facts import PaperFacts
from .hand_over import HandOver, Tested, hand_over_context
from .hole_templates import hole_templates_context
from .invoice import Invoice, invoice_context
from .pictures import pictures_of
from .purchase_list import PurchaseGroup, PurchaseRow, purchase_list_context
from .quote import quote_context
from .receipt import Receipt, receipt_context
from .signing import Signing, signature_context
from .test_sheet import Measured, test_sheet_context
from .work_order import work_order_context

Document = Mapping[str, Any]
CONTEXTS = {
    "quote": quote_context,
    "work_order": work_order_context,
    "disclaimer": disclaimer_context,
    "hole_templates": hole_templates_context,
    "end_labels": end_labels_context,
}


def quote_pdf(facts: PaperFacts, sheet: Document, estimate: Document, paper: str) -> bytes:
    """Return the quote with its list of openings and the statement as PDF bytes, on "a4" or "letter".

    `sheet` is the whole build sheet document, with the accessory records and the shop's rates in it.
    """
    return pdf(html_of("quote", facts, sheet, estimate), paper)


def work_order_pdf(facts: PaperFacts, sheet: Document, estimate: Document, paper: str) -> bytes:
    """Return the work order as PDF bytes, on "a4" or "letter"."""
    return pdf(html_of("work_order", facts, sheet, estimate), paper)


def disclaimer_pdf(facts: PaperFacts, sheet: Document, estimate: Document, paper: str) -> bytes:
    """Return the statement on changes to the boat, with the list of openings, as PDF bytes, on "a4" or "letter"."""
    return pdf(html_of("disclaimer", facts, sheet, estimate), paper)


def hole_templates_pdf(facts: PaperFacts, sheet: Document, estimate: Document, paper: str) -> bytes:
    """Return the drilling templates of a ticket at true size as PDF bytes, on "a4" or "letter"."""
    return pdf(html_of("hole_templates", facts, sheet, estimate), paper)


def end_labels_pdf(facts: PaperFacts, sheet: Document, estimate: Document, paper: str) -> bytes:
    """Return the labels for the ends of the cables as PDF bytes, on "a4" or "letter"."""
    return pdf(html_of("end_labels", facts, sheet, estimate), paper)


def test_sheet_pdf(facts: PaperFacts, rows: Sequence[Measured], paper: str) -> bytes:
    """Return the test sheet, with what was measured so far, as PDF bytes."""
    return pdf(render_to_string("print/test_sheet.html", test_sheet_context(facts, rows)), paper)


def bench_week_pdf(week: Week, shop_name: str, at: datetime.datetime, paper: str) -> bytes:
    """Return the bench's week as PDF bytes; no price and no customer is on it."""
    return pdf(render_to_string("print/bench_week.html", bench_week_context(week, shop_name, at)), paper)


def signature_pdf(facts: PaperFacts, sheet: Document, estimate: Document, signing: Signing, paper: str) -> bytes:
    """Return the signed page, which follows the quote's own pages, as PDF bytes."""
    return pdf(render_to_string("print/signature.html", signature_context(facts, sheet, estimate, signing)), paper)


def change_order_pdf(facts: PaperFacts, sheet: Document, estimate: Document, change: Change, paper: str) -> bytes:
    """Return a change order as PDF bytes; sheet and estimate are those that hold from now on."""
    return pdf(render_to_string("print/change_order.html", change_order_context(facts, sheet, estimate, change)), paper)


def invoice_pdf(facts: PaperFacts, sheet: Document, estimate: Document, invoice: Invoice, paper: str) -> bytes:
    """Return an invoice or a credit note as PDF bytes."""
    return pdf(render_to_string("print/invoice.html", invoice_context(facts, sheet, estimate, invoice)), paper)


def receipt_pdf(facts: PaperFacts, receipt: Receipt, paper: str) -> bytes:
    """Return a receipt as PDF bytes."""
    return pdf(render_to_string("print/receipt.html", receipt_context(facts, receipt)), paper)


def hand_over_pdf(facts: PaperFacts, sheet: Document, estimate: Document, handing: HandOver, paper: str) -> bytes:
    """Return the hand-over sheet with the tag for the boat behind it as PDF bytes."""
    return pdf(render_to_string("print/hand_over.html", hand_over_context(facts, sheet, estimate, handing)), paper)


def with_head(paper_pdf: bytes, head: str, paper: str) -> bytes:
    """Return a paper that is signed with the journal's head in the foot of each page.

    Printed over the finished pages: the head depends on every paper before it, so that papers that are laid out side by
    side cannot know it yet.
    """
    if not head or not paper_pdf:
        return paper_pdf
    return marked(paper_pdf, pdf(render_to_string("print/head.html", {"left": head}), paper))


def purchase_list_pdf(facts: PaperFacts, groups: list[PurchaseGroup], currency: str, paper: str) -> bytes:
    """Return the purchase list as PDF bytes; it shows costs where the groups have them."""
    return pdf(render_to_string("print/purchase_list.html", purchase_list_context(facts, groups, currency)), paper)


def html_of(name: str, facts: PaperFacts, sheet: Document, estimate: Document) -> str:
    """Return the page of a document by its name, before it becomes a PDF."""
    context = CONTEXTS[name](facts, sheet, estimate) | {"pictures": pictures_of(name, facts, sheet, estimate)}
    return render_to_string(f"print/{name}.html", context)


__all__ = [
    "Change",
    "Disclaimer",
    "HandOver",
    "Invoice",
    "Measured",
    "PaperFacts",
    "PurchaseGroup",
    "PurchaseRow",
    "Receipt",
    "Signing",
    "Tested",
    "change_order_pdf",
    "disclaimer_pdf",
    "end_labels_pdf",
    "hand_over_pdf",
    "hole_templates_pdf",
    "html_of",
    "invoice_pdf",
    "purchase_list_pdf",
    "quote_context",
    "quote_pdf",
    "receipt_pdf",
    "signature_pdf",
    "test_sheet_pdf",
    "with_head",
    "work_order_pdf",
]
