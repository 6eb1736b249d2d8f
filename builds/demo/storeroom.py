"""The storeroom of the demo shop: supplied, counted, ordered for, partly delivered; and one part the bench misses."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.conf import settings

from builds import price_list, purchase, stock
from builds.actions import missing, ordering, shelf
from builds.actions import price_list as taking
from builds.actions.ordering import Came, Ordered
from builds.models import Delivery, PurchaseOrder, Ticket
from catalog.models import AccessoryType, CatalogueVersion, Consumable, WaitingFile
from shop import clock
from shop.money import round_money
from shop.once import new_token

from .hours import DAY, Hours
from .life import Act, Cast
from .year import read

NAMED_DAYS_AGO, LISTED_DAYS_AGO = 47, 46
COUNTED_DAYS_AGO, ORDERED_DAYS_AGO = 45, 1
CAME_MINUTES_AGO, MISSED_MINUTES_AGO = 50, 25
CRLF = "\r\n"


@dataclass
class Storeroom:
    """What happens to the shelf in the last days of the year."""

    cast: Cast
    hours: Hours
    now: datetime.datetime

    def acts(self) -> Iterator[tuple[datetime.datetime, Act]]:
        """Yield each act with its moment, in the order of time."""
        today = self.hours.day_of(self.now)
        yield min(self.now, self.hours.at(today - NAMED_DAYS_AGO * DAY, 8.0)), self.name
        yield min(self.now, self.hours.at(today - LISTED_DAYS_AGO * DAY, 8.0)), self.take_lists
        yield min(self.now, self.hours.at(today - COUNTED_DAYS_AGO * DAY, 8.0)), self.count
        yield min(self.now, self.hours.at(today - ORDERED_DAYS_AGO * DAY, 17.0)), self.order
        minute = datetime.timedelta(minutes=1)
        yield min(self.now - CAME_MINUTES_AGO * minute, self.hours.at(today, 8.0)), self.receive
        yield self.now - MISSED_MINUTES_AGO * minute, self.miss

    def name(self) -> None:
        """Name bins, suppliers and the dates of their prices."""
        about, today = read("demo/shelf.json"), clock.today()
        for n, kind in enumerate(AccessoryType.objects.order_by("category", "code"), start=1):
            kind.supplier = about["suppliers"].get(kind.category, "")
            kind.part_number = f"{kind.category[:2].upper()}-{1000 + n}" if kind.supplier else ""
            if kind.supplier in about["priced_days_ago"]:
                kind.priced_on = today - about["priced_days_ago"][kind.supplier] * DAY
            kind.bin = f"{about['bins'].get(kind.category, 'M')}{n % 9 + 1}"
            kind.stock_minimum = about["fewest"].get(kind.code, 0)
            kind.save(update_fields=["supplier", "part_number", "priced_on", "bin", "stock_minimum"])
        for code, (_, fewest) in about["stock_of_consumables"].items():
            thing = Consumable.objects.get(code=code)
            thing.supplier, thing.bin, thing.stock_minimum = about["consumables"], "N1", fewest
            thing.save(update_fields=["supplier", "bin", "stock_minimum"])
        CatalogueVersion.move_on()

    def take_lists(self) -> None:
        """Take the price lists that came from some suppliers: most costs rise, some fall."""
        for supplier, rises in read("demo/shelf.json")["price_lists"].items():
            rows = [f"part number,unit cost,holds from{CRLF}"]
            for n, kind in enumerate(AccessoryType.objects.filter(supplier=supplier).order_by("part_number")):
                cost = round_money(kind.cost * Decimal(rises[n % len(rises)]), settings.CURRENCY)
                rows.append(f"{kind.part_number},{cost},{clock.today()}{CRLF}")
            waiting = WaitingFile.objects.create(
                kind=price_list.KIND,
                supplier=supplier,
                name="price-list.csv",
                text="".join(rows),
                seen=CatalogueVersion.current(),
                by=self.cast.owner,
                at=clock.now(),
            )
            taking.take(self.cast.owner, waiting)

    def count(self) -> None:
        """Count everything once."""
        about = read("demo/shelf.json")
        counted: dict[AccessoryType | Consumable, int] = {}
        for kind in AccessoryType.objects.order_by("category", "code"):
            counted[kind] = about["counts"].get(kind.code, about["usual"])
        for code, (there, _) in about["stock_of_consumables"].items():
            counted[Consumable.objects.get(code=code)] = there
        figures = {shelf.item_of(thing).pk: (Decimal(there), None) for thing, there in counted.items()}
        shelf.count(self.cast.owner, figures)

    def order(self) -> None:
        """Order what is short at the first two suppliers; the rest stays on the list."""
        today = clock.today()
        for n, supplier in enumerate([one for one in purchase.to_order() if one.name][:2]):
            lines = [Ordered(shelf.item_of(row.item.thing).pk, row.standing.packs) for row in supplier.rows]
            expected = today + supplier.lead_days(today) * DAY
            about = {"supplier": supplier.name, "ordered_on": today, "expected_on": expected}
            ordering.order(self.cast.counter, lines, reference=f"SO-{2041 + n}", **about)

    def receive(self) -> None:
        """Take in a first box of the first order that has more than one line."""
        for made in PurchaseOrder.objects.order_by("id"):
            lines = list(stock.outstanding_lines().filter(order=made))
            if len(lines) > 1:
                first = lines[0]
                came = Came(first.pk, first.quantity, boxes_opened=True, condition=Delivery.Condition.GOOD)
                ordering.receive(self.cast.counter, made, [came])
                return

    def miss(self) -> None:
        """Miss a part of the ticket that came to the bench last."""
        ticket = Ticket.objects.filter(state="bench").order_by("-state_at").first()
        needs = stock.the_shelf().needs.get(ticket.pk, []) if ticket else []
        line = next((one.need.line_key for one in needs if one.need.line_key and one.held), None)
        if ticket and line:
            words = "Bin empty, looked on the bench and in the boat."
            missing.miss_part(ticket.tech or self.cast.tech, ticket, line_key=line, words=words, key=new_token())
