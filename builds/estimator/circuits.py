"""What the power section finds of each battery: feed, circuits, legs, energy over the day."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Feed:
    """The conductors from a battery to its distribution: run one way and both conductors [m], gauge, drop, ampacity.

    `positive_m` goes by way of `switch`, the main switch, where there is one.
    """

    run_m: float
    conductor_m: float
    awg: str | None
    drop_v: float | None
    drop_fraction: float | None
    ampacity_a: float | None
    distribution: str = ""
    switch: str | None = None
    positive_m: float = 0.0
    negative_m: float = 0.0
    current_a: float = 0.0
    limit_fraction: float = 0.0


@dataclass(frozen=True)
class Leg:
    """The conductors of one load within its circuit; `positive_m` and `negative_m` add to `conductor_m`.

    `limit_fraction` is the limit of the load's class, `allowed_fraction` what the feed leaves of it; `drop_fraction` is
    the leg's own. `origin` is the line at which it starts. Where no size fits, `awg`, drop and ampacity are None.
    """

    line: str
    run_m: float
    conductor_m: float
    positive_m: float
    negative_m: float
    current_a: float
    awg: str | None
    drop_v: float | None
    drop_fraction: float | None
    limit_fraction: float
    ampacity_a: float | None
    switch: str | None
    origin: str
    allowed_fraction: float = 0.0


@dataclass(frozen=True)
class Circuit:
    """Loads that share a fuse. `origin` is the line at which it is fused; `direct` says that this is the battery.

    `needed_fuse_a` is what the fuse must be at least, `device_fuse_a` what its loads allow at most (None: unknown).
    """

    circuit: str
    design_current_a: float
    fuse_a: float | None
    fuse_colour: str | None
    legs: tuple[Leg, ...]
    direct: bool
    origin: str = ""
    volts_v: float = 0.0
    peak_current_a: float = 0.0
    fuse_factor: float = 0.0
    needed_fuse_a: float = 0.0
    device_fuse_a: float | None = None


@dataclass(frozen=True)
class BatterySystem:
    """One battery with all that it feeds, and its day. `charge_after` has one figure for each spell of the plan.

    A battery line of quantity n is a bank of n in parallel: `rated_ah`, `watt_hours` and `max_continuous_a` are the
    bank's. `plan_fraction` is the share of the charge that the plan takes, `usable_fraction` the share that it may.
    `main_fuse_needed_a` is what a main fuse must be at least; where none is called for, it is None.
    """

    battery: str
    role: str
    system_v: float
    rated_ah: float
    effective_ah: float
    watt_hours: float
    mean_current_a: float
    design_current_a: float
    peak_current_a: float
    hours_to_empty: float | None
    hours_planned: float | None
    charge_after: tuple[float, ...]
    smallest_that_carries: str | None
    main_fuse_a: float | None
    feed: Feed | None
    circuits: tuple[Circuit, ...]
    plan_fraction: float = 0.0
    usable_fraction: float = 0.0
    spell_current_a: tuple[float, ...] = ()
    temperature_factor: float = 1.0
    max_continuous_a: float = 0.0
    main_fuse_needed_a: float | None = None
