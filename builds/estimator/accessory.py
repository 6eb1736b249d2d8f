"""An accessory type and a shop operation, as the build sheet and the catalogue write them."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from .specs import Amount, Choice, Flag, ListOf, Number, OneNumber, Record, Text, of

CRAFTS = ("sit_on_top_kayak", "sit_inside_kayak", "touring_kayak", "canoe")
PHASES = ("check", "mark", "dry_fit", "drill", "route", "bed", "mount", "terminate", "set", "test", "finish")
SURFACES = ("deck", "side", "bottom", "inside")
MOUNTINGS = (
    "through_bolt",
    "rivet",
    "well_nut",
    "flush_cutout",
    "gear_track_t_bolt",
    "brass_insert",
    "existing_fastener",
    "scupper",
    "clamp",
    "strap",
    "lashing",
    "adhesive",
    "in_hull",
    "drop_in",
)
CHEMISTRIES = ("lfp", "agm", "gel", "flooded")
SYSTEM_VOLTS = (12, 24, 36, 48)
FASTENER = re.compile(r"M\d{1,2}|rivet \d(\.\d)?|ST\d(\.\d)?")
SHARE_SLACK = 0.002 + 1e-9

IDENTIFIER = Text(longest=80)
SENTENCE = Text(longest=2000)
SENTENCES = ListOf(item=SENTENCE, longest=100)
CURRENT = Number(low=0, high=1000)
MINUTES = Number(low=0, high=10_000)
MILLIMETRES = Number(low=0, high=3000, above=True, null=True)
PRICE = Amount(null=True)


@dataclass(frozen=True, kw_only=True)
class Load:
    """What an accessory draws [A] at its voltage [V]."""

    voltage_v: float = of(Number(low=0, high=60, above=True))
    typical_a: float = of(CURRENT)
    max_a: float = of(CURRENT)
    peak_a: float | None = of(Number(low=0, high=2000, null=True), None)
    standby_a: float = of(CURRENT, 0.0)
    duty: float = of(Number(low=0, high=1), 1.0)
    drop_class: str = of(Choice(options=("critical", "general", "propulsion")), "general")
    max_fuse_a: float | None = of(Number(low=0, high=1000, above=True, null=True), None)
    propulsion: bool = of(Flag(), False)


@dataclass(frozen=True, kw_only=True)
class Battery:
    """A battery's rating: volts, system volts, capacity [Ah] over the hours of its rating, limits [A]."""

    voltage_v: float = of(Number(low=0, high=100, above=True))
    system_v: float = of(OneNumber(options=SYSTEM_VOLTS))
    rated_ah: float = of(Number(low=0, high=2000, above=True))
    hour_rate: float = of(Number(low=0, high=200, above=True))
    chemistry: str = of(Choice(options=CHEMISTRIES))
    max_continuous_a: float = of(Number(low=0, high=5000, above=True))
    short_circuit_a: float | None = of(Number(low=0, high=100_000, above=True, null=True), None)


@dataclass(frozen=True, kw_only=True)
class Converter:
    """A converter from the battery's system volts to another voltage."""

    system_v: float = of(OneNumber(options=SYSTEM_VOLTS))
    out_v: float = of(Number(low=0, high=60, above=True))
    max_out_a: float = of(Number(low=0, high=500, above=True))
    efficiency: float = of(Number(low=0.01, high=1))


@dataclass(frozen=True, kw_only=True)
class Ways:
    """How many circuits a distribution or a switch panel takes."""

    ways: int = of(Number(low=1, high=100, whole=True))


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A drilled hole or a cut-out of a pattern; dx aft, dy to starboard (up on a side) of the line's place [mm]."""

    shape: str = of(Choice(options=("round", "slot", "rectangle")))
    diameter_mm: float | None = of(MILLIMETRES, None)
    width_mm: float | None = of(MILLIMETRES, None)
    height_mm: float | None = of(MILLIMETRES, None)
    corner_mm: float | None = of(Number(low=0, high=1000, null=True), None)
    dx_mm: float = of(Number(low=-6000, high=6000), 0.0)
    dy_mm: float = of(Number(low=-3000, high=3000), 0.0)
    purpose: str = of(Text(longest=200))
    fastener: str | None = of(Text(longest=20, null=True), None)
    cable: bool = of(Flag(), False)
    mountings: tuple[str, ...] | None = of(ListOf(item=Choice(options=MOUNTINGS), null=True), None)
    surface: str | None = of(Choice(options=SURFACES, null=True), None)

    def faults(self) -> Iterator[tuple[str, str]]:
        if self.shape == "round" and self.diameter_mm is None:
            yield "diameter_mm", "is missing; accepted for a round opening: a number above 0"
        if self.shape != "round":
            for name in ("width_mm", "height_mm"):
                if getattr(self, name) is None:
                    yield name, f"is missing; accepted for a {self.shape}: a number above 0"
        if self.fastener is not None and not FASTENER.fullmatch(self.fastener):
            yield "fastener", f'is "{self.fastener}"; accepted: M5, rivet 4.8, ST4.2 and the like, or null'

    @property
    def is_fastener(self) -> bool:
        return self.fastener is not None or self.purpose == "fastener"

    def made_with(self, mounting: str | None) -> bool:
        """Return whether a line with this mounting makes the opening."""
        return self.mountings is None or mounting in self.mountings

    @property
    def size_mm(self) -> tuple[float, float]:
        """Return the outline's extent along the hull and across (or up) [mm]."""
        if self.shape == "round":
            return self.diameter_mm or 0.0, self.diameter_mm or 0.0
        return self.width_mm or 0.0, self.height_mm or 0.0


@dataclass(frozen=True, kw_only=True)
class Seal:
    """How an opening is made watertight."""

    kind: str = of(Choice(options=("none", "bead", "gasket", "insert")), "none")
    bead_mm: float = of(Number(low=0, high=50), 0.0)


@dataclass(frozen=True, kw_only=True)
class UnitMinutes:
    """Minutes to fit the first unit of a type (low, likely, high), and the share that each further unit takes."""

    low_min: float = of(MINUTES)
    likely_min: float = of(MINUTES)
    high_min: float = of(MINUTES)
    repeat_ratio: float = of(Number(low=0, high=1), 1.0)

    def faults(self) -> Iterator[tuple[str, str]]:
        yield from ordered_minutes(self)


def ordered_minutes(labour: "UnitMinutes | OperationMinutes") -> Iterator[tuple[str, str]]:
    """Yield a fault where low, likely and high are out of order."""
    if not labour.low_min <= labour.likely_min <= labour.high_min:
        yield (
            "likely_min",
            (f"is {labour.likely_min:g}; accepted: from low_min {labour.low_min:g} to high_min {labour.high_min:g}"),
        )


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of fitting a type: its phase and its share of the likely minutes."""

    phase: str = of(Choice(options=PHASES))
    share: float = of(Number(low=0, high=1))
    text: str = of(SENTENCE)
    bit: str | None = of(Text(longest=200, null=True), None)
    caution: str | None = of(Text(longest=2000, null=True), None)
    check: bool = of(Flag(), False)


@dataclass(frozen=True, kw_only=True)
class ConsumableUse:
    """A consumable that one unit of a type uses up."""

    item: str = of(IDENTIFIER)
    quantity: float = of(Number(low=0, high=100_000))


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """A group of which one must be on the ticket: types, or `tag:` and a tag."""

    any_of: tuple[str, ...] = of(ListOf(item=IDENTIFIER, shortest=1, longest=200))
    strength: str = of(Choice(options=("must", "usually")))
    why: str = of(SENTENCE)


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """A type that does not go with this one."""

    other: str = of(IDENTIFIER, key="with")
    why: str = of(SENTENCE)


@dataclass(frozen=True, kw_only=True)
class AccessoryType:
    """A generic accessory type: one record of the catalogue."""

    id: str = of(IDENTIFIER)
    name: str = of(Text(longest=200))
    category: str = of(IDENTIFIER)
    craft: tuple[str, ...] = of(ListOf(item=Choice(options=CRAFTS), longest=10))
    mass_kg: float = of(Number(low=0, high=500))
    mass_in_use_kg: float | None = of(Number(low=0, high=1000, null=True), None)
    mountings: tuple[str, ...] = of(ListOf(item=Choice(options=MOUNTINGS), shortest=1, longest=20))
    load: Load | None = of(Record(cls=Load, null=True), None)
    battery: Battery | None = of(Record(cls=Battery, null=True), None)
    converter: Converter | None = of(Record(cls=Converter, null=True), None)
    distribution: Ways | None = of(Record(cls=Ways, null=True), None)
    switch: Ways | None = of(Record(cls=Ways, null=True), None)
    openings: tuple[Opening, ...] = of(ListOf(item=Record(cls=Opening), longest=500), ())
    opening_min_height_mm: float | None = of(Number(low=-1000, high=3000, null=True), None)
    may_sit_below_water: bool = of(Flag(), False)
    seal: Seal = of(Record(cls=Seal), Seal())
    inside_access: str = of(Choice(options=("no", "preferred", "yes")), "no")
    cure_h: float = of(Number(low=0, high=1000), 0.0)
    labour: UnitMinutes = of(Record(cls=UnitMinutes))
    steps: tuple[Step, ...] = of(ListOf(item=Record(cls=Step), longest=200), ())
    consumables: tuple[ConsumableUse, ...] = of(ListOf(item=Record(cls=ConsumableUse), longest=200), ())
    requires: tuple[Requirement, ...] = of(ListOf(item=Record(cls=Requirement), longest=50), ())
    provides: tuple[str, ...] = of(ListOf(item=IDENTIFIER, longest=100), ())
    conflicts: tuple[Conflict, ...] = of(ListOf(item=Record(cls=Conflict), longest=200), ())
    cautions: tuple[str, ...] = of(SENTENCES, ())
    owner_checks: tuple[str, ...] = of(SENTENCES, ())
    bench_tests: tuple[str, ...] = of(SENTENCES, ())
    tools: tuple[str, ...] = of(SENTENCES, ())
    body_length_mm: float | None = of(MILLIMETRES, None)
    body_width_mm: float | None = of(MILLIMETRES, None)
    price: Decimal | None = of(PRICE, None)
    cost: Decimal | None = of(PRICE, None)
    source: str = of(Text(longest=5000, blank=True), "")

    def faults(self) -> Iterator[tuple[str, str]]:
        shares = sum(step.share for step in self.steps)
        if (self.steps or self.labour.likely_min > 0) and abs(shares - 1) > SHARE_SLACK:
            yield "steps", f"have shares that add to {shares:g}; accepted: 1, give or take 0.002"

    @property
    def in_use_kg(self) -> float:
        return self.mass_kg if self.mass_in_use_kg is None else self.mass_in_use_kg

    @property
    def wants_inside_access(self) -> bool:
        return self.inside_access in ("preferred", "yes")


@dataclass(frozen=True, kw_only=True)
class OperationMinutes:
    """Minutes of a shop operation, low, likely and high."""

    low_min: float = of(MINUTES)
    likely_min: float = of(MINUTES)
    high_min: float = of(MINUTES)

    def faults(self) -> Iterator[tuple[str, str]]:
        yield from ordered_minutes(self)


@dataclass(frozen=True, kw_only=True)
class ShopOperation:
    """Work of the shop that is no accessory: check-in, tests, hand-over."""

    id: str = of(IDENTIFIER)
    name: str = of(Text(longest=200))
    labour: OperationMinutes = of(Record(cls=OperationMinutes))
    phase: str = of(Choice(options=PHASES))
    billable: bool = of(Flag(), True)
    note: str = of(Text(longest=2000, blank=True), "")
    source: str = of(Text(longest=2000, blank=True), "")
