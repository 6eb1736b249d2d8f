"""What the power section finds of each battery: feed, circuits, legs, energy over the day."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Feed:
    """The conductors from a battery to its distribution: run one way and both conductors [m], gauge, drop, ampacity."""

    run_m: float
    conductor_m: float
    awg: str | None
    drop_v: float | None
    drop_fraction: float | None
    ampacity_a: float | None


@dataclass(frozen=True)
class Leg:
    """The conductors of one load within its circuit; `positive_m` and `negative_m` add to `conductor_m`."""

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


@dataclass(frozen=True)
class Circuit:
    """Loads that share a fuse."""

    circuit: str
    design_current_a: float
    fuse_a: float | None
    fuse_colour: str | None
    legs: tuple[Leg, ...]
    direct: bool


@dataclass(frozen=True)
class BatterySystem:
    """One battery with all that it feeds, and its day. `charge_after` has one figure for each spell of the plan."""

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
