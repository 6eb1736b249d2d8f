"""What a mend costs: by how much price and minutes of the ticket change when it is done."""

from dataclasses import dataclass
from decimal import Decimal

from . import consumables, labour, pricing
from .cut_list import cut_list
from .estimate import Estimate
from .fitted import fit_lines
from .mends import Mend, apply
from .power import size_systems
from .runs import route_loads
from .sheet import BuildSheet


@dataclass(frozen=True)
class Gain:
    """The change of a ticket's total with tax [money] and of its mean labour [min]; below 0: less than before."""

    price: Decimal
    minutes: float


def gain_of(sheet: BuildSheet, found: Estimate, mend: Mend) -> Gain:
    """Return what a mend adds to the total and to the mean labour of a sheet whose estimate is `found`.

    gain = figure of the mended sheet - figure of the sheet. Only what price and labour follow from is run again: lines,
    runs, circuits, labour, consumables, price; the figures are those of a whole new estimate.

    Raises `mends.Undoable` where the mend cannot be done to this sheet.
    """
    worked, priced = charged(apply(sheet, mend))
    return Gain(priced.total - found.price.total, worked.mean_min - found.labour.mean_min)


def charged(sheet: BuildSheet) -> tuple[labour.Minutes, pricing.Price]:
    """Return labour and price of a sheet by the estimate's own steps, without water, holes, order, cautions."""
    fitted = fit_lines(sheet)
    routes = route_loads(sheet, fitted)
    systems = size_systems(sheet, fitted, routes)
    worked = labour.labour_of(sheet, fitted, routes)
    used = consumables.consumables_of(sheet, fitted, systems, cut_list(fitted, systems))
    return worked, pricing.price(sheet, fitted, worked, used)
