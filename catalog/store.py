"""Records into rows: whole records are checked before one row is written, and replace what stood there.

A row that others may point at (an accessory type, a hull type) keeps its key; what belongs to it is written anew.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from django.db import models, transaction

from catalog import rules, shelf
from catalog.models import AccessoryType, Bundle, CatalogueVersion, Consumable, HullType, ShopOperation, ShopRates
from catalog.records import Draft, Many, One, Problem, Unusable, at, printable, read

# The column by which a record finds its row.
KEYS = {
    AccessoryType: "code",
    HullType: "code",
    ShopOperation: "code",
    Consumable: "code",
    Bundle: "code",
    ShopRates: "holds_from",
}
MOST_PROBLEMS = 200


def store_accessory(record: dict) -> AccessoryType:
    """Create the accessory type of a record, or make the one of this code equal to it."""
    return store(AccessoryType, [record])[0]


def store_hull_type(record: dict) -> HullType:
    """Create the hull type of a record, or make the one of this code equal to it."""
    return store(HullType, [record])[0]


def store_operation(record: dict) -> ShopOperation:
    """Create the shop operation of a record, or make the one of this code equal to it."""
    return store(ShopOperation, [record])[0]


def store_consumable(record: dict) -> Consumable:
    """Create the consumable of a record, or make the one of this code equal to it."""
    return store(Consumable, [record])[0]


def store_bundle(record: dict) -> Bundle:
    """Create the bundle of a record, or make the one of this code equal to it."""
    return store(Bundle, [record])[0]


def store_rates(record: dict) -> ShopRates:
    """Create the rules of a record with its `holds_from`, or make those of this date equal to it."""
    return store(ShopRates, [record])[0]


def store(model: type[models.Model], records: Sequence[dict], path: str = "") -> list[models.Model]:
    """Write records of one kind in one transaction and return their rows in the same order.

    Raises Unusable with every problem of every record; then nothing was written.
    """
    return write(model, read_all(model, records, path))


def write(model: type[models.Model], drafts: list[Draft]) -> list[models.Model]:
    """Write drafts that were read before, in one transaction, and return their rows in the same order.

    Raises Unusable where a bundle asks for what the catalogue lacks.
    """
    with transaction.atomic():
        if model is Bundle and (problems := list(strangers(drafts, shelf.records()["accessories"]))):
            raise Unusable(problems[:MOST_PROBLEMS])
        _write_rows(model, [draft.row for draft in drafts])
        for part in model.SHAPE.values():
            if isinstance(part, One | Many):
                _write_parts(model, part.model, drafts)
        CatalogueVersion.move_on()
    return [draft.row for draft in drafts]


def read_all(model: type[models.Model], records: Iterable[dict], path: str = "") -> list[Draft]:
    """Return the drafts of records, or raise Unusable with every problem; a code that stands twice is one."""
    problems, drafts, seen = [], [], set()
    for number, record in enumerate(records):
        place = f"{path}[{number}]" if path else ""
        draft = read(model, record, place, problems)
        if len(problems) >= MOST_PROBLEMS:
            break
        if draft is None:
            continue
        key = getattr(draft.row, KEYS[model])
        if key in seen:
            problems.append(Problem(place, f"“{key}” stands here twice."))
        seen.add(key)
        drafts.append(draft)
    if problems:
        raise Unusable(problems[:MOST_PROBLEMS])
    return drafts


def strangers(bundles: Iterable[Draft], types: Mapping[str, dict]) -> Iterator[Problem]:
    """Yield a problem for each line of a bundle that asks for a type which is not there, or for what it is not."""
    for bundle in bundles:
        for number, line in enumerate(bundle.parts["lines"]):
            code = line.accessory_id
            found = rules.bundle_line_problem(types.get(code), printable(code), line.mounting, line.drive)
            if found:
                yield Problem(at(bundle.path, f"lines[{number}].{found[0]}"), found[1])


def _write_rows(model: type[models.Model], rows: list[models.Model]) -> None:
    key = KEYS[model]
    known = dict(model.objects.filter(**{f"{key}__in": [getattr(row, key) for row in rows]}).values_list(key, "pk"))
    for row in rows:
        row.pk = known.get(getattr(row, key))
        row._state.adding = row.pk is None
    model.objects.bulk_create([row for row in rows if row.pk is None])
    written = [field.name for field in model._meta.concrete_fields if not field.primary_key and field.name != key]
    changed = [row for row in rows if getattr(row, key) in known]
    if changed:
        model.objects.bulk_update(changed, [name for name in written if name not in model.KEPT])


def _write_parts(model: type[models.Model], part: type[models.Model], drafts: list[Draft]) -> None:
    """Replace the rows of one kind that belong to the drafts' rows."""
    parent = next(field.name for field in part._meta.fields if field.related_model is model)
    part.objects.filter(**{f"{parent}__in": [draft.row for draft in drafts]}).delete()
    rows = []
    for draft in drafts:
        for row in draft.parts.get(part.RELATED, ()):
            setattr(row, parent, draft.row)
            rows.append(row)
    part.objects.bulk_create(rows)
