from builds.models.bench import BenchPhoto, BenchReading, ClockMark, Found, FoundAnswer, StepMark, UsedConsumable
from builds.models.calendar import BenchHours, ComeBackTime, DayOff, FeedLink, HeldPlace
from builds.models.customer import Customer
from builds.models.handing import ComeBack, ComeBackEnd, ReadyTold
from builds.models.hull import HullRecord, HullStation
from builds.models.interview import Interview
from builds.models.money import Invoice, MoneyEntry
from builds.models.papers import Acceptance, ChangeOrder, HandOverSheet, KeptCatalogue, Quote, SignatureLink, WorkOrder
from builds.models.parts import (
    Delivery,
    Movement,
    Need,
    OrderLine,
    OwnPart,
    PartFound,
    PartMissing,
    PurchaseOrder,
    StockItem,
)
from builds.models.privacy import PersonalText, RetentionRules
from builds.models.reckoning import LearnedChange, Reckoning, ReckoningSlice
from builds.models.series import NumberSeries
from builds.models.ticket import Aboard, Alternative, Fee, Line, Spell, Ticket, TicketOperation
from builds.models.totals import MonthTotals, TicketShare, TicketTotals
from builds.models.work import WorkEntry

__all__ = [
    "Aboard",
    "Acceptance",
    "Alternative",
    "BenchHours",
    "BenchPhoto",
    "BenchReading",
    "ChangeOrder",
    "ClockMark",
    "ComeBack",
    "ComeBackEnd",
    "ComeBackTime",
    "Customer",
    "DayOff",
    "Delivery",
    "Fee",
    "FeedLink",
    "Found",
    "FoundAnswer",
    "HandOverSheet",
    "HeldPlace",
    "HullRecord",
    "HullStation",
    "Interview",
    "Invoice",
    "KeptCatalogue",
    "LearnedChange",
    "Line",
    "MoneyEntry",
    "MonthTotals",
    "Movement",
    "Need",
    "NumberSeries",
    "OrderLine",
    "OwnPart",
    "PartFound",
    "PartMissing",
    "PersonalText",
    "PurchaseOrder",
    "Quote",
    "ReadyTold",
    "Reckoning",
    "ReckoningSlice",
    "RetentionRules",
    "SignatureLink",
    "Spell",
    "StepMark",
    "StockItem",
    "Ticket",
    "TicketOperation",
    "TicketShare",
    "TicketTotals",
    "UsedConsumable",
    "WorkEntry",
    "WorkOrder",
]
