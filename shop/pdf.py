"""html -> PDF bytes, by a printer: a process of its own, bounded in time and memory, that fetches nothing."""

import io
import os

from shop.printer import SHEETS, TOO_MUCH, Refused, Unavailable
from shop.printing import printers_of

PAPERS = tuple(SHEETS)
LARGEST_HTML = 6_000_000
"""Letters of a page; a work order of three hundred steps has a twentieth. Time and memory grow with them."""


def pdf(html: str, paper: str = "a4") -> bytes:
    """Return a page of `templates/print/` as PDF bytes, on "a4" or "letter"; the same html gives the same bytes.

    Raises Unavailable without the Pango library, for a page that is too large, that takes too long or too much memory,
    and while too many wait; Refused where the html asks for a file that is not packaged or holds what cannot be drawn;
    and ValueError for a paper of another name.
    """
    if paper not in PAPERS:
        raise ValueError(f"no paper is called {paper}; accepted: {', '.join(PAPERS)}")
    if len(html) > LARGEST_HTML:
        raise Unavailable(TOO_MUCH)
    return printers_of(os.getpid()).lay_out(html, paper)


def joined(*pdfs: bytes) -> bytes:
    """Return the pages of one PDF after another's; the first file's pages, title and language stay as they are.

    The same files give the same bytes. Raises ValueError where none is given.
    """
    from pypdf import PdfWriter  # takes a tenth of a second, so on first use

    if not pdfs:
        raise ValueError("no PDF is given to join")
    first, *others = (io.BytesIO(one) for one in pdfs)
    writer, out = PdfWriter(clone_from=first), io.BytesIO()
    for other in others:
        writer.append(other)
    writer.write(out)
    return out.getvalue()


def marked(sheets: bytes, mark: bytes) -> bytes:
    """Return a PDF with the one page of `mark` printed over each of its pages, which have the same size.

    The same files give the same bytes.
    """
    from pypdf import PdfReader, PdfWriter

    over = PdfReader(io.BytesIO(mark)).pages[0]
    writer, out = PdfWriter(clone_from=io.BytesIO(sheets)), io.BytesIO()
    writer.pdf_header = sheets[:8].decode()
    for page in writer.pages:
        page.merge_page(over)
        page.compress_content_streams()
    writer.write(out)
    return out.getvalue()


def fonts_of(sheets: bytes) -> set[str]:
    """Return the names of the fonts on a PDF's first page."""
    from pypdf import PdfReader

    fonts = PdfReader(io.BytesIO(sheets)).pages[0]["/Resources"].get("/Font", {})
    return {str(font.get_object()["/BaseFont"]) for font in fonts.values()}


__all__ = ["PAPERS", "Refused", "Unavailable", "fonts_of", "joined", "marked", "pdf"]
