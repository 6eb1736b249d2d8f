"""Build sheets in files: the catalogue that is shipped with the program, one sheet, several, or a folder of them."""

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from .document import LARGEST_BYTES, Catalogue, expand, parse_json, read_sheet
from .sheet import BuildSheet
from .specs import Problem, Unusable

CATALOGUE = Path(__file__).resolve().parents[2] / "fixtures" / "catalogue"
NO_SHEET = ".expect.json"
ACCEPTED = "a file with one build sheet in JSON, or one folder of them"


@dataclass(frozen=True)
class FileFault:
    """One thing that is wrong with a file. Its text is one line that any terminal can show."""

    file: str
    problem: Problem

    def __str__(self) -> str:
        return printable(f"{self.file}: {self.problem}")


class UnusableFiles(ValueError):
    """Files that cannot be used, with every fault found in them."""

    def __init__(self, faults: Iterable[FileFault]):
        self.faults = tuple(faults)
        super().__init__("; ".join(map(str, self.faults)))


def printable(text: str) -> str:
    """Return the text with what no terminal should be sent (controls, half characters) written as escapes."""
    if text.isprintable():
        return text
    return "".join(char if char.isprintable() else char.encode("unicode_escape").decode() for char in text)


def sheet_files(names: Sequence[str]) -> list[Path]:
    """Return the files that the names stand for: files in the order given, or the sheets of one folder by name.

    A folder's sheets are its *.json files without *.expect.json. Raises `UnusableFiles` where a folder stands beside
    other names, holds no sheet, or cannot be listed.
    """
    paths = [Path(name) for name in names]
    if len(paths) == 1 and paths[0].is_dir():
        return files_in(paths[0])
    folders = [path for path in paths if path.is_dir()]
    if folders:
        message = f"is a folder among other names; accepted: {ACCEPTED}"
        raise UnusableFiles(FileFault(str(folder), Problem("", message)) for folder in folders)
    return paths


def files_in(folder: Path) -> list[Path]:
    try:
        names = sorted(os.listdir(folder))
    except OSError as error:
        raise UnusableFiles([FileFault(str(folder), Problem("", f"cannot be listed: {reason(error)}"))]) from None
    wanted = [name for name in names if name.endswith(".json") and not name.endswith(NO_SHEET) and name[0] != "."]
    found = [folder / name for name in wanted if not (folder / name).is_dir()]
    if not found:
        message = "holds no build sheet; accepted: a folder with *.json files (*.expect.json are passed over)"
        raise UnusableFiles([FileFault(str(folder), Problem("", message))])
    return found


def reason(error: OSError) -> str:
    return (error.strerror or "the system gives no reason").lower()


def read_document(path: Path) -> Any:
    """Return the JSON value of a file. Raises `Unusable` where it cannot be opened or is no JSON."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise Unusable([Problem("", f"does not exist; accepted: {ACCEPTED}")]) from None
    except OSError as error:
        raise Unusable([Problem("", f"cannot be read: {reason(error)}; accepted: {ACCEPTED}")]) from None
    return parse_json(data)


def read_file(path: Path) -> BuildSheet:
    """Return the build sheet of a file, filled from the shipped catalogue. Raises `Unusable` with every problem."""
    return read_sheet(read_document(path), catalogue())


def expanded(path: Path) -> Mapping[str, Any]:
    """Return the document of a file with all that it takes from the shipped catalogue. Raises `Unusable`."""
    document = read_document(path)
    read_sheet(document, catalogue())
    filled: Mapping[str, Any] = expand(document, catalogue())
    return filled


@cache
def catalogue() -> Catalogue:
    """Return the catalogue shipped in `fixtures/catalogue/`, read once in a process."""
    prices = {
        record["id"]: {key: record[key] for key in ("unit_price", "unit_cost", "unit", "name")}
        for record in shipped("consumables")
    }
    return Catalogue(
        accessory_records={record["id"]: record for record in shipped("accessories")},
        operation_records={record["id"]: record for record in shipped("operations")},
        shop_record={**shipped("rates"), "consumables": prices},
    )


def shipped(name: str) -> Any:
    path = CATALOGUE / f"{name}.json"
    try:
        return read_document(path)
    except Unusable as error:
        raise UnusableFiles(FileFault(str(path), problem) for problem in error.problems) from None
