"""What a field of the build sheet accepts, and the one reader that checks a document against it.

A dataclass names the spec of each field with `of(spec, default)`. `read(Record(cls), document)` then returns an
instance, or raises `Unusable` with every problem found, each with its JSON path and what is accepted.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, dataclass, field, fields
from decimal import Decimal
from functools import cache
from typing import Any

MONEY = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,6})?")
NO_TEXT = re.compile("[\x00\ud800-\udfff]")
WHOLE_TEXT = "text without nul and without half characters"
SHOWN_AT_MOST = 60


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with a document: where (a JSON path such as `lines[2].accessory`) and what."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message


class Unusable(ValueError):
    """A document that cannot be used, with every problem found in it."""

    def __init__(self, problems: Iterable[Problem]):
        self.problems = tuple(problems)
        super().__init__("; ".join(str(problem) for problem in self.problems))


class Refused(Exception):
    """A value was refused; its problem is already noted."""


class Notes:
    """Collects problems while a document is read."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, path: str, message: str) -> None:
        self.problems.append(Problem(path, message))

    def refuse(self, path: str, message: str) -> Refused:
        self.add(path, message)
        return Refused()


class NamedTwice(dict[str, Any]):
    """An object of a document that gives the names in `twice` more than once; it holds the last value of each."""

    def __init__(self, named: Mapping[str, Any], twice: Iterable[str]):
        super().__init__(named)
        self.twice = tuple(twice)

    def note(self, prefix: str, notes: Notes) -> None:
        for name in self.twice:
            notes.add(f"{prefix}{name}", "is given twice in one object; accepted: once")


def copied(record: Mapping[str, Any]) -> dict[str, Any]:
    """Return a copy of an object that still knows which of its names were given twice."""
    return NamedTwice(record, record.twice) if isinstance(record, NamedTwice) else dict(record)


def shown(value: object) -> str:
    """Return a value as a short text for a message."""
    if isinstance(value, str):
        text = f'"{value}"'
    elif value is None:
        text = "null"
    elif isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, float) and not math.isfinite(value):
        text = "NaN" if math.isnan(value) else f"{'-' if value < 0 else ''}Infinity"
    elif isinstance(value, Mapping):
        text = "an object"
    elif isinstance(value, list | tuple):
        text = "a list"
    elif isinstance(value, int) and abs(value) > 10**30:
        text = "a huge number"
    else:
        text = str(value)
    return text if len(text) <= SHOWN_AT_MOST else text[: SHOWN_AT_MOST - 1] + "…"


@dataclass(frozen=True, kw_only=True)
class Spec:
    """What one value may be."""

    null: bool = False

    def accepts(self) -> str:
        raise TypeError(type(self).__name__)

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        raise TypeError(type(self).__name__)

    def read(self, value: Any, path: str, notes: Notes) -> Any:
        if value is None and self.null:
            return None
        return self.take(value, path, notes)

    def wrong(self, value: Any, path: str, notes: Notes) -> Refused:
        accepted = self.accepts() + (" or null" if self.null else "")
        return notes.refuse(path, f"is {shown(value)}; accepted: {accepted}")


@dataclass(frozen=True, kw_only=True)
class Number(Spec):
    """A finite number within bounds."""

    low: float
    high: float
    above: bool = False
    whole: bool = False

    def accepts(self) -> str:
        kind = "a whole number" if self.whole else "a number"
        start = f"above {self.low:g}" if self.above else f"from {self.low:g}"
        return f"{kind} {start} {'and at most' if self.above else 'to'} {self.high:g}"

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.wrong(value, path, notes)
        if isinstance(value, int) and abs(value) > 10**15:
            raise self.wrong(value, path, notes)
        number = float(value)
        within = math.isfinite(number) and self.low <= number <= self.high and not (self.above and number == self.low)
        if not within or (self.whole and number != int(number)):
            raise self.wrong(value, path, notes)
        return int(number) if self.whole else number + 0.0  # -0.0 becomes 0.0


@dataclass(frozen=True, kw_only=True)
class OneNumber(Spec):
    """One of a few numbers."""

    options: tuple[float, ...]

    def accepts(self) -> str:
        return "one of " + ", ".join(f"{option:g}" for option in self.options)

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float) or value not in self.options:
            raise self.wrong(value, path, notes)
        return next(option for option in self.options if option == value)


def is_text(value: str) -> bool:
    """Return whether a string is free of nul and of half characters (lone surrogates)."""
    return NO_TEXT.search(value) is None


@dataclass(frozen=True, kw_only=True)
class Text(Spec):
    """A text, not blank unless `blank`."""

    longest: int = 2000
    blank: bool = False

    def accepts(self) -> str:
        return f"a text of {'0' if self.blank else '1'} to {self.longest} characters"

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if not isinstance(value, str) or len(value) > self.longest or not (self.blank or value.strip()):
            raise self.wrong(value, path, notes)
        if not is_text(value):
            raise notes.refuse(path, f"holds a character that is no text; accepted: {WHOLE_TEXT}")
        return value


@dataclass(frozen=True, kw_only=True)
class Choice(Spec):
    """One of a few words."""

    options: tuple[str, ...]

    def accepts(self) -> str:
        return "one of " + ", ".join(self.options)

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if not isinstance(value, str) or value not in self.options:
            raise self.wrong(value, path, notes)
        return value


@dataclass(frozen=True, kw_only=True)
class Flag(Spec):
    """true or false."""

    def accepts(self) -> str:
        return "true or false"

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if not isinstance(value, bool):
            raise self.wrong(value, path, notes)
        return value


@dataclass(frozen=True, kw_only=True)
class Amount(Spec):
    """Money or an exact fraction, written as a text so that no digit is lost."""

    low: Decimal = Decimal(0)
    high: Decimal = Decimal(10_000_000)
    example: str = "129.50"

    def accepts(self) -> str:
        return f'a decimal number as a text, such as "{self.example}", from {self.low} to {self.high}'

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if not isinstance(value, str) or not MONEY.fullmatch(value):
            raise self.wrong(value, path, notes)
        amount = Decimal(value) + 0  # -0 becomes 0
        if not self.low <= amount <= self.high:
            raise self.wrong(value, path, notes)
        return amount


@dataclass(frozen=True, kw_only=True)
class ListOf(Spec):
    """A list of values of one kind; `unique` names the attribute that no two may share."""

    item: Spec
    longest: int = 5000
    shortest: int = 0
    unique: str | None = None

    def accepts(self) -> str:
        return f"a list of {self.shortest} to {self.longest}"

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if not isinstance(value, list | tuple) or not self.shortest <= len(value) <= self.longest:
            raise self.wrong(value, path, notes)
        taken, failed = [], self.shared(value, path, notes)
        for i, item in enumerate(value):
            try:
                taken.append(self.item.read(item, f"{path}[{i}]", notes))
            except Refused:
                failed = True
        if failed:
            raise Refused
        return tuple(taken)

    def shared(self, value: Iterable[Any], path: str, notes: Notes) -> bool:
        """Note each record that has the name of an earlier one, and return whether there was any."""
        seen: dict[str, int] = {}
        before = len(notes.problems)
        for i, item in enumerate(value):
            key = item.get(self.unique) if self.unique and isinstance(item, Mapping) else None
            if isinstance(key, str) and seen.setdefault(key, i) != i:
                notes.add(
                    f"{path}[{i}].{self.unique}", f"is {shown(key)} as {path}[{seen[key]}]; accepted: a name of its own"
                )
        return len(notes.problems) > before


@dataclass(frozen=True, kw_only=True)
class MapOf(Spec):
    """An object whose keys are names and whose values are of one kind. With `keys`, only these names."""

    item: Spec
    keys: tuple[str, ...] | None = None
    longest: int = 20_000

    def accepts(self) -> str:
        return "an object with names and values" + (f" (names: {', '.join(self.keys)})" if self.keys else "")

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if not isinstance(value, Mapping) or len(value) > self.longest:
            raise self.wrong(value, path, notes)
        prefix = f"{path}." if path else ""
        taken, failed = {}, isinstance(value, NamedTwice)
        if isinstance(value, NamedTwice):
            value.note(prefix, notes)
        for key, item in value.items():
            at = f"{prefix}{key}"
            if self.keys is not None and key not in self.keys:
                notes.add(at, f"is not known; accepted: {', '.join(self.keys)}")
                failed = True
                continue
            if not is_text(key):
                notes.add(at, f"is a name with a character that is no text; accepted: {WHOLE_TEXT}")
                failed = True
                continue
            try:
                taken[key] = self.item.read(item, at, notes)
            except Refused:
                failed = True
        if failed:
            raise Refused
        return taken


@dataclass(frozen=True, kw_only=True)
class Record(Spec):
    """An object with the fields of a dataclass.

    The class may check what fields are to each other: in `faults()` of an instance whose fields are all well formed,
    or in a static `faults_in(document)`, which looks at the object as it was written, well formed or not.
    """

    cls: type
    null_is_absent: bool = False

    def accepts(self) -> str:
        return "an object"

    def take(self, value: Any, path: str, notes: Notes) -> Any:
        if isinstance(value, self.cls):
            return value
        if not isinstance(value, Mapping):
            raise self.wrong(value, path, notes)
        before = len(notes.problems)
        prefix = f"{path}." if path else ""
        if isinstance(value, NamedTwice):
            value.note(prefix, notes)
        given = self.fields(value, prefix, notes)
        if given is not None:
            instance = self.cls(**given)
            self.note_faults(getattr(instance, "faults", None), (), prefix, notes)
        self.note_faults(getattr(self.cls, "faults_in", None), (value,), prefix, notes)
        if len(notes.problems) > before or given is None:
            raise Refused
        return instance

    def fields(self, value: Mapping[str, Any], prefix: str, notes: Notes) -> dict[str, Any] | None:
        """Return the fields that were given, by attribute; None where one of them was refused or is missing."""
        specs = specs_of(self.cls)
        for key in value:
            if key not in specs:
                notes.add(f"{prefix}{key}", f"is not known here; accepted: {', '.join(specs)}")
        given, whole = {}, True
        for key, (name, spec, required) in specs.items():
            if key not in value:
                if required:
                    notes.add(f"{prefix}{key}", f"is missing; accepted: {spec.accepts()}")
                    whole = False
            elif not (value[key] is None and self.null_is_absent and not required):
                try:
                    given[name] = spec.read(value[key], f"{prefix}{key}", notes)
                except Refused:
                    whole = False
        return given if whole else None

    @staticmethod
    def note_faults(
        check: Callable[..., Iterable[tuple[str, str]]] | None, about: tuple[Any, ...], prefix: str, notes: Notes
    ) -> None:
        for at, message in check(*about) if check else ():
            notes.add(f"{prefix}{at}" if at else prefix.removesuffix("."), message)


def of(spec: Spec, default: Any = MISSING, *, key: str | None = None) -> Any:
    """Return a dataclass field that carries its spec; `key` is its name in the document where Python has another."""
    metadata = {"spec": spec, "key": key}
    if default is MISSING:
        return field(metadata=metadata)
    if isinstance(default, dict):
        return field(default_factory=lambda: dict(default), metadata=metadata)
    return field(default=default, metadata=metadata)


@cache
def specs_of(cls: type) -> dict[str, tuple[str, Spec, bool]]:
    """Return a dataclass's fields in order: key in the document -> (attribute, spec, whether it must be given)."""
    return {
        f.metadata["key"] or f.name: (
            f.name,
            f.metadata["spec"],
            f.default is MISSING and f.default_factory is MISSING,
        )
        for f in fields(cls)
        if "spec" in f.metadata
    }


def read(spec: Spec, value: Any, path: str = "") -> Any:
    """Return the value as the spec's type. Raises `Unusable` with every problem found."""
    notes = Notes()
    try:
        got = spec.read(value, path, notes)
    except Refused:
        raise Unusable(notes.problems) from None
    if notes.problems:
        raise Unusable(notes.problems)
    return got
