"""Consumables used against estimated, on the tickets that were handed over in a period and say what they used."""

from dataclasses import dataclass, field
from decimal import Decimal

from django.conf import settings

from builds.learning.learn import LEAST_TICKETS
from builds.learning.used import used
from builds.models import TicketTotals, UsedConsumable
from builds.office import tables
from builds.office.periods import Period
from builds.office.tables import Column, Row, Table
from catalog.vocabulary import ConsumableUnit
from shop.money import round_money

EACH = ConsumableUnit.EACH

COLUMNS = (
    Column("Tickets", tables.COUNT),
    Column("Estimated", tables.QUANTITY),
    Column("Used", tables.QUANTITY),
    Column("Used of estimated", tables.SHARE, strong=True),
    Column("Lowest", tables.SHARE),
    Column("Highest", tables.SHARE),
    Column("Believed", tables.SHARE),
    Column("Over, at cost", tables.SIGNED_MONEY),
    Column("Used without an estimate", tables.QUANTITY),
)


OVER = 7
"""Where the cost beyond the estimates stands among the cells."""


@dataclass
class Counted:
    """One consumable: its name with its unit, (estimated, used) of each ticket, and what nobody had estimated."""

    name: str
    unit_cost: Decimal
    pairs: list[tuple[Decimal, Decimal]] = field(default_factory=list)
    beyond: Decimal = Decimal(0)

    @property
    def estimated(self) -> Decimal:
        return sum((pair[0] for pair in self.pairs), Decimal(0))

    @property
    def used(self) -> Decimal:
        return sum((pair[1] for pair in self.pairs), Decimal(0))

    @property
    def over(self) -> Decimal:
        """What was used beyond the estimates, at today's cost [money]."""
        return round_money((self.used - self.estimated + self.beyond) * self.unit_cost, settings.CURRENCY)

    @property
    def ratios(self) -> list[Decimal]:
        return [taken / estimated for estimated, taken in self.pairs]


def table_of(period: Period) -> Table:
    """Return how much of its estimate each consumable took, the one that cost most beyond it first. One query."""
    counted = counted_in(period)
    pairs = {code: [(float(a), float(b)) for a, b in one.pairs] for code, one in counted.items() if one.pairs}
    groups = used(pairs).groups if pairs else {}
    rows = []
    for code, one in counted.items():
        enough = len(one.pairs) >= LEAST_TICKETS
        shares = (one.used / one.estimated, min(one.ratios), max(one.ratios)) if one.pairs else (None, None, None)
        believed = Decimal(str(groups[code].believed)) if enough else None
        amounts = (one.estimated, one.used) if one.pairs else (None, None)
        rows.append(Row(one.name, (len(one.pairs), *amounts, *shares, believed, one.over, one.beyond or None)))
    rows.sort(key=lambda row: (-row.cells[OVER], row.name))
    sums = [None] * len(COLUMNS)
    sums[OVER] = sum((row.cells[OVER] for row in rows), round_money(Decimal(0), settings.CURRENCY))
    table = Table("Consumables used against estimated", "Consumable", COLUMNS, rows, Row("All", tuple(sums)))
    return table if any(one.beyond for one in counted.values()) else table.part(0)


def counted_in(period: Period) -> dict[str, Counted]:
    """Return what was last written down of each consumable on each ticket that left in a period, by its code."""
    left = TicketTotals.objects.filter(month__gte=period.first, month__lte=period.last).values("ticket")
    notes = UsedConsumable.objects.filter(ticket__in=left).order_by("id")
    items: dict[str, tuple[str, Decimal]] = {}
    latest: dict[tuple[int, str], tuple[Decimal, Decimal]] = {}
    for ticket, code, name, unit, cost, estimated, quantity in notes.values_list(
        "ticket", "item__code", "item__name", "item__unit", "item__unit_cost", "estimated", "quantity"
    ):
        items[code] = (name if unit == EACH else f"{name}, {unit}", cost)
        latest[ticket, code] = (estimated, quantity)
    found: dict[str, Counted] = {}
    for (_, code), (estimated, quantity) in latest.items():
        one = found.setdefault(code, Counted(*items[code]))
        if estimated:
            one.pairs.append((estimated, quantity))
        else:
            one.beyond += quantity
    return found
