"""Printers: processes of their own that lay papers out, so that no paper takes time or memory from the pages.

A serving process starts a printer when one is first asked for, at most `MOST_AT_ONCE`, and keeps it warm. One that
takes too long or dies of a paper is replaced, and whoever asked is told so in a sentence. A printer gets no setting, no
secret and no open file of the process that started it, and ends with it.
"""

import atexit
import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from shop.printer import TOO_MUCH, Refused, Unavailable, receive, resource, send

MOST_AT_ONCE, MOST_WAITING = 2, 4
"""Papers of one serving process; a further one is refused in words, so that some of its threads are left for pages."""

MOST_MB = 1000
"""Address space of a printer; three hundred steps take four tenths of it."""

LONGEST_S = 60
"""Of a paper, once it is begun; and as long it waits for its turn."""

KEPT = frozenset(
    """
    PATH HOME LANG LC_ALL LC_CTYPE SYSTEMROOT XDG_CACHE_HOME XDG_DATA_HOME FONTCONFIG_FILE FONTCONFIG_PATH
    LD_LIBRARY_PATH DYLD_LIBRARY_PATH DYLD_FALLBACK_LIBRARY_PATH WEASYPRINT_DLL_DIRECTORIES PYTHONDONTWRITEBYTECODE
    """.split()  # noqa: SIM905
)
"""What a printer is told of the environment: where libraries and fonts are."""

Answer = tuple[str, bytes]
PROGRAM = Path(__file__).resolve().parent.parent
NOT_STARTED = "No PDF can be made: the printer does not start. The server's log says why."
BUSY = "Other papers are being printed. Print this one again in a minute."


class Printer:
    """One process that prints, with a folder of its own for its temporary files."""

    def __init__(self, most_mb: int, longest_s: float):
        self.longest_s = longest_s
        self.is_warm = self.is_at_work = self.is_killed = False
        self.folder = tempfile.mkdtemp(prefix="hullbench-printer-")
        try:
            self.process = self.started(most_mb)
        except OSError:
            shutil.rmtree(self.folder)
            raise

    def started(self, most_mb: int) -> subprocess.Popen:
        return subprocess.Popen(
            [sys.executable, "-m", "shop.printer", str(most_mb), str(int(self.longest_s)), self.folder],
            cwd=PROGRAM,
            env={name: value for name, value in os.environ.items() if name.upper() in KEPT}
            | dict.fromkeys(("TMPDIR", "TEMP", "TMP"), self.folder),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )

    def answer(self, paper: str, html: bytes) -> Answer | None:
        """Return how a page came out, or None where the printer ended over it. Raises Unavailable where none starts."""
        self.is_at_work = True  # Left so by an interruption: an answer that nobody took would be the next one's.
        answer = None
        with self.watched(), contextlib.suppress(OSError):
            self.is_warm = self.is_warm or receive(self.process.stdout) is not None
            if self.is_warm:
                send(self.process.stdin, paper, html)
                answer = receive(self.process.stdout)
        if not self.is_warm:
            raise Unavailable(NOT_STARTED)
        self.is_at_work = answer is None
        return answer

    @contextlib.contextmanager
    def watched(self) -> Iterator[None]:
        """Kill the process where what is done meanwhile takes too long; its pipes end then."""
        watch = threading.Timer(self.longest_s, self.kill)
        watch.start()
        try:
            yield
        finally:
            watch.cancel()
            watch.join()

    @property
    def is_ready(self) -> bool:
        return not (self.is_at_work or self.is_killed) and self.process.poll() is None

    def kill(self) -> None:
        self.is_killed = True
        self.process.kill()

    def end(self) -> None:
        self.kill()
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):  # What was not sent yet is of no use.
                pipe.close()
        self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


class Printers:
    """The printers of one process, each with one paper at a time; of those that are free the last used is on top."""

    def __init__(self, most: int = MOST_AT_ONCE, most_mb: int = MOST_MB, longest_s: float = LONGEST_S):
        self.most_mb, self.longest_s = most_mb, longest_s
        self.free: list[Printer] = []
        self.turns = threading.BoundedSemaphore(most)
        self.room = threading.BoundedSemaphore(most + MOST_WAITING)
        atexit.register(self.end)

    def lay_out(self, html: str, paper: str) -> bytes:
        """Return a page as PDF bytes. Raises Unavailable and Refused."""
        with self.turn(), self.printer() as printer:
            return pdf_of(printer.answer(paper, html.encode()))

    @contextlib.contextmanager
    def turn(self) -> Iterator[None]:
        """Wait for a turn. Raises Unavailable where too many wait already, or for too long."""
        if not self.room.acquire(blocking=False):
            raise Unavailable(BUSY)
        try:
            if not self.turns.acquire(timeout=self.longest_s):
                raise Unavailable(BUSY)
            try:
                yield
            finally:
                self.turns.release()
        finally:
            self.room.release()

    @contextlib.contextmanager
    def printer(self) -> Iterator[Printer]:
        printer = self.ready_one()
        try:
            yield printer
        finally:
            if printer.is_ready:
                self.free.append(printer)
            else:
                printer.end()

    def ready_one(self) -> Printer:
        with contextlib.suppress(IndexError):  # None is free.
            while not (printer := self.free.pop()).is_ready:
                printer.end()
            return printer
        try:
            return Printer(self.most_mb, self.longest_s)
        except OSError as error:
            raise Unavailable(NOT_STARTED) from error

    def end(self) -> None:
        while self.free:
            self.free.pop().end()


def pdf_of(answer: Answer | None) -> bytes:
    """Return the PDF of a printer's answer, or raise what it says."""
    match answer:
        case None:
            raise Unavailable(TOO_MUCH)
        case "pdf", pdf:
            return pdf
        case "refused", words:
            raise Refused(words.decode())
        case "unavailable", words:
            raise Unavailable(words.decode())
        case _, trace:
            raise RuntimeError(f"the printer failed:\n{trace.decode()}")


def bounds() -> str:
    """Return in words what holds a printer on this system."""
    if resource is None or sys.platform == "darwin":
        return f"at most {LONGEST_S} s each; this system bounds no memory"
    return f"at most {LONGEST_S} s and {MOST_MB} MB each"


@cache
def printers_of(process: int) -> Printers:
    """Return the printers of a process, by its number: one that is forked off starts its own."""
    return Printers()
