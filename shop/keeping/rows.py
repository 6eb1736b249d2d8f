"""Every table of the shop, and a row of it as plain JSON values that are the same on every database, and back."""

import base64
import datetime
import hashlib
import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.db import models

# Whoever is signed in signs in again: a copy of the shop opens no door, and no link that was used since.
LEFT_OUT = ("sessions.session", "shop.opensession", "shop.invitation", "shop.bucket")
ROWS_AT_ONCE = 50
WHOLE = 1e300

Plain = dict[str, Any]
Model = type[models.Model]


def kept_models(registry=apps) -> list[Model]:
    """Return the models of all tables, what a row points at before the row; a circle begins anywhere."""
    all_models = sorted(
        (model for model in registry.get_models(include_auto_created=True) if is_kept(model)), key=label_of
    )
    found: list[Model] = []

    def visit(model: Model, path: tuple[Model, ...]) -> None:
        if model in found or model in path:
            return
        for target in sorted({field.related_model for field in columns_of(model) if field.is_relation}, key=label_of):
            if is_kept(target):
                visit(target, (*path, model))
        found.append(model)

    for model in all_models:
        visit(model, ())
    return found


def is_kept(model: Model) -> bool:
    return model._meta.managed and not model._meta.proxy and label_of(model) not in LEFT_OUT


def label_of(model: Model) -> str:
    return model._meta.label_lower


def columns_of(model: Model) -> list[models.Field]:
    return [field for field in model._meta.concrete_fields if not field.generated]


def rows_of(model: Model, alias: str = "default") -> Iterator[models.Model]:
    """Return the rows in the order of their keys, a few at a time."""
    return model._base_manager.using(alias).order_by("pk").iterator(chunk_size=ROWS_AT_ONCE)


def plain(row: models.Model) -> Plain:
    """Return a row's columns as values that JSON has."""
    return {field.column: as_plain(getattr(row, field.attname)) for field in columns_of(type(row))}


def as_plain(value: Any) -> Any:
    """Return one value as JSON has it; a whole number is written without a point, as some databases keep it."""
    if isinstance(value, float):
        return int(value) if value.is_integer() and abs(value) < WHOLE else value
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode()
    if isinstance(value, datetime.datetime):
        return value.astimezone(datetime.UTC).isoformat(timespec="microseconds")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, dict):
        return {key: as_plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [as_plain(one) for one in value]
    return value if value is None or isinstance(value, bool | int) else str(value)


def from_plain(field: models.Field, value: Any) -> Any:
    """Return the value that a model's field holds."""
    if value is None or isinstance(field, models.JSONField):
        return value
    kind = field.get_internal_type()
    if kind == "BinaryField":
        return base64.b64decode(value)
    if kind == "DateTimeField":
        return datetime.datetime.fromisoformat(value)
    return field.to_python(value)


def row_from(model: Model, values: Plain) -> models.Model:
    """Return a row that is in no database, from its plain values; columns that the model lacks are left out."""
    fields = {field.column: field for field in columns_of(model)}
    return model(
        **{
            fields[column].attname: from_plain(fields[column], value)
            for column, value in values.items()
            if column in fields
        }
    )


def canonical(value: Any) -> str:
    """The one JSON text of plain values: keys in order, no spaces."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def sha256_of(values: Plain) -> str:
    """SHA-256 over a row's canonical JSON. Empty values are left out, so that a column added later changes no hash."""
    return hashlib.sha256(canonical({column: value for column, value in values.items() if value}).encode()).hexdigest()
