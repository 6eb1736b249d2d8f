"""Parts: what lies on the shelf, every movement of it, what tickets need of it, and what is on order."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from builds.models.bench import BenchEvent
from catalog.fields import UnitPriceField
from catalog.records import price_text
from shop.append_only import AppendOnly
from shop.fields import ThousandthsField


class StockItem(models.Model):
    """One accessory type or one consumable as the shelf knows it.

    `on_hand` is the sum of its movements, moved in their transaction. `kept` is true from the first movement on: before
    that nobody has counted it, and what the shelf holds is not known. `average_cost` is what one unit cost: the
    weighted average of what came; null until something came.
    """

    accessory = models.OneToOneField("catalog.AccessoryType", models.PROTECT, null=True, related_name="stock")
    consumable = models.OneToOneField("catalog.Consumable", models.PROTECT, null=True, related_name="stock")
    on_hand = ThousandthsField(default=0)
    kept = models.BooleanField(default=False)
    average_cost = UnitPriceField(null=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="stock_never_below_nothing"),
            models.CheckConstraint(
                condition=Q(accessory__isnull=False, consumable__isnull=True)
                | Q(accessory__isnull=True, consumable__isnull=False),
                name="stock_of_one_thing",
            ),
        ]

    def __str__(self):
        return self.thing.name

    @property
    def thing(self):
        """The row of the catalogue: its name, bin, supplier."""
        return self.accessory or self.consumable

    @property
    def key(self) -> str:
        """The thing's name in a form, whether the shelf has a row of it yet or not."""
        return f"type_{self.accessory_id}" if self.accessory_id else f"consumable_{self.consumable_id}"

    @property
    def unit(self) -> str:
        """The unit that is counted, empty for pieces."""
        unit = self.consumable.unit if self.consumable else "each"
        return "" if unit == "each" else unit

    @property
    def pack(self):
        """How much comes in one pack."""
        return self.consumable.pack_quantity if self.consumable else self.accessory.order_pack

    @property
    def lead_days(self) -> int:
        return self.accessory.lead_days if self.accessory else 0

    @property
    def unit_cost(self):
        """What the catalogue says that one unit costs."""
        return self.consumable.unit_cost if self.consumable else self.accessory.cost

    @property
    def worth(self):
        """What one unit on the shelf cost; the catalogue's cost where nothing came at a cost of its own."""
        return self.unit_cost if self.average_cost is None else self.average_cost

    @property
    def worth_shown(self) -> str:
        return price_text(self.worth)


class Movement(AppendOnly):
    """One entry of the shelf: so much came or went, when, by whom, why. It is taken back by a counter-entry alone.

    `unit_cost`: what one unit that came cost, or what one that went was worth; null in entries before that was kept.
    """

    class Kind(models.TextChoices):
        RECEIVED = "received", "received"
        USED = "used", "used on a ticket"
        COUNTED = "counted", "counted"
        RETURNED = "returned", "came back"
        SENT_BACK = "sent_back", "sent back"
        DAMAGED = "damaged", "damaged"

    item = models.ForeignKey(StockItem, models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=10, choices=Kind)
    quantity = ThousandthsField()
    on_hand_after = ThousandthsField()
    unit_cost = UnitPriceField(null=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    why = models.CharField(max_length=300, blank=True)
    ticket = models.ForeignKey("Ticket", models.PROTECT, null=True, related_name="+")
    order_line = models.ForeignKey("OrderLine", models.PROTECT, null=True, related_name="movements")
    takes_back = models.OneToOneField("self", models.PROTECT, null=True, related_name="taken_back_by")

    class Meta:
        ordering = ["id"]

    def __str__(self):
        return f"{self.item} {self.get_kind_display()} {self.quantity:+}"


class Need(models.Model):
    """What one line of an accepted ticket takes from the shelf; the earlier one is served first. No line: consumables.

    The rows of a ticket follow what is agreed. `used` once the boat is checked.
    """

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="needs")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="needs")
    line_key = models.CharField(max_length=20, blank=True)
    quantity = ThousandthsField()
    since = models.DateField()
    needed_on = models.DateField(null=True)
    used = models.BooleanField(default=False)

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["used", "item"], name="need_open_of_item")]

    def __str__(self):
        return f"{self.ticket.number} {self.line_key} {self.quantity}"


class PurchaseOrder(models.Model):
    """What was ordered from one supplier. Closed: no more comes, whatever is outstanding."""

    number = models.CharField(max_length=20, unique=True)
    supplier = models.CharField(max_length=80, blank=True)
    reference = models.CharField(max_length=60, blank=True)
    ordered_on = models.DateField()
    expected_on = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    closed = models.BooleanField(default=False)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return self.number


class OrderLine(AppendOnly):
    """One item of an order, in whole packs; `quantity` in the item's unit."""

    order = models.ForeignKey(PurchaseOrder, models.PROTECT, related_name="lines")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="order_lines")
    packs = models.PositiveIntegerField()
    quantity = ThousandthsField()
    unit_cost = UnitPriceField()

    class Meta:
        ordering = ["id"]

    def __str__(self):
        return f"{self.order} {self.item}"


class Delivery(AppendOnly):
    """What came of one line of an order, whether its boxes were opened, and in which condition it was."""

    class Condition(models.TextChoices):
        GOOD = "good", "good"
        SHORT = "short", "good, but fewer than the note says"
        DAMAGED = "damaged", "damaged"
        WRONG = "wrong", "the wrong part"

    line = models.ForeignKey(OrderLine, models.PROTECT, related_name="deliveries")
    quantity = ThousandthsField()
    boxes_opened = models.BooleanField()
    condition = models.CharField(max_length=10, choices=Condition)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]

    def __str__(self):
        return f"{self.line} {self.quantity} {self.condition}"


class OwnPart(AppendOnly):
    """The customer's own part of one line as it was looked over; the latest row of a line holds."""

    class Condition(models.TextChoices):
        GOOD = "good", "good"
        WORN = "worn", "worn, can be fitted"
        DAMAGED = "damaged", "damaged, cannot be fitted"
        MISSING = "missing", "not brought, or not complete"

    class Powered(models.TextChoices):
        NOT_TRIED = "not_tried", "not tried"
        PASSED = "passed", "passed"
        FAILED = "failed", "failed"

    ticket = models.ForeignKey("Ticket", models.PROTECT, related_name="own_parts")
    line_key = models.CharField(max_length=20)
    received_on = models.DateField(null=True)
    condition = models.CharField(max_length=10, choices=Condition)
    powered = models.CharField(max_length=10, choices=Powered, default=Powered.NOT_TRIED)
    reading = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]

    def __str__(self):
        return f"{self.ticket} {self.line_key} {self.condition}"

    @property
    def stops(self) -> bool:
        """Whether the part cannot be fitted as it is."""
        return self.condition in (self.Condition.DAMAGED, self.Condition.MISSING) or self.powered == self.Powered.FAILED


class PartMissing(BenchEvent):
    """A part that the bench waits for; `movement` took it off the count where the count had it."""

    line_key = models.CharField(max_length=20)
    item = models.ForeignKey(StockItem, models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=120)
    quantity = models.PositiveSmallIntegerField(default=1)
    step = models.PositiveSmallIntegerField(null=True)
    words = models.CharField(max_length=300)
    movement = models.OneToOneField(Movement, models.PROTECT, null=True, related_name="+")

    class Meta(BenchEvent.Meta):
        indexes = [models.Index(fields=["ticket", "at"], name="part_missing_at")]

    def __str__(self):
        return f"{self.ticket} waits for {self.name}"


class PartFound(AppendOnly):
    """The end of a wait: how, by whom."""

    class How(models.TextChoices):
        FOUND = "found", "it was here after all"
        OTHER = "other", "solved in another way"
        RECEIVED = "received", "it came"
        CHANGED = "changed", "no longer on the ticket"

    missing = models.OneToOneField(PartMissing, models.PROTECT, related_name="found")
    how = models.CharField(max_length=10, choices=How)
    words = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    def __str__(self):
        return f"{self.missing}: {self.get_how_display()}"
