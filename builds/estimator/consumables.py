"""Consumables: sealant, ties, conductors, terminals, heat-shrink and fuses computed, then each type's own list."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from shop.money import round_money

from .accessory import Opening
from .cautions import CAUTION, Caution
from .circuits import BatterySystem
from .cut_list import Piece
from .fitted import Fitted
from .rates import Shop
from .sheet import BuildSheet
from .working import Working

BASE_MARGIN_MM = 10.0
FASTENER_ML = 0.3
SEALANT_WASTE = 1.15
TIE_SPACING_M = 0.45
ENDS = 2
SHRINK_PER_JOINT_M = 0.060
SLACK = 1e-9

THIN_GAUGES = ("18", "16", "14", "12", "10")
LARGEST_BLADE_A, LARGEST_MAXI_A = 40.0, 100.0
WIRE = re.compile(r"wire_(?P<awg>\d+(_0)?)_awg")
# The items that are computed, in the order in which they are listed.
COMPUTED = (
    "marine_sealant",
    "cable_tie",
    "wire",
    "ring_terminal",
    "heavy_lug",
    "adhesive_heat_shrink",
    "blade_fuse",
    "maxi_fuse",
    "bolt_down_fuse",
)
UNITS = {"marine_sealant": "ml", "adhesive_heat_shrink": "m", "wire": "m"}
NAMED_AT_MOST = 6


@dataclass(frozen=True)
class ConsumableLine:
    """One consumable: how much of it, and its price and cost [money].

    `quantity` is in `unit`. `uses` says what takes it, in order: (what, quantity in `unit`). `priced` is false where
    the shop has no price for it; price and cost are then 0.
    """

    item: str
    quantity: float
    unit: str
    price: Decimal
    cost: Decimal
    name: str
    unit_price: Decimal
    unit_cost: Decimal
    priced: bool
    uses: tuple[tuple[str, float], ...] = ()


@dataclass
class Usage:
    """Adds up quantities by item, keeping what takes them."""

    by_item: dict[str, dict[str, float]] = field(default_factory=dict)

    def take(self, item: str, quantity: float, what: str) -> None:
        if quantity > 0:
            uses = self.by_item.setdefault(item, {})
            uses[what] = uses.get(what, 0.0) + quantity


def consumables_of(
    sheet: BuildSheet, fitted: tuple[Fitted, ...], systems: tuple[BatterySystem, ...], pieces: Iterable[Piece]
) -> tuple[ConsumableLine, ...]:
    """Return what the lines that the shop fits use up, one entry an item: computed items first, then the types' own.

    Parameters: the sheet, its lines resolved, the battery systems, and the cut list.
    Returns: quantities [the item's unit] unrounded; price and cost [money, minor unit], each quantity * unit price.

    What is already fitted takes nothing; a customer's own part takes as much as the shop's. A run counts where its
    load (for a feed: its distribution) is fitted now.

    References: common practice, no source; ties: ABYC E-11 as quoted, every 18 in (457 mm).
    """
    usage = Usage()
    by_id = {one.id: one for one in fitted}
    take_sealant(usage, fitted)
    for system in systems:
        take_runs(usage, system, by_id)
    take_conductors(usage, pieces)
    for one in fitted:
        if one.is_new:
            for use in one.kind.consumables:
                usage.take(use.item, use.quantity * one.quantity, f"{one.id}, its own list")
    items = sorted(usage.by_item, key=place_of_item)
    return tuple(priced_line(sheet.shop, item, usage.by_item[item]) for item in items)


def place_of_item(item: str) -> tuple[int, int]:
    """Sort items: sealant, ties, conductors from thin to thick, terminals, heat-shrink, fuses, then all others."""
    wire = WIRE.fullmatch(item)
    if wire:
        return COMPUTED.index("wire"), -gauge_number(wire["awg"])
    return (COMPUTED.index(item) if item in COMPUTED else len(COMPUTED)), 0


def wire_item(awg: str) -> str:
    """Return the consumable for a conductor: "18" is wire_18_awg, "2/0" is wire_2_0_awg."""
    return f"wire_{awg.replace('/', '_')}_awg"


def gauge_number(awg: str) -> int:
    """Return a gauge as a number that falls as the conductor grows: "18" is 18, "1_0" is 0, "2_0" is -1."""
    size, _, nought = awg.partition("_")
    return 1 - int(size) if nought else int(size)


def priced_line(shop: Shop, item: str, uses: Mapping[str, float]) -> ConsumableLine:
    """Return the entry of one item with its price and cost, each rounded once to the minor unit."""
    quantity = math.fsum(uses.values())
    known = shop.consumables.get(item)
    unit_price = known.unit_price if known else Decimal(0)
    unit_cost = known.unit_cost if known else Decimal(0)
    unit = (known.unit if known else None) or unit_of(item)
    return ConsumableLine(
        item=item,
        quantity=quantity,
        unit=unit,
        price=round_money(decimal_of(quantity) * unit_price, shop.currency),
        cost=round_money(decimal_of(quantity) * unit_cost, shop.currency),
        name=(known.name if known else None) or item.replace("_", " "),
        unit_price=unit_price,
        unit_cost=unit_cost,
        priced=known is not None,
        uses=tuple(uses.items()),
    )


def unit_of(item: str) -> str:
    """Return the unit that an item is counted in where the shop records none."""
    return UNITS.get("wire" if WIRE.fullmatch(item) else item, "each")


def decimal_of(figure: float) -> Decimal:
    """Return a float as the decimal that it stands for: without the noise beyond its ninth place."""
    return Decimal(repr(round(figure, 9)))


# Sealant


def take_sealant(usage: Usage, fitted: Iterable[Fitted]) -> None:
    known: dict[tuple[str, str], float] = {}
    for one in fitted:
        if one.is_new and one.openings and one.kind.seal.kind in ("bead", "insert"):
            key = (one.kind.id, one.mounting)
            if key not in known:
                known[key] = sealant_ml(one.openings, one.kind.seal.bead_mm)
            usage.take("marine_sealant", known[key] * one.quantity, one.id)


def sealant_ml(openings: tuple[Opening, ...], bead_mm: float) -> float:
    """Return the sealant of one unit [ml], 0 or more.

    V = (pi/4 d^2 * (base + rims) / 1000 + 0.3 * n) * 1.15

    d: bead [mm]; base: outline of the base [mm]; rims: rims of the openings that are no fastener [mm]; n: fasteners.

    References: volume of a round bead, geometry; 0.3 ml a fastener and 15 % waste: common practice, no source.
    """
    if not openings or bead_mm <= 0:
        return 0.0
    rims_mm = math.fsum(rim_mm(opening) for opening in openings if not opening.is_fastener)
    fasteners = sum(opening.is_fastener for opening in openings)
    bead_ml = math.pi / 4 * bead_mm**2 * (base_outline_mm(openings) + rims_mm) / 1000
    return (bead_ml + FASTENER_ML * fasteners) * SEALANT_WASTE


def base_outline_mm(openings: tuple[Opening, ...]) -> float:
    """Return the outline of the base that covers the openings [mm].

    A single round opening: its circle grown by 10 mm all round. Otherwise the rectangle round all openings, grown by
    10 mm on each side (common practice, no source).
    """
    if len(openings) == 1 and openings[0].shape == "round":
        return math.pi * (openings[0].size_mm[0] + 2 * BASE_MARGIN_MM)
    along = extent_mm((opening.dx_mm, opening.size_mm[0]) for opening in openings)
    across = extent_mm((opening.dy_mm, opening.size_mm[1]) for opening in openings)
    return 2 * (along + across + 4 * BASE_MARGIN_MM)


def extent_mm(centred: Iterable[tuple[float, float]]) -> float:
    ends = [(centre - size / 2, centre + size / 2) for centre, size in centred]
    return max(high for _, high in ends) - min(low for low, _ in ends)


def rim_mm(opening: Opening) -> float:
    """Return the length of an opening's rim [mm]: a circle, a slot with round ends, a rectangle with its corners."""
    long_mm, short_mm = max(opening.size_mm), min(opening.size_mm)
    if opening.shape == "round":
        return math.pi * long_mm
    corner_mm = short_mm / 2 if opening.shape == "slot" else min(opening.corner_mm or 0.0, short_mm / 2)
    return 2 * (long_mm + short_mm) - (8 - 2 * math.pi) * corner_mm


# Conductors and fuses


def take_conductors(usage: Usage, pieces: Iterable[Piece]) -> None:
    """The metres of each piece, and at each of its two ends a terminal with its heat-shrink."""
    for piece in pieces:
        what = piece.serves if piece.circuit is not None else f"feed of {piece.battery}"
        usage.take(wire_item(piece.awg), piece.length_m, f"{what}, {piece.colour}")
        usage.take("ring_terminal" if piece.awg in THIN_GAUGES else "heavy_lug", ENDS, what)
        usage.take("adhesive_heat_shrink", SHRINK_PER_JOINT_M * ENDS, what)


def take_runs(usage: Usage, system: BatterySystem, by_id: Mapping[str, Fitted]) -> None:
    """The ties of each run, by way of a switch or not, and the fuses: a main fuse has no spare, a circuit's has one."""
    feed = system.feed
    if feed and by_id[feed.distribution].is_new:
        if feed.awg is not None:
            usage.take("cable_tie", ties_on(feed.run_m), f"feed of {system.battery}")
        if system.main_fuse_a is not None:
            usage.take(fuse_item(system.main_fuse_a), 1, f"main fuse of {system.battery}")
    for circuit in system.circuits:
        new_legs = [leg for leg in circuit.legs if by_id[leg.line].is_new]
        for leg in new_legs:
            if leg.awg is not None:
                usage.take("cable_tie", ties_on(leg.run_m), leg.line)
        if new_legs and circuit.fuse_a is not None:
            usage.take(fuse_item(circuit.fuse_a), 2, f"circuit {circuit.circuit}, one fitted and one spare")


def ties_on(run_m: float) -> int:
    """Return the ties on one run [count].

    n = ceil(run / 0.45 m) + 1

    References: ABYC E-11 as quoted, conductors held at least every 18 in (457 mm).
    """
    return math.ceil(run_m / TIE_SPACING_M * (1 - SLACK)) + 1


def fuse_item(fuse_a: float) -> str:
    """Return the consumable for a fuse rating [A]: blades to 40, large blades to 100, bolt-down above."""
    if fuse_a <= LARGEST_BLADE_A:
        return "blade_fuse"
    return "maxi_fuse" if fuse_a <= LARGEST_MAXI_A else "bolt_down_fuse"


# What the section says


def cautions_of(consumables: tuple[ConsumableLine, ...]) -> tuple[Caution, ...]:
    """Return one caution that names the consumables without a price, where there are any."""
    unpriced = [line.item for line in consumables if not line.priced]
    if not unpriced:
        return ()
    more = f" and {len(unpriced) - NAMED_AT_MOST} more" if len(unpriced) > NAMED_AT_MOST else ""
    return (
        Caution(
            code="consumable_unpriced",
            severity=CAUTION,
            sentence=f"The shop has no price for {', '.join(unpriced[:NAMED_AT_MOST])}{more}: counted as nothing.",
            figures={"items": unpriced},
            source="shop_policy",
            mends=({"do": "price_consumables", "items": unpriced},),
        ),
    )


FORMULAS = {
    "marine_sealant": "(pi/4 * bead^2 * (outline of the base + rims) + 0.3 ml * fasteners) * 1.15, over the lines",
    "cable_tie": "ceil(run / 0.45 m) + 1 a run, over the runs",
    "wire": "positive and negative conductors, over the runs",
    "ring_terminal": "two a piece of conductor, 18 to 10 AWG",
    "heavy_lug": "two a piece of conductor, 8 AWG and thicker",
    "adhesive_heat_shrink": "0.060 m a terminal",
    "blade_fuse": "one fitted and one spare a circuit; a main fuse has no spare",
    "maxi_fuse": "one fitted and one spare a circuit; a main fuse has no spare",
    "bolt_down_fuse": "one fitted and one spare a circuit; a main fuse has no spare",
}


def workings_of(consumables: tuple[ConsumableLine, ...]) -> tuple[Working, ...]:
    """Return the working of each item: what takes how much, then quantity * unit price."""
    return tuple(
        Working(
            figure=f"consumables.{line.item}",
            formula=f"{formula_of(line.item)}; price = quantity * unit price",
            inputs={
                **{f"{what} [{line.unit}]": quantity for what, quantity in line.uses},
                "unit price": str(line.unit_price),
            },
            sources=("abyc_e11_support",) if line.item == "cable_tie" else ("common_practice", "catalogue"),
        )
        for line in consumables
    )


def formula_of(item: str) -> str:
    return FORMULAS.get("wire" if WIRE.fullmatch(item) else item, "quantity of the type's own list, times the units")
