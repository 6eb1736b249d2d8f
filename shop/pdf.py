"""html -> PDF bytes: the only importer of WeasyPrint. One PDF after the other, and nothing is fetched from outside.

Two PDFs in threads of one process take longer than one after the other, so a lock keeps them in line.
"""

import contextlib
import gc
import hashlib
import io
import mimetypes
import threading
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

PAPERS = ("a4", "letter")
STATIC = Path(__file__).resolve().parent / "static"
SERVED = {".css": STATIC / "print", ".otf": STATIC / "fonts"}
"""The kinds of file that a PDF may take in, and the one folder that each comes from."""

LARGEST_HTML = 6_000_000
"""Letters of a page; a work order of three hundred steps has a tenth. Time and memory grow with them."""

_one_at_a_time = threading.Lock()


class Unavailable(RuntimeError):
    """No PDF can be made on this machine; the message says what brings it."""


class Refused(ValueError):
    """A page asked for something that is not packaged with the program."""


def pdf(html: str, paper: str = "a4") -> bytes:
    """Return a page of `templates/print/` as PDF bytes, on "a4" or "letter"; the same html gives the same bytes.

    Raises Unavailable without the Pango library or for a page that is too large, Refused where the html asks for a
    file that is not packaged, and ValueError for a paper of another name.
    """
    if paper not in PAPERS:
        raise ValueError(f"no paper is called {paper}; accepted: {', '.join(PAPERS)}")
    if len(html) > LARGEST_HTML:
        raise Unavailable("This paper is too large to print. Take lines off the ticket, or shorten the longest notes.")
    with _one_at_a_time, _garbage_left_alone():
        weasyprint, fetcher = _printer()
        from weasyprint.text.fonts import FontConfiguration
        from weasyprint.urls import FatalURLFetchingError

        fonts = FontConfiguration()
        try:
            sheets = [
                weasyprint.CSS(url=(STATIC / "print" / name).as_uri(), url_fetcher=fetcher, font_config=fonts)
                for name in ("print.css", *(["print-letter.css"] if paper == "letter" else []))
            ]
            document = weasyprint.HTML(string=html, url_fetcher=fetcher).render(font_config=fonts, stylesheets=sheets)
            return document.write_pdf(pdf_identifier=hashlib.sha256(f"{paper}\n{html}".encode()).digest()[:16])
        except FatalURLFetchingError as error:
            raise Refused(str(error)) from None


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


@contextlib.contextmanager
def _garbage_left_alone() -> Iterator[None]:
    """Keep the collector from a page that is still laid out: it finds nothing there and takes a third of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def packaged(url: str) -> Path | None:
    """Return the packaged file that a url names, or None for everything else."""
    parts = urlsplit(url)
    if parts.scheme != "file" or parts.netloc:
        return None
    path = Path(unquote(parts.path)).resolve()
    folder = SERVED.get(path.suffix)
    return path if folder and path.parent == folder and path.is_file() else None


@cache
def _printer() -> tuple[Any, Any]:
    """Return WeasyPrint and the fetcher that it is given; imported on first use, since it takes a third of a second."""
    try:
        import weasyprint
        from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse
    except OSError:
        raise Unavailable(
            "No PDF can be made: the Pango library is missing. "
            "On Debian, libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0 bring it."
        ) from None

    class PackagedOnly(URLFetcher):
        """Serves the packaged sheets and fonts; anything else ends the PDF."""

        def fetch(self, url, headers=None):
            path = packaged(url)
            if path is None:
                raise FatalURLFetchingError(f"{url[:80]} is not packaged with the program")
            kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, io.BytesIO(path.read_bytes()), {"Content-Type": kind})

    return weasyprint, PackagedOnly()
