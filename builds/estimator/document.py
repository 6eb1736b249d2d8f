"""JSON in and out: a careful parser, the canonical form, and the catalogue that fills what a sheet leaves out."""

import hashlib
import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from .accessory import AccessoryType, ShopOperation
from .sheet import BuildSheet
from .specs import MapOf, NamedTwice, Problem, Record, Unusable, copied, read

LARGEST_BYTES = 20_000_000


def parse_json(data: bytes | str) -> Any:
    """Return the value of a JSON text. Raises `Unusable` with one plain sentence where it is not JSON.

    Refused beyond what the format refuses: a text over 20 MB, a nesting too deep to read, a number too long to be one.
    NaN, infinities and names given twice pass: reading the fields refuses them, where their path is known.
    """
    if len(data) > LARGEST_BYTES:
        raise refusal(f"is larger than {LARGEST_BYTES // 1_000_000} MB")
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data
        if not text.strip():
            raise refusal("is empty")
        return json.loads(text, object_pairs_hook=named_once)
    except UnicodeDecodeError as error:
        raise refusal(f"is not UTF-8 text (byte {error.start})") from None
    except json.JSONDecodeError as error:
        raise refusal(f"is not JSON: line {error.lineno}, column {error.colno}: {error.msg}") from None
    except RecursionError:
        raise refusal("is nested too deeply") from None
    except Unusable:
        raise
    except ValueError:
        raise refusal("holds a number too long to be read") from None


def refusal(message: str) -> Unusable:
    return Unusable([Problem("", f"the document {message}; accepted: a JSON object in the build sheet's format")])


def named_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    named = dict(pairs)
    if len(named) == len(pairs):
        return named
    return NamedTwice(named, (name for name, times in Counter(name for name, _ in pairs).items() if times > 1))


def canonical(value: Any) -> str:
    """Return a JSON value in its one canonical text: keys sorted, no white space, characters as they are."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


@dataclass(frozen=True)
class Catalogue:
    """The records that a sheet may leave out, kept read and kept as they were written."""

    accessory_records: Mapping[str, Any]
    operation_records: Mapping[str, Any]
    shop_record: Mapping[str, Any]

    @cached_property
    def accessories(self) -> dict[str, AccessoryType]:
        spec = MapOf(item=Record(cls=AccessoryType, null_is_absent=True))
        known: dict[str, AccessoryType] = read(spec, self.accessory_records, "accessories")
        return known

    @cached_property
    def operations(self) -> dict[str, ShopOperation]:
        known: dict[str, ShopOperation] = read(
            MapOf(item=Record(cls=ShopOperation)), self.operation_records, "shop_operations"
        )
        return known

    @cached_property
    def accessories_text(self) -> str:
        return canonical(self.accessory_records)

    def with_shop(self, shop_record: Mapping[str, Any]) -> "Catalogue":
        """Return the same catalogue under other rates."""
        other = replace(self, shop_record=shop_record)
        for kept in ("accessories", "operations", "accessories_text"):
            if kept in self.__dict__:
                other.__dict__[kept] = self.__dict__[kept]
        return other


def expand(document: Any, catalogue: Catalogue) -> Any:
    """Return the document with accessories, shop operations and shop taken from the catalogue where it has none.

    A shop of the document's own that names no consumables takes their prices from the catalogue.
    """
    if not isinstance(document, Mapping):
        return document
    filled = copied(document)
    filled.setdefault("accessories", catalogue.accessory_records)
    filled.setdefault("shop_operations", catalogue.operation_records)
    shop = filled.setdefault("shop", catalogue.shop_record)
    if isinstance(shop, Mapping) and "consumables" not in shop:
        filled["shop"] = copied(shop)
        filled["shop"]["consumables"] = catalogue.shop_record.get("consumables", {})
    return filled


def read_sheet(document: Any, catalogue: Catalogue | None = None) -> BuildSheet:
    """Return the build sheet of a document, filled from the catalogue where it leaves accessories or shop out.

    Raises `Unusable` with every problem. The sheet's `sha256` is of the filled document in canonical JSON.
    """
    filled = expand(document, catalogue) if catalogue else document
    readable, texts = filled, {}
    if catalogue and isinstance(filled, Mapping):
        readable = copied(filled)
        if filled["accessories"] is catalogue.accessory_records:
            readable["accessories"] = catalogue.accessories
            texts["accessories"] = catalogue.accessories_text
        if filled["shop_operations"] is catalogue.operation_records:
            readable["shop_operations"] = catalogue.operations
    sheet: BuildSheet = read(Record(cls=BuildSheet), readable)
    return replace(sheet, sha256=digest(filled, texts))


def digest(document: Mapping[str, Any], texts: Mapping[str, str]) -> str:
    """Return the sha256 of a document's canonical JSON; `texts` holds the canonical text of parts already known."""
    parts = (f"{canonical(key)}:{texts.get(key) or canonical(document[key])}" for key in sorted(document))
    return hashlib.sha256(("{" + ",".join(parts) + "}").encode("utf-8", "surrogatepass")).hexdigest()
