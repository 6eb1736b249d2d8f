"""A file for the catalogue: what it would change is shown first; then all of it is written, or nothing."""

import datetime
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db import models, transaction

from catalog.exchange import FILES, dangling, to_text
from catalog.models import AccessoryType
from catalog.records import Draft, Problem, Unusable, record_of
from catalog.store import KEYS, read_all, strangers, write
from catalog.tables import from_csv, to_csv

LARGEST_BYTES = 5_000_000
PLACE = re.compile(r"(?P<kind>\w+)\[(?P<number>\d+)\](?:\.(?P<column>\w+))?(?P<rest>.*)", re.DOTALL)


@dataclass(frozen=True)
class Change:
    """What a file does to one record: new, or the keys that differ with what stood and what comes."""

    code: str
    name: str
    is_new: bool
    keys: tuple[tuple[str, object, object], ...] = ()


@dataclass
class Proposal:
    """What a file would do to the catalogue; records that it does not name stay as they are."""

    kind: str
    changes: list[Change] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    same: int = 0


def exported(kind: str, as_csv: bool) -> str:
    """Return all records of a kind, with the shop's own keys, as a table or as JSON."""
    records = [row.ledger_record() for row in rows_of(FILES[kind]).order_by("code")]
    return to_csv(FILES[kind], records) if as_csv else to_text(records)


def rows_of(model: type[models.Model]) -> models.QuerySet:
    return model.objects.whole() if hasattr(model.objects, "whole") else model.objects.all()


def text_of(data: bytes) -> str:
    """Return the text of a file. Raises Unusable where it is too large or no UTF-8."""
    if len(data) > LARGEST_BYTES:
        raise Unusable([Problem("", f"The file is larger than {LARGEST_BYTES // 1_000_000} MB.")])
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Unusable([Problem("", f"The file is no UTF-8 text: byte {error.start + 1} does not fit.")]) from None
    if "\x00" in text:
        raise Unusable([Problem("", "The file holds a zero byte; it is no text.")])
    return text


def proposal(kind: str, text: str, today: datetime.date) -> Proposal:
    """Return what a file would change. Raises Unusable with every problem, by row and column."""
    model, is_json = FILES[kind], text.lstrip("\ufeff \t\r\n").startswith(("[", "{"))
    records = json_records(text) if is_json else from_csv(model, text)
    held = {row.code: row.ledger_record() for row in rows_of(model)}
    try:
        drafts = read_all(model, [with_own_keys(model, record, held) for record in records], kind)
        if problems := list(links_missing(kind, drafts, held)):
            raise Unusable(problems)
    except Unusable as unusable:
        raise Unusable([by_row(problem, is_json) for problem in unusable.problems]) from None
    return compared(kind, drafts, held, today)


def compared(kind: str, drafts: list[Draft], held: dict[str, dict], today: datetime.date) -> Proposal:
    """Return what drafts would change against the records that are held, by code."""
    model, found = FILES[kind], Proposal(kind)
    for draft in drafts:
        add(found, model, draft, held.get(getattr(draft.row, KEYS[model])), today)
    return found


def add(found: Proposal, model: type[models.Model], draft: Draft, before: dict | None, today: datetime.date) -> None:
    """Add one record to the proposal. A changed price is dated today; the date of a price never goes back."""
    after = record_of(draft.row, ledger=True, parts=draft.parts)
    if before and "priced_on" in model.LEDGER:
        draft.row.priced_on = date_of_price(before, after, today)
        after["priced_on"] = draft.row.priced_on.isoformat() if draft.row.priced_on else None
    keys = tuple(
        (key, (before or {}).get(key), after[key]) for key in after if before and before.get(key) != after[key]
    )
    if before and not keys:
        found.same += 1
        return
    code, name = getattr(draft.row, KEYS[model]), getattr(draft.row, "name", "")
    found.changes.append(Change(code, str(name), before is None, keys))
    found.drafts.append(draft)


def date_of_price(before: dict, after: dict, today: datetime.date) -> datetime.date | None:
    dates = [datetime.date.fromisoformat(one["priced_on"]) for one in (before, after) if one.get("priced_on")]
    if any(before.get(key) != after.get(key) for key in ("price", "cost")):
        given = after.get("priced_on") != before.get("priced_on")
        return max(dates) if given and dates else today
    return max(dates, default=None)


def json_records(text: str) -> list:
    try:
        records = json.loads(text.removeprefix("\ufeff"), parse_constant=refuse_constant)
    except (ValueError, RecursionError) as error:
        raise Unusable([Problem("", f"The file is not JSON: {error}.")]) from None
    if not isinstance(records, list):
        raise Unusable([Problem("", "The file holds no list of records.")])
    return records


def refuse_constant(word: str):
    raise ValueError(f"{word} is not a number")


def with_own_keys(model: type[models.Model], record: object, held: dict[str, dict]) -> object:
    """Return the record with the shop's own keys that the file leaves out, as they are held."""
    code = record.get("id") if isinstance(record, dict) else None
    mine = held.get(code) if isinstance(code, str) else None
    if mine is None or not isinstance(record, dict):
        return record
    return {key: mine[key] for key in model.LEDGER} | record


def links_missing(kind: str, drafts: list[Draft], held: dict[str, dict]) -> Iterator[Problem]:
    """Yield a problem for each record that names what neither the file nor the catalogue has."""
    if kind == "bundles":
        types = {row.code: row.record() for row in rows_of(AccessoryType)}
        yield from strangers(drafts, types)
    elif kind == "accessories":
        known = {"accessories": {*held, *(draft.row.code for draft in drafts)}}
        known["consumables"] = set(FILES["consumables"].objects.values_list("code", flat=True))
        yield from dangling(kind, [record_of(draft.row, parts=draft.parts) for draft in drafts], known)


def by_row(problem: Problem, is_json: bool) -> Problem:
    """Return a problem with the row and the column of the file instead of a path."""
    place = PLACE.match(problem.path)
    if place is None:
        return problem
    number = int(place["number"]) + 1
    where = f"record {number}" if is_json else f"row {number + 1}"
    if place["column"]:
        where += f", column {place['column']}{place['rest']}"
    return Problem(where, problem.message)


def write_proposal(found: Proposal) -> list[models.Model]:
    """Write all of a proposal in one transaction, and return the rows."""
    model = FILES[found.kind]
    with transaction.atomic():
        return write(model, found.drafts) if found.drafts else []
