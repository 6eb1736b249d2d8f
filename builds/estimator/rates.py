"""The shop's rates and rules that an estimate needs, each with its default."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Any

from .specs import Amount, Choice, Flag, ListOf, MapOf, Number, OneNumber, Record, Text, of

FRACTION = Number(low=0, high=1)
FACTOR = Number(low=0.1, high=10)
MINUTES = Number(low=0, high=10_000)
RATE = Amount(high=Decimal(100_000))
TAX = Amount(high=Decimal(1), example="0.0825")


def part(cls: type) -> Any:
    """Return a field that is an object of its own, every key of it with a default."""
    return of(Record(cls=cls), cls())


@dataclass(frozen=True, kw_only=True)
class PhaseSetup:
    """Set-up minutes of each phase [min]."""

    check: float = of(MINUTES, 4.0)
    mark: float = of(MINUTES, 6.0)
    dry_fit: float = of(MINUTES, 4.0)
    drill: float = of(MINUTES, 6.0)
    route: float = of(MINUTES, 8.0)
    bed: float = of(MINUTES, 5.0)
    mount: float = of(MINUTES, 4.0)
    terminate: float = of(MINUTES, 8.0)
    set: float = of(MINUTES, 4.0)
    test: float = of(MINUTES, 8.0)
    finish: float = of(MINUTES, 5.0)


@dataclass(frozen=True, kw_only=True)
class HullFactors:
    """By how much a hull makes the phases that it touches longer."""

    no_hand_reach: float = of(FACTOR, 1.45)
    laminate: float = of(FACTOR, 1.2)
    old_hull: float = of(FACTOR, 1.2)
    salt_corroded: float = of(FACTOR, 1.3)


@dataclass(frozen=True, kw_only=True)
class MarkupStep:
    """One step of the sliding scale: costs below this [money] are multiplied by the factor; null: all above."""

    below: Decimal | None = of(Amount(null=True))
    factor: Decimal = of(Amount(low=Decimal("0.1"), high=Decimal(100), example="1.7"))


@dataclass(frozen=True, kw_only=True)
class ByKind:
    """A tax rate for each kind of charge."""

    parts: Decimal = of(TAX, Decimal(0))
    labour: Decimal = of(TAX, Decimal(0))
    consumables: Decimal = of(TAX, Decimal(0))
    fees: Decimal = of(TAX, Decimal(0))


@dataclass(frozen=True, kw_only=True)
class Deposit:
    """The share of parts and of labour that is paid on acceptance."""

    parts: Decimal = of(TAX, Decimal("0.50"))
    labour: Decimal = of(TAX, Decimal(0))


@dataclass(frozen=True, kw_only=True)
class ConsumablePrice:
    """Price and cost of one unit of a consumable; its unit and name where the catalogue gives them."""

    unit_price: Decimal = of(Amount())
    unit_cost: Decimal = of(Amount())
    unit: str | None = of(Text(longest=20, null=True), None)
    name: str | None = of(Text(longest=200, null=True), None)


@dataclass(frozen=True, kw_only=True)
class ByChemistry:
    """A figure for each battery chemistry."""

    lfp: float
    agm: float
    gel: float
    flooded: float


@dataclass(frozen=True, kw_only=True)
class UsableDepth(ByChemistry):
    """The share of a battery's charge that a day may take."""

    lfp: float = of(FRACTION, 0.80)
    agm: float = of(FRACTION, 0.50)
    gel: float = of(FRACTION, 0.50)
    flooded: float = of(FRACTION, 0.50)


@dataclass(frozen=True, kw_only=True)
class Peukert(ByChemistry):
    """Peukert's exponent."""

    lfp: float = of(Number(low=1, high=3), 1.05)
    agm: float = of(Number(low=1, high=3), 1.10)
    gel: float = of(Number(low=1, high=3), 1.15)
    flooded: float = of(Number(low=1, high=3), 1.25)


@dataclass(frozen=True, kw_only=True)
class DropLimits:
    """The greatest voltage drop of each class, a fraction of the system volts."""

    critical: float = of(Number(low=0, high=0.5, above=True), 0.03)
    general: float = of(Number(low=0, high=0.5, above=True), 0.10)
    propulsion: float = of(Number(low=0, high=0.5, above=True), 0.05)


@dataclass(frozen=True, kw_only=True)
class FuseFactor:
    """By how much a fuse exceeds the design current."""

    general: float = of(Number(low=1, high=3), 1.25)
    propulsion: float = of(Number(low=1, high=3), 1.10)


def scale(*steps: tuple[str | None, str]) -> tuple[MarkupStep, ...]:
    return tuple(
        MarkupStep(below=None if below is None else Decimal(below), factor=Decimal(factor)) for below, factor in steps
    )


@dataclass(frozen=True, kw_only=True)
class Shop:
    """Rates, rules and limits of the shop on the day of the estimate."""

    currency: str = of(Text(longest=3), "USD")
    labour_rate_per_h: Decimal = of(RATE, Decimal("95.00"))
    labour_cost_per_h: Decimal = of(RATE, Decimal("38.00"))
    billing_step_min: float = of(Number(low=0, high=480, above=True), 15.0)
    minimum_charge_min: float = of(MINUTES, 30.0)
    labour_percentile: float = of(Number(low=0.01, high=0.99), 0.5)
    labour_correlation: float = of(FRACTION, 0.3)
    phase_setup_min: PhaseSetup = part(PhaseSetup)
    setup_share_max: float = of(FRACTION, 0.3)
    run_min_per_m: float = of(MINUTES, 4.0)
    run_included_m: float = of(Number(low=0, high=100), 2.0)
    factors: HullFactors = part(HullFactors)
    markup_scale: tuple[MarkupStep, ...] = of(
        ListOf(item=Record(cls=MarkupStep), shortest=1, longest=50),
        scale(("5", "2.5"), ("25", "2.0"), ("100", "1.7"), ("500", "1.4"), (None, "1.2")),
    )
    tax: ByKind = part(ByKind)
    tax_rounding: str = of(Choice(options=("ticket", "line")), "ticket")
    deposit: Deposit = part(Deposit)
    consumables: dict[str, ConsumablePrice] = of(MapOf(item=Record(cls=ConsumablePrice)), {})
    margin_floor: float = of(Number(low=-1, high=1), 0.35)
    capacity_caution: float = of(Number(low=0, high=1), 0.70)
    capacity_strong: float = of(Number(low=0, high=1), 0.85)
    deck_freeboard_caution_mm: float = of(Number(low=0, high=500), 20.0)
    usable_depth: UsableDepth = part(UsableDepth)
    peukert: Peukert = part(Peukert)
    feed_drop: float = of(Number(low=0, high=0.5, above=True), 0.01)
    drop_limits: DropLimits = part(DropLimits)
    fuse_factor: FuseFactor = part(FuseFactor)
    insulation_c: float = of(OneNumber(options=(60, 75, 80, 90, 105, 125, 200)), 75)
    hot_hull: bool = of(Flag(), False)
    sheathed: bool = of(Flag(), True)

    def faults(self) -> Iterator[tuple[str, str]]:
        if not (len(self.currency) == 3 and self.currency.isascii() and self.currency.isupper()):
            yield "currency", f'is "{self.currency}"; accepted: three capital letters of ISO 4217, such as USD'
        bounds = [step.below for step in self.markup_scale]
        if bounds[-1] is not None:
            yield (
                f"markup_scale[{len(bounds) - 1}].below",
                "is not null; accepted: null on the last step, for all above",
            )
        inner = [bound for bound in bounds[:-1] if bound is not None]
        if len(inner) < len(bounds) - 1 or any(a >= b for a, b in pairwise(inner)):
            yield "markup_scale", "is out of order; accepted: each step below a greater cost than the one before it"
