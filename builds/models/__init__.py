from builds.models.customer import Customer
from builds.models.hull import HullRecord, HullStation
from builds.models.papers import Acceptance, KeptCatalogue, Quote, WorkOrder
from builds.models.series import NumberSeries
from builds.models.ticket import Aboard, Fee, Line, Spell, Ticket, TicketOperation
from builds.models.work import WorkEntry

__all__ = [
    "Aboard",
    "Acceptance",
    "Customer",
    "Fee",
    "HullRecord",
    "HullStation",
    "KeptCatalogue",
    "Line",
    "NumberSeries",
    "Quote",
    "Spell",
    "Ticket",
    "TicketOperation",
    "WorkEntry",
    "WorkOrder",
]
