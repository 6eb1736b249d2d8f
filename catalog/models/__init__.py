from catalog.models.accessory import AccessoryType
from catalog.models.accessory_parts import Conflict, ConsumableUse, InstallStep, Opening, Requirement
from catalog.models.bundle import Bundle, BundleLine
from catalog.models.consumable import Consumable
from catalog.models.hull_type import HullType, HullTypeStation
from catalog.models.operation import ShopOperation
from catalog.models.rates import ShopRates
from catalog.models.ratings import BatteryRating, ConverterRating, LoadRating
from catalog.models.version import CatalogueVersion
from catalog.models.waiting import WaitingFile

__all__ = [
    "AccessoryType",
    "BatteryRating",
    "Bundle",
    "BundleLine",
    "CatalogueVersion",
    "Conflict",
    "Consumable",
    "ConsumableUse",
    "ConverterRating",
    "HullType",
    "HullTypeStation",
    "InstallStep",
    "LoadRating",
    "Opening",
    "Requirement",
    "ShopOperation",
    "ShopRates",
    "WaitingFile",
]
