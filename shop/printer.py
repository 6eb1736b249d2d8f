"""The process that makes PDFs: pages come in by standard input, PDFs go out by standard output, one after the other.

`shop.printing` starts it as `python -m shop.printer`, with the most memory that it may take and the most processor time
of one page, and starts another where this one ended beyond either. It knows neither settings nor database, reads the
packaged style sheets and fonts, and opens no connection. The only importer of WeasyPrint.

A system without the `resource` module (Windows) bounds no memory, and macOS may not hold it to the bound.
"""

import contextlib
import gc
import hashlib
import io
import logging
import mimetypes
import os
import shutil
import signal
import sys
import traceback
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import IO, Any
from urllib.parse import unquote, urlsplit

try:
    import resource
except ImportError:  # Windows
    resource = None  # type: ignore[assignment]

STATIC = Path(__file__).resolve().parent / "static"
SERVED = {".css": STATIC / "print", ".otf": STATIC / "fonts"}
"""The kinds of file that a PDF may take in, and the one folder that each comes from."""

SHEETS = {"a4": ("print.css",), "letter": ("print.css", "print-letter.css")}
MB = 1_000_000
MUCH_GARBAGE = 300_000
"""Objects that a few short papers leave behind."""

LESS_URGENT = 5
"""How much a page on a screen goes before a paper where both want the processor."""

TOO_MUCH = "This paper is too large to print. Take lines off the ticket, or shorten the longest notes."
OUTSIDE = ("socket.", "subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.fork", "os.startfile")


class Unavailable(RuntimeError):
    """No PDF can be made of this page, or none on this machine; the message says what to do."""


class Refused(ValueError):
    """A page asked for something that is not packaged with the program, or holds what cannot be drawn."""


def layout(html: str, paper: str) -> bytes:
    """Return a page as PDF bytes; the same html gives the same bytes. Raises Refused and Unavailable."""
    _, fetcher = library()
    from weasyprint.urls import FatalURLFetchingError

    try:
        fonts, sheets = styles(paper)
        document = page()(string=html, url_fetcher=fetcher).render(font_config=fonts, stylesheets=sheets)
        return document.write_pdf(pdf_identifier=hashlib.sha256(f"{paper}\n{html}".encode()).digest()[:16])
    except FatalURLFetchingError as error:
        raise Refused(str(error)) from None


@cache
def styles(paper: str) -> tuple[Any, list[Any]]:
    """Return the packaged fonts and the style sheets of a paper, read once: a short paper takes as long as they do."""
    weasyprint, fetcher = library()
    from weasyprint.text.fonts import FontConfiguration

    fonts = FontConfiguration()
    files = [STATIC / "print" / name for name in SHEETS[paper]]
    return fonts, [weasyprint.CSS(url=file.as_uri(), url_fetcher=fetcher, font_config=fonts) for file in files]


@cache
def page() -> Any:
    """Return the library's page without its rules for notes, list markers and text from right to left.

    No paper has any of them, and working them out for every element of a long one takes a tenth of its time.
    """
    weasyprint, _ = library()
    from weasyprint.html import UA

    rules = [line for line in UA.splitlines() if not line.startswith(("::", "[dir"))]
    sheet = weasyprint.CSS(string="\n".join(rules))

    class PlainPage(weasyprint.HTML):
        def _ua_stylesheets(self, forms=False):
            return [sheet]

    return PlainPage


def packaged(url: str) -> Path | None:
    """Return the packaged file that a url names, or None for everything else."""
    parts = urlsplit(url)
    if parts.scheme != "file" or parts.netloc:
        return None
    path = Path(unquote(parts.path)).resolve()
    folder = SERVED.get(path.suffix)
    return path if folder and path.parent == folder and path.is_file() else None


@cache
def library() -> tuple[Any, Any]:
    """Return WeasyPrint and the fetcher that it is given. Raises Unavailable without the Pango library."""
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

    logging.getLogger("weasyprint").addHandler(NothingLeftOut(logging.ERROR))
    return weasyprint, PackagedOnly()


class NothingLeftOut(logging.Handler):
    """Ends a paper that the library would go on with, a drawing left out and a line in the log."""

    def emit(self, record: logging.LogRecord) -> None:
        cause = sys.exc_info()[1]
        if isinstance(cause, MemoryError | RecursionError):
            raise cause
        raise Refused(f"{record.getMessage()}: {cause}" if cause else record.getMessage())


# What is said over the pipes: a line with one word and a length, then so many bytes.


def send(pipe: IO[bytes], word: str, body: bytes) -> None:
    pipe.write(f"{word} {len(body)}\n".encode())
    pipe.write(body)
    pipe.flush()


def receive(pipe: IO[bytes]) -> tuple[str, bytes] | None:
    """Return the next word with its bytes, or None where the other side has ended."""
    word, _, length = pipe.readline().decode().partition(" ")
    if not length.endswith("\n"):
        return None
    body = pipe.read(int(length))
    return (word, body) if len(body) == int(length) else None


# The process itself


def main(most_mb: int, longest_s: int, folder: str) -> None:
    """Print until the input ends; `folder` is this process's own for temporary files and goes with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server; a printer ends with its input.
    pages, papers = sys.stdin.buffer, own_output()
    bound_memory(most_mb)
    step_back()
    # The collector finds nothing in a page that is still laid out, and takes a third of the time.
    gc.disable()
    with contextlib.suppress(Unavailable):
        page()
        for paper in SHEETS:
            styles(paper)
    refuse_outside()
    gc.freeze()
    send(papers, "ready", b"")
    with contextlib.suppress(BrokenPipeError):  # Nobody is left to take the answer.
        while asked := receive(pages):
            bound_time(longest_s)
            paper, html = asked
            send(papers, *answer(lambda paper=paper, html=html: layout(html.decode(), paper)))
            if gc.get_count()[0] > MUCH_GARBAGE:
                gc.collect()
    shutil.rmtree(folder, ignore_errors=True)


def answer(work: Callable[[], bytes]) -> tuple[str, bytes]:
    """Return the word for how a page came out, with the PDF or with what is to be said."""
    try:
        return "pdf", work()
    except Refused as error:
        return "refused", str(error).encode()
    except Unavailable as error:
        return "unavailable", str(error).encode()
    except RecursionError:
        return "unavailable", TOO_MUCH.encode()
    except MemoryError:
        os._exit(1)  # What is left of this process is not to be relied on.
    except Exception:
        return "failed", traceback.format_exc().encode()


def own_output() -> IO[bytes]:
    """Return standard output for PDFs alone; what a library prints goes to the log."""
    papers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    return papers


def bound_memory(most_mb: int) -> None:
    if resource:
        with contextlib.suppress(ValueError, OSError):  # macOS knows the limit and refuses to set it.
            resource.setrlimit(resource.RLIMIT_AS, (most_mb * MB, most_mb * MB))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def bound_time(longest_s: int) -> None:
    """End this process after so much more processor time, even where nobody is left to end it."""
    if resource:
        spent = resource.getrusage(resource.RUSAGE_SELF)
        until = int(spent.ru_utime + spent.ru_stime) + longest_s + 1
        resource.setrlimit(resource.RLIMIT_CPU, (until, resource.getrlimit(resource.RLIMIT_CPU)[1]))


def step_back() -> None:
    if hasattr(os, "nice"):
        os.nice(LESS_URGENT)


def refuse_outside() -> None:
    """Refuse, from here on, every connection and every other program, whoever asks for it."""

    def refuse(event: str, details: tuple[Any, ...]) -> None:
        if event.startswith(OUTSIDE):
            raise Refused(f"a printer does no {event}")

    sys.addaudithook(refuse)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
