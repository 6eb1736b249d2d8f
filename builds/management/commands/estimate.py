"""`manage.py estimate`: build sheets in, estimates out. It needs no database."""

import json
import os
import sys
import tempfile
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from io import TextIOWrapper
from pathlib import Path
from typing import IO, Any

from django.core.management.base import BaseCommand

from builds.estimator.batch import JSON, TEXT, estimate_files
from builds.estimator.files import FileFault, UnusableFiles, expanded, printable, reason, sheet_files
from builds.estimator.specs import Problem, Unusable

UNUSABLE, FAILED, INTERRUPTED = 2, 1, 130
# Estimates wait here until every sheet has proved usable; beyond this size on disk.
HELD_IN_MEMORY = 32_000_000
SHOW_EVERY_S = 0.2


class Command(BaseCommand):
    help = (
        "Estimates build sheets. Prints a report for people; --json one estimate a line; --out a JSON file each. "
        "Exit 0: estimated. Exit 2: a file cannot be used; every fault is named, and nothing is printed or written."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("sheets", nargs="+", metavar="SHEET.json | DIR", help="build sheets, or one folder of them")
        parser.add_argument("--json", action="store_true", help="print one estimate a line, as JSON")
        parser.add_argument("--out", metavar="DIR", help="write each estimate to DIR, as NAME.json")
        parser.add_argument("--expand", action="store_true", help="print one sheet and all it takes from the catalogue")

    def handle(self, *args: Any, **options: Any) -> None:
        accept_any_letter()
        try:
            self.run(options)
        except UnusableFiles as error:
            for fault in error.faults:
                self.stderr.write(str(fault))
            sys.exit(UNUSABLE)
        except BrokenPipeError:
            # Whoever reads the output has seen enough; Python would complain once more on its way out.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except KeyboardInterrupt:
            self.stderr.write("Stopped. Nothing was printed or written.")
            sys.exit(INTERRUPTED)
        except Exception as error:
            if options["traceback"]:
                raise
            said = printable(f"{type(error).__name__}: {error}")
            self.stderr.write(f"Hullbench itself failed; nothing was estimated. --traceback shows where. {said}")
            sys.exit(FAILED)

    def run(self, options: dict[str, Any]) -> None:
        paths = sheet_files(options["sheets"])
        if options["expand"]:
            self.expand(paths)
            return
        out = Path(options["out"]) if options["out"] is not None else None
        if out is not None:
            check_out(out, paths)
        form = JSON if options["json"] or out is not None else TEXT
        with tempfile.SpooledTemporaryFile(HELD_IN_MEMORY, "w+", encoding="utf-8", newline="") as held:
            sizes = self.estimate(paths, form, held, options["verbosity"])
            held.seek(0)
            texts = (held.read(size) for size in sizes)
            if out is None:
                for i, text in enumerate(texts):
                    self.stdout.write(text if form == JSON or i == 0 else f"\n{'─' * 80}\n\n{text}", ending="")
            else:
                write_files(out, paths, texts)

    def estimate(self, paths: list[Path], form: str, held: IO[str], verbosity: int) -> list[int]:
        """Estimate every sheet into `held` and return the length of each text. Raises `UnusableFiles` for them all."""
        started, shown_at = time.monotonic(), 0.0
        watched = self.stderr.isatty() and len(paths) > 1
        sizes: list[int] = []
        faults: list[FileFault] = []
        for done, outcome in enumerate(estimate_files(paths, form), 1):
            sizes.append(held.write(outcome.text))
            faults += outcome.faults
            if watched and time.monotonic() - shown_at > SHOW_EVERY_S:
                shown_at = time.monotonic()
                self.stderr.write(f"\r{done} of {len(paths)} sheets", ending="")
        if watched:
            self.stderr.write(f"\r{' ' * 40}\r", ending="")
        if faults:
            raise UnusableFiles(faults)
        if watched or verbosity > 1:
            seconds = max(time.monotonic() - started, 1e-6)
            self.stderr.write(f"{len(paths)} sheets in {seconds:.2f} s: {len(paths) / seconds:.0f} sheets a second")
        return sizes

    def expand(self, paths: list[Path]) -> None:
        if len(paths) > 1:
            raise bad(str(paths[1]), "is one sheet too many; accepted: one sheet with --expand")
        try:
            document = expanded(paths[0])
        except Unusable as error:
            raise UnusableFiles(FileFault(str(paths[0]), problem) for problem in error.problems) from None
        self.stdout.write(json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1))


def accept_any_letter() -> None:
    """Let a terminal that lacks a letter show a question mark for it; what is piped on is UTF-8, as JSON is."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace", encoding=None if stream.isatty() else "utf-8")


def bad(file: str, message: str) -> UnusableFiles:
    return UnusableFiles([FileFault(file, Problem("", message))])


def check_out(out: Path, paths: list[Path]) -> None:
    """Raise `UnusableFiles` where the estimates have no folder, or would overwrite a sheet or one another."""
    if out.exists() and not out.is_dir():
        raise bad(str(out), "is a file; accepted: a folder for the estimates, or the name of a new one")
    sheets = {path.resolve() for path in paths}
    taken: dict[str, Path] = {}
    for path in paths:
        target = out / out_name(path)
        if target.resolve() in sheets:
            raise bad(str(path), f"would be overwritten by its estimate in {out}; accepted: another folder")
        if target.name in taken:
            raise bad(str(path), f"has the same name as {taken[target.name]}; accepted: one sheet of each name")
        taken[target.name] = path


def out_name(path: Path) -> str:
    return f"{path.stem}.json"


def write_files(out: Path, paths: list[Path], texts: Iterator[str]) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
        for path, text in zip(paths, texts, strict=True):
            (out / out_name(path)).write_text(text, encoding="utf-8")
    except OSError as error:
        raise bad(str(out), f"cannot be written: {reason(error)}") from None
