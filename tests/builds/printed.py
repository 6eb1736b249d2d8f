"""What a printed page holds, measured: text with its size and place, lines of text, and the QR code read back."""

import io
import itertools
import re
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pdfplumber
import pypdfium2

from builds import documents
from tests.builds import hand_made

SMALLEST_PT = 10.5
MOST = Decimal("1137.31")
UNITS = r"(?:mm|cm|m|kg|g|ml|L|A|V|Ah|Wh|AWG|h|min|in|ft|lbf|lb|days?|°C|°|%)"


class Printed:
    """The pages of one PDF, each read once."""

    def __init__(self, data: bytes):
        self.document = pdfplumber.open(io.BytesIO(data))
        self.pages = self.document.pages

    @cache  # noqa: B019  (a paper lives as long as one test)
    def text(self, at: int) -> str:
        """Return the text of a page, every kind of space as a space."""
        return self.pages[at].extract_text(x_tolerance_ratio=0.2).replace("\u202f", " ").replace("\u00a0", " ")

    @property
    def texts(self) -> list[str]:
        return [self.text(at) for at in range(len(self.pages))]

    @property
    def whole(self) -> str:
        return "\n".join(self.texts)

    def words(self, at: int) -> list[dict]:
        return self.pages[at].extract_words(x_tolerance_ratio=0.2, extra_attrs=["size", "fontname"])

    def sizes(self, at: int) -> set[float]:
        """Return the sizes of all text on a page [pt]."""
        return {round(char["size"], 1) for char in self.pages[at].chars if not char["text"].isspace()}

    def outside(self, at: int) -> list[str]:
        """Return the text that reaches into the outer 10 mm of a page, where printers leave off."""
        page, edge = self.pages[at], 10 * 72 / 25.4
        return [
            char["text"]
            for char in page.chars
            if not char["text"].isspace()
            and not (
                edge <= char["x0"]
                and char["x1"] <= page.width - edge
                and edge <= char["top"]
                and char["bottom"] <= page.height - edge
            )
        ]

    def parted(self, at: int) -> list[str]:
        """Return numbers at the end of a line whose unit begins the next line of the same column."""
        lines = self.pages[at].extract_text_lines(x_tolerance_ratio=0.2, return_chars=False)
        return [
            f"{line['text']} | {after['text']}"
            for line, after in itertools.pairwise(lines)
            if re.search(r"\d$", line["text"])
            and re.match(rf"{UNITS}(?![A-Za-z])", after["text"])
            and abs(line["x0"] - after["x0"]) < 1
        ]

    def strokes(self, at: int) -> list[float]:
        """Return the width of every line that is drawn on a page [pt]; a filled bar counts with its thinner side."""
        page = self.pages[at]
        drawn = [shape["linewidth"] for shape in (*page.lines, *page.curves, *page.rects) if shape["stroke"]]
        bars = [min(rect["width"], rect["height"]) for rect in page.rects if rect["fill"] and not rect["stroke"]]
        return drawn + bars

    def colours(self, at: int) -> set:
        """Return every colour that a page is printed in."""
        page = self.pages[at]
        found = set()
        for shape in (*page.lines, *page.curves, *page.rects, *page.chars):
            if shape.get("fill", True):
                found.add(as_grey(shape["non_stroking_color"]))
            if shape.get("stroke"):
                found.add(as_grey(shape["stroking_color"]))
        return found


def quick_texts(data: bytes) -> list[str]:
    """Return the text of every page by PDFium, which reads a long paper in a fraction of the time."""
    document = pypdfium2.PdfDocument(data)
    try:
        texts = [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()
    return [" ".join(text.replace("\u202f", " ").split()) for text in texts]


def as_grey(colour) -> float | tuple:
    """Return a colour as a grey from 0 to 1; a colour that is none stays as it is."""
    if colour is None:
        return 0.0
    parts = tuple(colour) if isinstance(colour, list | tuple) else (colour,)
    return parts[0] if len(set(parts)) == 1 else parts


def modules_of(page, size: int) -> list[list[int]]:
    """Return the QR code of a page as rows of 0 and 1, read from a 1-bit picture at 100 dpi.

    The code is found by its outermost strokes and each module is read at its middle, as a scanner does.
    """
    strokes = [line for line in page.lines if abs(line["bottom"] - line["top"]) < 0.01 and line["linewidth"] > 1.5]
    left, right = min(line["x0"] for line in strokes), max(line["x1"] for line in strokes)
    module = (right - left) / size
    top = min(line["top"] for line in strokes) - module / 2
    picture = page.to_image(resolution=100).original.convert("L").point(lambda grey: 0 if grey < 128 else 255)
    scale = 100 / 72

    def dark(row: int, column: int) -> int:
        x, y = (left + (column + 0.5) * module) * scale, (top + (row + 0.5) * module) * scale
        return int(picture.getpixel((int(x), int(y))) == 0)

    return [[dark(row, column) for column in range(size)] for row in range(size)]


# The papers of hand-made tickets, each laid out once


def later_quote(facts, sheet, estimate, paper):
    """Return a quote that replaces another: as many differences as the ticket has lines, and a tolerance."""
    differences = [hand_made.marked(n) for n in range(1, len(sheet["lines"]) + 1)]
    return documents.quote_pdf(replace(facts, differences=differences, most=MOST), sheet, estimate, paper)


def changed_work_order(facts, sheet, estimate, paper):
    before = estimate_of(max(1, len(sheet["lines"]) - 1))
    return documents.work_order_pdf(replace(facts, before=before, **hand_made.changed()), sheet, estimate, paper)


def signature(facts, sheet, estimate, paper):
    """Return the signed page with as many places as the ticket has lines."""
    signing = hand_made.signing(len(sheet["lines"]), drawing=(((90, 200), (400, 90), (700, 210)), ((820, 200),)))
    return documents.signature_pdf(facts, sheet, estimate, signing, paper)


def change_order(facts, sheet, estimate, paper):
    """Return a change order with as many sentences and new places as the ticket has lines."""
    count = len(sheet["lines"])
    change = hand_made.change(
        what=[hand_made.marked(n) for n in range(1, count + 1)], new_places=hand_made.places(count)
    )
    return documents.change_order_pdf(facts, sheet, estimate, change, paper)


def invoice(facts, sheet, estimate, paper):
    return documents.invoice_pdf(facts, sheet, estimate, hand_made.invoice(), paper)


def credit_note(facts, sheet, estimate, paper):
    return documents.invoice_pdf(facts, sheet, estimate, hand_made.credit_note(why="A wrong part."), paper)


def receipt(facts, sheet, estimate, paper):
    return documents.receipt_pdf(facts, hand_made.receipt(), paper)


def hand_over(facts, sheet, estimate, paper):
    """Return a hand-over sheet with as many readings as the ticket has lines, the last one failed."""
    return documents.hand_over_pdf(facts, sheet, estimate, hand_made.handing(len(sheet["lines"])), paper)


def read_sheet(facts, sheet, estimate, paper):
    """Return a test sheet with a reading for each line, every second one not read yet."""
    return documents.test_sheet_pdf(facts, hand_made.measured(len(sheet["lines"])), paper)


PDFS = {
    "quote": documents.quote_pdf,
    "later_quote": later_quote,
    "work_order": documents.work_order_pdf,
    "changed_work_order": changed_work_order,
    "disclaimer": documents.disclaimer_pdf,
    "signature": signature,
    "change_order": change_order,
    "invoice": invoice,
    "credit_note": credit_note,
    "receipt": receipt,
    "hand_over": hand_over,
    "end_labels": documents.end_labels_pdf,
    "test_sheet": read_sheet,
}


@cache
def printed(name: str, lines: int, paper: str) -> Printed:
    return Printed(PDFS[name](hand_made.facts(), hand_made.sheet(lines), estimate_of(lines), paper))


def estimate_of(lines: int) -> dict:
    """Return the estimate of so many lines; ten of them are drilled and wired at most."""
    few = min(lines, 10)
    return hand_made.estimate(lines, openings=hand_made.openings(few), power=hand_made.power(few))


def one(name: str, *, facts=None, sheet=None, estimate=None, paper="a4") -> Printed:
    """Print one document, whatever is not given being that of a one-line ticket."""
    return Printed(
        PDFS[name](facts or hand_made.facts(), sheet or hand_made.sheet(), estimate or hand_made.estimate(), paper)
    )
