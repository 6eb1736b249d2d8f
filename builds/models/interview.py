"""What the customer was asked at the counter; every answer may be missing."""

from django.db import models

from builds.models.ticket import Ticket, TicketPart
from catalog.fields import WordListField
from catalog.vocabulary import Use


class Interview(TicketPart):
    """The answers of one ticket. Masses and water stand on the ticket itself, since its sheet is made of them."""

    ANSWERS = (
        "uses",
        "hours_afloat",
        "hours_dark",
        "trips",
        "motor",
        "transport",
        "lifters",
        "storage",
        "freezes",
        "battery_now",
        "side",
        "holes",
        "own_parts",
        "float_by",
        "approver",
        "approver_phone",
    )

    class Motor(models.TextChoices):
        NO = "no", "no"
        LATER = "later", "later"
        NOW = "now", "now"

    class Transport(models.TextChoices):
        ROOF = "roof", "on the roof"
        TRUCK_BED = "truck_bed", "in a truck bed"
        TRAILER = "trailer", "on a trailer"
        CART = "cart", "on a cart, on foot"

    class Storage(models.TextChoices):
        INDOORS = "indoors", "indoors"
        SHED = "shed", "in a shed"
        OUTDOORS = "outdoors", "outdoors"

    class Battery(models.TextChoices):
        NONE = "none", "none"
        LEAD_ACID = "lead_acid", "lead-acid"
        LITHIUM = "lithium", "lithium"

    class Side(models.TextChoices):
        PORT = "port", "port"
        STARBOARD = "starboard", "starboard"

    class Holes(models.TextChoices):
        FINE = "fine", "fine"
        FEW = "few", "few"
        NONE = "none", "none"

    ticket = models.OneToOneField(Ticket, models.CASCADE, related_name="asked_of")
    uses = WordListField(choices_from=Use, blank=True)
    hours_afloat = models.FloatField(null=True, blank=True)
    hours_dark = models.FloatField(null=True, blank=True)
    trips = models.PositiveSmallIntegerField(null=True, blank=True)
    motor = models.CharField(max_length=10, choices=Motor, blank=True)
    transport = models.CharField(max_length=12, choices=Transport, blank=True)
    lifters = models.PositiveSmallIntegerField(null=True, blank=True)
    storage = models.CharField(max_length=10, choices=Storage, blank=True)
    freezes = models.BooleanField(null=True, blank=True)
    battery_now = models.CharField(max_length=12, choices=Battery, blank=True)
    side = models.CharField(max_length=10, choices=Side, blank=True)
    holes = models.CharField(max_length=6, choices=Holes, blank=True)
    own_parts = models.CharField(max_length=300, blank=True)
    float_by = models.DateField(null=True, blank=True)
    approver = models.CharField(max_length=120, blank=True)
    approver_phone = models.CharField(max_length=40, blank=True)

    def __str__(self):
        return f"what {self.ticket.number} was asked"
