"""The catalogue as files: the shipped one is loaded into the database, trade data is refreshed into the shipped one.

A file is a JSON list of records. Everything is checked before one row or file is written.
"""

import json
from collections.abc import Container
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import models, transaction

from catalog.models import AccessoryType, Bundle, Consumable, HullType, ShopOperation, ShopRates
from catalog.records import Problem, Unusable, printable, record_of
from catalog.store import read_all, store, strangers

FIXTURES = settings.BASE_DIR / "fixtures"
CATALOGUE = FIXTURES / "catalogue"
JOBS = FIXTURES / "jobs"
# In the order of loading.
FILES = {
    "consumables": Consumable,
    "operations": ShopOperation,
    "hull_types": HullType,
    "accessories": AccessoryType,
    "bundles": Bundle,
}
# What the shop puts together itself: trade data may come without it.
OWN = {"bundles"}
LONGEST_LINE = 100


@dataclass(frozen=True)
class Loaded:
    """How many records of one kind a file held, and how many of them differed from the database."""

    kind: str
    records: int
    written: int


def load(folder: Path = CATALOGUE) -> list[Loaded]:
    """Load a folder of catalogue files, and the shop's first rules where it has none; all of it or nothing.

    A record that the database holds already is left alone, so that loading twice changes nothing. What only the shop
    keeps of a record (bin, lead time, place in a list) stays as it is there.
    """
    counts = []
    with transaction.atomic():
        for name, model in FILES.items():
            records = read_records(folder / f"{name}.json")
            fresh = _differing(model, records, _first_ledger(name, records, folder))
            if fresh:
                store(model, fresh, name)
            counts.append(Loaded(name, len(records), len(fresh)))
        rates = first_rates(folder)
        new = not ShopRates.objects.exists()
        if new:
            store(ShopRates, [rates], "rates")
        counts.append(Loaded("rates", 1, int(new)))
    return counts


def first_rates(folder: Path = CATALOGUE) -> dict:
    """Return the rules a new shop starts with: `rates.json`, and `policy.json` over it."""
    return read_file(folder / "rates.json") | read_file(folder / "policy.json")


def _first_ledger(name: str, records: list, folder: Path) -> dict[str, dict]:
    """Return the shop's own keys that records start with, by their code: what the shop of the demo begins with."""
    if name == "bundles":
        return {_code(record): {"place": number} for number, record in enumerate(records, 1)}
    path = folder / "lead_days.json"
    if name != "accessories" or not path.exists():
        return {}
    days, codes = read_file(path), {_code(record) for record in records}
    if not isinstance(days, dict):
        raise Unusable([Problem(str(path), "an object of days by accessory type is needed.")])
    if unknown := [code for code in days if code not in codes]:
        raise Unusable([Problem(f"lead_days.{printable(code)}", "accessories lacks this type.") for code in unknown])
    return {code: {"lead_days": value} for code, value in days.items()}


def _differing(model: type[models.Model], records: list, first: dict[str, dict]) -> list:
    """Return the records that the database does not hold as they are, each with the shop's own keys."""
    rows = model.objects.whole() if hasattr(model.objects, "whole") else model.objects.all()
    held = {row.code: row.ledger_record() for row in rows}
    fresh = []
    for record in records:
        mine = held.get(_code(record))
        if mine is None:
            fresh.append(first.get(_code(record), {}) | record if isinstance(record, dict) else record)
        elif any(mine.get(key) != value for key, value in record.items()):
            fresh.append({key: mine[key] for key in model.LEDGER} | record)
    return fresh


def _code(record: object) -> str:
    """Return the code of a record, or nothing where it has none that could be one."""
    code = record.get("id") if isinstance(record, dict) else None
    return code if isinstance(code, str) else ""


def refresh(source: Path, fixtures: Path = FIXTURES) -> list[Loaded]:
    """Write trade data of a folder into the shipped catalogue, each record in its one spelling, and the jobs beside.

    Raises Unusable with every problem before a file is written.
    """
    texts, counts, problems, known = {}, [], [], {}
    for name, model in FILES.items():
        records = read_records(_delivered(name, source, fixtures))
        try:
            drafts = read_all(model, records, name)
        except Unusable as unusable:
            problems.extend(unusable.problems)
            continue
        spelled = [record_of(draft.row, parts=draft.parts) for draft in drafts]
        known[name] = {record["id"]: record for record in spelled}
        problems.extend(dangling(name, spelled, known))
        if name == "bundles" and "accessories" in known:
            problems.extend(strangers(drafts, known["accessories"]))
        texts[fixtures / "catalogue" / f"{name}.json"] = to_text(spelled)
        counts.append(Loaded(name, len(records), len(spelled)))
    for job in sorted((source / "jobs").glob("*.json")):
        texts[fixtures / "jobs" / job.name] = to_text(read_file(job))
    if problems:
        raise Unusable(problems)
    for path, text in texts.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return [*counts, Loaded("jobs", len(texts) - len(FILES), len(texts) - len(FILES))]


def _delivered(name: str, source: Path, fixtures: Path) -> Path:
    """Return the file of a kind: the delivered one, or the shipped one of what the shop puts together itself."""
    path = source / f"{name}.json"
    return fixtures / "catalogue" / path.name if name in OWN and not path.exists() else path


def dangling(name: str, records: list[dict], known: dict[str, Container[str]]) -> list[Problem]:
    """Return a problem for each record that names a type or consumable which no file holds."""
    if name != "accessories":
        return []
    problems = []
    for number, record in enumerate(records):
        named = [("consumables", "item", use["item"], "consumables") for use in record["consumables"]]
        named += [("conflicts", "with", conflict["with"], "accessories") for conflict in record["conflicts"]]
        named += [
            ("requires", "any_of", code, "accessories")
            for need in record["requires"]
            for code in need["any_of"]
            if not code.startswith("tag:")
        ]
        for key, entry, code, file in named:
            if code not in known.get(file, ()):
                problems.append(Problem(f"accessories[{number}].{key}", f"{entry} names “{code}”, which {file} lacks."))
    return problems


def read_records(path: Path) -> list:
    """Return the records of a file, or raise Unusable with its path."""
    records = read_file(path)
    if not isinstance(records, list):
        raise Unusable([Problem(str(path), "a list of records is needed.")])
    return records


def read_file(path: Path):
    """Return the JSON value of a file, or raise Unusable with its path and line."""
    try:
        return json.loads(path.read_text(encoding="utf-8"), parse_constant=_refuse_constant)
    except FileNotFoundError:
        raise Unusable([Problem(str(path), "this file is missing.")]) from None
    except (ValueError, RecursionError) as problem:
        raise Unusable([Problem(str(path), f"this is not JSON: {problem}.")]) from None


def _refuse_constant(word: str):
    raise ValueError(f"{word} is not a number")


def to_text(value) -> str:
    """Return JSON that people can read and compare: what fits on a line stands on one line."""
    return _lines(value, 0) + "\n"


def _lines(value, indent: int) -> str:
    flat = json.dumps(value, ensure_ascii=False)
    if not isinstance(value, list | dict) or not value or len(flat) + indent <= LONGEST_LINE:
        return flat
    inner = " " * (indent + 1)
    if isinstance(value, list):
        rows = [_lines(entry, indent + 1) for entry in value]
        opening, closing = "[", "]"
    else:
        rows = [f"{json.dumps(key, ensure_ascii=False)}: {_lines(entry, indent + 1)}" for key, entry in value.items()]
        opening, closing = "{", "}"
    return f"{opening}\n{inner}" + f",\n{inner}".join(rows) + f"\n{' ' * indent}{closing}"
