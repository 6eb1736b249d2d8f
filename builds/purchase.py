"""What to order: everything that is short, by supplier, with the day it is needed and the tickets that wait."""

import csv
import datetime
import io
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.conf import settings

from builds import stock
from builds.documents import PurchaseGroup, PurchaseRow
from builds.stock import ItemStanding, NeedStanding, quantity_words, restock_days
from catalog.tables import MARK, guarded
from shop.money import round_money

NO_SUPPLIER = "No supplier yet"


@dataclass(frozen=True)
class ToOrder:
    """One item that is short: how many packs, and for whom."""

    standing: ItemStanding

    @property
    def item(self):
        return self.standing.item

    @property
    def quantity(self) -> Decimal:
        return self.standing.packs * Decimal(str(self.item.pack))

    @property
    def waiting(self) -> list[NeedStanding]:
        """The needs that nothing covers, the earliest first."""
        return [one for one in self.standing.needs if one.uncovered]

    @property
    def tickets(self) -> list[str]:
        return list(dict.fromkeys(one.need.ticket.number for one in self.waiting))

    @property
    def needed_on(self) -> datetime.date | None:
        return min((one.need.needed_on for one in self.waiting if one.need.needed_on), default=None)

    @property
    def cost(self) -> Decimal:
        """What the packs cost the shop."""
        return round_money(self.quantity * self.item.unit_cost, settings.CURRENCY)

    @property
    def short_words(self) -> str:
        return quantity_words(self.standing.short, self.item.unit)

    @property
    def pack_words(self) -> str:
        """What one pack holds, nothing for single pieces."""
        pack = Decimal(str(self.item.pack))
        return "" if pack == 1 and not self.item.unit else f"of {quantity_words(pack, self.item.unit)}"


@dataclass(frozen=True)
class Supplier:
    """One supplier and what is to be ordered there."""

    name: str
    rows: list[ToOrder]

    @property
    def title(self) -> str:
        return self.name or NO_SUPPLIER

    def lead_days(self, today: datetime.date) -> int:
        return max((restock_days(row.item, today) for row in self.rows), default=0)

    @property
    def cost(self) -> Decimal:
        return sum((row.cost for row in self.rows), Decimal(0))


def to_order() -> list[Supplier]:
    """Return what is short by supplier; what has no supplier comes last."""
    found: dict[str, list[ToOrder]] = {}
    for one in stock.all_standings():
        if one.short and (one.item.accessory_id or one.item.kept or one.minimum):
            found.setdefault(one.item.thing.supplier.strip(), []).append(ToOrder(one))
    names = sorted(found, key=lambda name: (not name, name.lower()))
    return [Supplier(name, found[name]) for name in names]


def as_groups(suppliers: Iterable[Supplier], *, costs: bool) -> list[PurchaseGroup]:
    """Return the list as its paper shows it; without costs for who may not see them."""
    return [
        PurchaseGroup(
            supplier.title,
            [row_on_paper(row, costs) for row in supplier.rows],
            supplier.cost if costs else None,
        )
        for supplier in suppliers
    ]


def row_on_paper(row: ToOrder, costs: bool) -> PurchaseRow:
    return PurchaseRow(
        name=row.item.thing.name,
        part_number=row.item.thing.part_number,
        packs=row.standing.packs,
        pack=row.pack_words,
        quantity=quantity_words(row.quantity, row.item.unit),
        needed_on=row.needed_on,
        tickets=tuple(row.tickets),
        cost=row.cost if costs else None,
    )


def as_csv(suppliers: Iterable[Supplier], *, costs: bool) -> str:
    """Return the list as a table: RFC 4180 with a header, UTF-8, no cell that a spreadsheet takes for a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    header = ["supplier", "part_number", "code", "name", "packs", "pack_quantity", "unit", "quantity", "needed_by"]
    writer.writerow([*header, "tickets", *(["cost"] if costs else [])])
    for supplier in suppliers:
        for row in supplier.rows:
            thing, pack = row.item.thing, Decimal(str(row.item.pack))
            cells = [supplier.name, thing.part_number, thing.code, thing.name, str(row.standing.packs), plain(pack)]
            cells += [row.item.unit or "each", plain(row.quantity), str(row.needed_on or ""), " ".join(row.tickets)]
            writer.writerow([guarded(cell) for cell in [*cells, *([str(row.cost)] if costs else [])]])
    return MARK + out.getvalue()


def plain(quantity: Decimal) -> str:
    """Return a quantity as a spreadsheet reads it."""
    text = f"{quantity:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
