"""Consumables of one ticket: what was estimated of each, and what was written down as used."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from builds.agreed import agreed_of
from builds.models import Ticket, UsedConsumable
from builds.stock import quantity_words
from catalog.models import Consumable

THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True)
class UsedRow:
    """One consumable: its estimate in its unit, nothing where it was not estimated; what was last written down."""

    item: Consumable
    estimated: Decimal
    noted: UsedConsumable | None

    @property
    def unit(self) -> str:
        """The unit that is counted, empty for pieces."""
        return "" if self.item.unit == "each" else self.item.unit

    @property
    def words(self) -> str:
        """What was estimated, to the tenth, with its unit."""
        return quantity_words(round(self.estimated, 1), self.unit)


def estimated_on(ticket: Ticket) -> dict[str, Decimal]:
    """Return what the agreed estimate takes of each consumable, by its code, to the thousandth of its unit."""
    agreed = agreed_of(ticket)
    lines = (agreed.kept.estimate.get("consumables") or ()) if agreed else ()
    return {
        line["item"]: Decimal(str(line["quantity"])).quantize(THOUSANDTH, ROUND_HALF_UP)
        for line in lines
        if line["quantity"] > 0
    }


def noted_on(ticket: Ticket) -> dict[str, UsedConsumable]:
    """Return what was last written down of each consumable, by its code."""
    rows = UsedConsumable.objects.filter(ticket=ticket).select_related("item", "by").order_by("id")
    return {row.item.code: row for row in rows}


def rows_of(ticket: Ticket) -> list[UsedRow]:
    """Return the consumables that were estimated or written down, by their names."""
    estimated, noted = estimated_on(ticket), noted_on(ticket)
    items = Consumable.objects.filter(code__in=[*estimated, *noted]).order_by("name", "code")
    return [UsedRow(item, estimated.get(item.code, Decimal(0)), noted.get(item.code)) for item in items]
