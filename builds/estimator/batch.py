"""Many sheets, one after the other or on every core: the estimate of each as text, or what is wrong with its file."""

import json
import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from .estimate import document, estimate
from .files import FileFault, UnusableFiles, read_file
from .report import report
from .specs import Unusable

JSON, TEXT = "json", "text"
# Below this many sheets a second process takes longer to start than it saves.
WORTH_SHARING = 60
AT_A_TIME = 8


@dataclass(frozen=True)
class Outcome:
    """What one file came to: the text of its estimate, or its faults."""

    text: str
    faults: tuple[FileFault, ...] = ()


def estimate_file(path: Path, form: str) -> Outcome:
    """Return the estimate of one file: one line of JSON, or a report for people."""
    try:
        sheet = read_file(path)
        found = document(estimate(sheet))
    except Unusable as error:
        return Outcome("", tuple(FileFault(str(path), problem) for problem in error.problems))
    except UnusableFiles as error:
        return Outcome("", error.faults)
    except Exception as error:
        raise RuntimeError(f"{path}: {type(error).__name__}: {error}") from error
    return Outcome(json_line(found) if form == JSON else report(sheet, found))


def json_line(found: Mapping[str, Any]) -> str:
    """Return an estimate as one line of JSON; the same sheet gives the same line, byte for byte."""
    return json.dumps(found, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n"


def estimate_files(paths: Sequence[Path], form: str) -> Iterator[Outcome]:
    """Yield the outcome of each file in order; many files are shared out over the machine's cores."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    one = partial(estimate_file, form=form)
    if len(paths) < WORTH_SHARING or cores < 2:
        yield from map(one, paths)
        return
    with ProcessPoolExecutor(cores) as pool:
        yield from pool.map(one, paths, chunksize=AT_A_TIME)
