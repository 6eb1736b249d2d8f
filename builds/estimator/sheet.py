"""The build sheet: everything one estimate needs, read from a JSON document and checked as a whole."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from .accessory import CRAFTS, MOUNTINGS, SURFACES, AccessoryType, ShopOperation
from .asked import Asked
from .link_faults import link_faults
from .rates import Shop
from .specs import Amount, Choice, Flag, ListOf, MapOf, Number, Record, Text, of

FORMAT = "hullbench-build-sheet/1"
IDENTIFIER = Text(longest=80)
MASS = Number(low=0, high=1000)
POSITION = Number(low=-20, high=20)


@dataclass(frozen=True, kw_only=True)
class TicketName:
    """Which ticket the sheet belongs to."""

    number: str = of(Text(longest=40, blank=True), "")
    title: str = of(Text(longest=200, blank=True), "")


@dataclass(frozen=True, kw_only=True)
class FloatTest:
    """The draft amidships [m] that was measured with a known load aboard [kg], the hull level."""

    draft_mid_m: float = of(Number(low=0, high=2, above=True))
    load_kg: float = of(MASS)


@dataclass(frozen=True, kw_only=True)
class Station:
    """A named place on the hull: x aft of the bow tip, y to starboard, z above the keel [m]."""

    id: str = of(IDENTIFIER)
    name: str = of(Text(longest=200))
    x_m: float = of(POSITION)
    y_m: float = of(POSITION)
    z_m: float = of(POSITION)
    surface: str = of(Choice(options=SURFACES))
    hand_reach: bool = of(Flag(), False)
    blind: bool = of(Flag(), False)
    holds_battery: bool = of(Flag(), False)
    well_half_width_m: float | None = of(Number(low=0, high=3, null=True), None)

    @property
    def point_m(self) -> tuple[float, float, float]:
        return self.x_m, self.y_m, self.z_m


@dataclass(frozen=True, kw_only=True)
class Hull:
    """A hull record: main dimensions [m], mass and rating [kg], form, stations."""

    name: str = of(Text(longest=200))
    craft: str = of(Choice(options=CRAFTS))
    material: str = of(Choice(options=("polyethylene", "abs", "laminate", "wood", "inflatable")))
    length_m: float = of(Number(low=0, high=20, above=True))
    beam_m: float = of(Number(low=0, high=4, above=True))
    depth_m: float = of(Number(low=0, high=3, above=True))
    mass_kg: float = of(Number(low=0, high=1000, above=True))
    rated_load_kg: float | None = of(Number(low=0, high=5000, above=True, null=True), None)
    rating_includes_hull: bool = of(Flag(), False)
    waterplane_exponent: float = of(Number(low=1, high=1e6))
    section_exponent: float = of(Number(low=1, high=1e6))
    cog_x_m: float | None = of(Number(low=0, high=20, null=True), None)
    cog_z_m: float | None = of(Number(low=0, high=3, null=True), None)
    float_test: FloatTest | None = of(Record(cls=FloatTest, null=True), None)
    old: bool = of(Flag(), False)
    salt_corroded: bool = of(Flag(), False)
    hull_number: str | None = of(Text(longest=40, blank=True, null=True), None)
    provides: tuple[str, ...] = of(ListOf(item=IDENTIFIER, longest=100), ())
    stations: tuple[Station, ...] = of(ListOf(item=Record(cls=Station), longest=500, unique="id"), ())

    def faults(self) -> Iterator[tuple[str, str]]:
        if self.cog_x_m is not None and self.cog_x_m > self.length_m:
            yield "cog_x_m", f"is {self.cog_x_m:g}; accepted: from 0 to the length, {self.length_m:g}"
        if self.float_test and self.float_test.draft_mid_m > self.depth_m:
            yield (
                "float_test.draft_mid_m",
                f"is {self.float_test.draft_mid_m:g}; accepted: above 0 and at most the depth, {self.depth_m:g}",
            )

    @cached_property
    def station_by_id(self) -> dict[str, Station]:
        return {station.id: station for station in self.stations}


@dataclass(frozen=True, kw_only=True)
class Aboard:
    """A person or a piece of gear [kg] and the station where it sits."""

    name: str = of(Text(longest=200))
    mass_kg: float = of(MASS)
    station: str | None = of(Text(longest=80, null=True), None)


@dataclass(frozen=True, kw_only=True)
class Line:
    """One accessory, how many, where. Offset from the station: x aft, y to starboard, z up [m]."""

    id: str = of(IDENTIFIER)
    accessory: str = of(IDENTIFIER)
    quantity: int = of(Number(low=1, high=999, whole=True), 1)
    station: str | None = of(Text(longest=80, null=True), None)
    offset_m: tuple[float, float, float] = of(ListOf(item=POSITION, shortest=3, longest=3), (0.0, 0.0, 0.0))
    mounting: str | None = of(Choice(options=MOUNTINGS, null=True), None)
    supplied_by: str = of(Choice(options=("shop", "customer", "already_fitted")), "shop")
    unit_price: Decimal | None = of(Amount(null=True), None)
    unit_cost: Decimal | None = of(Amount(null=True), None)
    battery: str | None = of(Text(longest=80, null=True), None)
    circuit: str | None = of(Text(longest=80, null=True), None)
    switch: str | None = of(Text(longest=80, null=True), None)
    direct: bool = of(Flag(), False)
    measured_run_m: float | None = of(Number(low=0, high=100, null=True), None)
    role: str = of(Choice(options=("house", "drive")), "house")
    health: float = of(Number(low=0, high=1, above=True), 1.0)


@dataclass(frozen=True, kw_only=True)
class OperationLine:
    """A shop operation and how often."""

    operation: str = of(IDENTIFIER)
    quantity: int = of(Number(low=1, high=999, whole=True), 1)


@dataclass(frozen=True, kw_only=True)
class Spell:
    """A part of the day [h] and, for the loads named, the fraction of it that each runs."""

    name: str = of(Text(longest=200))
    hours: float = of(Number(low=0, high=1000, above=True))
    on: dict[str, float] = of(MapOf(item=Number(low=0, high=1)), {})


@dataclass(frozen=True, kw_only=True)
class Discount:
    """A fraction taken off parts and labour before tax."""

    fraction: Decimal = of(Amount(high=Decimal(1), example="0.10"), Decimal(0))


@dataclass(frozen=True, kw_only=True)
class Fee:
    """A charge of its own, such as expedite or storage."""

    name: str = of(Text(longest=200))
    amount: Decimal = of(Amount())


@dataclass(frozen=True, kw_only=True)
class BuildSheet:
    """Everything one estimate needs. `asked` holds the customer's answers, null where nobody was asked."""

    format: str = of(Choice(options=(FORMAT,)))
    ticket: TicketName = of(Record(cls=TicketName), TicketName())
    hull: Hull = of(Record(cls=Hull))
    water: str = of(Choice(options=("fresh", "sea")), "fresh")
    air_temp_c: float = of(Number(low=-60, high=60), 20.0)
    people: tuple[Aboard, ...] = of(ListOf(item=Record(cls=Aboard), longest=50), ())
    gear: tuple[Aboard, ...] = of(ListOf(item=Record(cls=Aboard), longest=500), ())
    lines: tuple[Line, ...] = of(ListOf(item=Record(cls=Line), unique="id"), ())
    operations: tuple[OperationLine, ...] = of(ListOf(item=Record(cls=OperationLine), longest=500), ())
    day_plan: tuple[Spell, ...] = of(ListOf(item=Record(cls=Spell), longest=100), ())
    discount: Discount = of(Record(cls=Discount), Discount())
    fees: tuple[Fee, ...] = of(ListOf(item=Record(cls=Fee), longest=100), ())
    asked: Asked | None = of(Record(cls=Asked, null=True), None)
    accessories: dict[str, AccessoryType] = of(MapOf(item=Record(cls=AccessoryType, null_is_absent=True)))
    shop_operations: dict[str, ShopOperation] = of(MapOf(item=Record(cls=ShopOperation)), {})
    shop: Shop = of(Record(cls=Shop), Shop())
    sha256: str = ""

    @staticmethod
    def faults_in(document: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
        yield from link_faults(document)

    @cached_property
    def line_by_id(self) -> dict[str, Line]:
        return {line.id: line for line in self.lines}

    @cached_property
    def place_by_id(self) -> dict[str, int]:
        """Each line's place on the ticket, from 1, by its id."""
        return {line.id: place for place, line in enumerate(self.lines, 1)}

    @cached_property
    def batteries_by_role(self) -> dict[str, list[Line]]:
        batteries = [line for line in self.lines if self.type_of(line).battery]
        return {role: [line for line in batteries if line.role == role] for role in ("house", "drive")}

    def type_of(self, line: Line) -> AccessoryType:
        return self.accessories[line.accessory]
