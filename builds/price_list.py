"""A supplier's price list against the catalogue: what each part number would cost, and what that does to its price."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.conf import settings

from builds.estimator.pricing import price_by_scale
from builds.estimator.rates import Shop
from builds.estimator.specs import Record, read
from builds.supplier_file import COST, ListRow, part_key, read_file
from catalog import shelf
from catalog.fields import UNIT_PRICE_DIGITS
from catalog.importing import Proposal, compared, rows_of
from catalog.models import AccessoryType, Consumable
from catalog.records import Problem, Unusable
from catalog.store import read_all
from shop.money import round_money

KIND = "price_list"
"""What a waiting file of this kind holds."""
SUPPLIED = {"accessories": AccessoryType, "consumables": Consumable}
COST_OF = {"accessories": "cost", "consumables": "unit_cost"}


@dataclass(frozen=True)
class Match:
    """One thing of the catalogue and the row that names it: cost and price of one, before and after [money].

    `by_scale`: the price follows the cost by the mark-up scale; otherwise it is the catalogue's own and stays.
    """

    row: ListRow
    kind: str
    thing: Any
    before: Decimal
    after: Decimal
    sells_before: Decimal
    sells_after: Decimal
    by_scale: bool

    @property
    def change(self) -> Decimal | None:
        """Return (after - before) / before, or None where it cost nothing before."""
        return (self.after - self.before) / self.before if self.before else None

    @property
    def margin_before(self) -> Decimal | None:
        return margin(self.sells_before, self.before)

    @property
    def margin_after(self) -> Decimal | None:
        return margin(self.sells_after, self.after)

    @property
    def dated(self) -> datetime.date | None:
        """The date of the price as the catalogue has it."""
        found: datetime.date | None = getattr(self.thing, "priced_on", None)
        return found

    @property
    def is_older(self) -> bool:
        """Whether the catalogue's price is from a later day than the list's."""
        return bool(self.row.holds_from and self.dated and self.row.holds_from < self.dated)


@dataclass(frozen=True)
class PriceList:
    """What a list would do. `changes`: another cost; `confirmed`: the same cost at a later date; `older`: left alone.

    `strangers` are rows that name nothing of this supplier's; `lacking` what the list does not name.
    """

    supplier: str
    changes: tuple[Match, ...]
    confirmed: tuple[Match, ...]
    same: int
    older: tuple[Match, ...]
    strangers: tuple[ListRow, ...]
    lacking: tuple[Any, ...]
    not_read: tuple[str, ...]
    proposals: tuple[Proposal, ...]

    @property
    def records(self) -> int:
        """How many records would be written."""
        return sum(len(one.changes) for one in self.proposals)


def margin(price: Decimal, cost: Decimal) -> Decimal | None:
    """Return (price - cost) / price, or None without a price."""
    return (price - cost) / price if price else None


def suppliers() -> list[str]:
    """Return the names of the suppliers that the catalogue knows."""
    names = {
        name.strip()
        for model in SUPPLIED.values()
        for name in model.objects.exclude(supplier="").values_list("supplier", flat=True)
    }
    return sorted(names - {""}, key=lambda name: (name.casefold(), name))


def price_list(supplier: str, text: str, today: datetime.date) -> PriceList:
    """Return what a supplier's list would change. Raises Unusable with every problem, by row and column."""
    file = read_file(text, today)
    things = {
        kind: [row for row in rows_of(model).filter(supplier__contains=supplier) if row.supplier.strip() == supplier]
        for kind, model in SUPPLIED.items()
    }
    shop = shop_on(today)
    by_number: dict[str, list[tuple[str, Any]]] = {}
    for kind, rows in things.items():
        for thing in rows:
            by_number.setdefault(part_key(thing.part_number), []).append((kind, thing))
    named = [(row, by_number.get(part_key(row.part_number), [])) for row in file.rows]
    matches = [match(row, kind, thing, shop) for row, found in named for kind, thing in found]
    if problems := [worth_nothing(one) for one in matches if not one.after]:
        raise Unusable(problems)
    taken = [one for one in matches if not one.is_older]
    in_list = {part_key(row.part_number) for row in file.rows}
    return PriceList(
        supplier=supplier,
        changes=tuple(sorted((one for one in taken if one.after != one.before), key=by_size)),
        confirmed=tuple(one for one in taken if one.after == one.before and moves_date(one)),
        same=sum(one.after == one.before and not moves_date(one) for one in matches),
        older=tuple(one for one in matches if one.is_older and one.after != one.before),
        strangers=tuple(row for row, found in named if not found),
        lacking=tuple(
            thing
            for rows in things.values()
            for thing in rows
            if part_key(thing.part_number) not in in_list and not getattr(thing, "withdrawn", False)
        ),
        not_read=file.not_read,
        proposals=tuple(proposals(taken, today)),
    )


def shop_on(day: datetime.date) -> Shop:
    try:
        rates = shelf.rates_on(day)
    except LookupError as error:
        raise Unusable([Problem("", str(error))]) from None
    shop: Shop = read(Record(cls=Shop), rates.record(), "shop")
    return shop


def match(row: ListRow, kind: str, thing: Any, shop: Shop) -> Match:
    """Return what a row does to one thing; a cost is rounded half up, once."""
    before = getattr(thing, COST_OF[kind])
    if kind == "consumables":
        after = row.cost.quantize(Decimal(1).scaleb(-UNIT_PRICE_DIGITS), ROUND_HALF_UP)
        return Match(row, kind, thing, before, after, thing.unit_price, thing.unit_price, by_scale=False)
    after = round_money(row.cost, settings.CURRENCY)
    if thing.price is not None:
        return Match(row, kind, thing, before, after, thing.price, thing.price, by_scale=False)
    sells = [price_by_scale(cost, shop) for cost in (before, after)]
    return Match(row, kind, thing, before, after, sells[0], sells[1], by_scale=True)


def worth_nothing(one: Match) -> Problem:
    message = f"{one.row.cost.normalize():f} for one of {one.thing.name} comes to nothing once it is rounded."
    return Problem(f"row {one.row.number}, column {COST}", message)


def moves_date(one: Match) -> bool:
    """Whether a row says that a cost which stays holds from a later day than the catalogue has."""
    if one.kind != "accessories" or one.row.holds_from is None:
        return False
    return one.dated is None or one.row.holds_from > one.dated


def by_size(one: Match) -> tuple[Decimal, str]:
    """The greatest change first."""
    return -abs(one.change if one.change is not None else Decimal(1_000)), one.thing.name


def proposals(taken: Iterable[Match], today: datetime.date) -> Iterator[Proposal]:
    """Yield what would be written, by kind of record."""
    for kind in SUPPLIED:
        mine = [one for one in taken if one.kind == kind and (one.after != one.before or moves_date(one))]
        held = {one.thing.code: one.thing.ledger_record() for one in mine}
        records = []
        for one in mine:
            record = held[one.thing.code] | {COST_OF[kind]: str(one.after)}
            if moves_date(one) and one.row.holds_from:
                record["priced_on"] = one.row.holds_from.isoformat()
            records.append(record)
        try:
            drafts = read_all(SUPPLIED[kind], records, kind)
        except Unusable as unusable:
            raise Unusable(
                [Problem(name_in(problem, mine), problem.message) for problem in unusable.problems]
            ) from None
        yield compared(kind, drafts, held, today)


def name_in(problem: Problem, mine: list[Match]) -> str:
    """Return the name of the thing whose record has a problem besides its cost."""
    number = problem.path.partition("[")[2].partition("]")[0]
    return mine[int(number)].thing.name if number.isdigit() else problem.path


HEADER = [
    "part_number",
    "code",
    "name",
    "cost_before",
    "cost_after",
    "change_percent",
    "price_before",
    "price_after",
    "by_mark_up",
    "margin_before",
    "margin_after",
]


def as_rows(found: PriceList) -> Iterator[list[Any]]:
    """Yield the changes as rows of a file, the header first."""
    yield HEADER
    for one in found.changes:
        change = None if one.change is None else round(one.change * 100, 2)
        margins = [None if share is None else round(share, 4) for share in (one.margin_before, one.margin_after)]
        how = "yes" if one.by_scale else "no"
        sells = [one.sells_before, one.sells_after, how]
        yield [one.row.part_number, one.thing.code, one.thing.name, one.before, one.after, change, *sells, *margins]
