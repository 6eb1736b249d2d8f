"""What the wiring diagram of one battery is made from: the battery, its feed, its circuits with their legs."""

from dataclasses import dataclass

from shop.units import METRIC


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of the diagram: its line, the line's number, its name, where it sits."""

    line: str
    label: str
    name: str
    place: str = ""


@dataclass(frozen=True, kw_only=True)
class Leg:
    """The conductors of one load.

    `positive` holds the sleeve labels of the positive conductor: one, or two where a switch parts it. `run_m` is one
    way; the drop is its own, a fraction of the system's volts. `awg` is None where no conductor fits.
    """

    part: Part
    current_a: float
    awg: str | None
    run_m: float
    drop_fraction: float | None
    limit_fraction: float
    positive: tuple[str, ...]
    negative: str
    switch: Part | None = None


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """Loads that share a fuse. It starts at the line `origin`: the battery, its distribution, or a converter."""

    name: str
    origin: str
    current_a: float
    fuse_a: float | None
    fuse_colour: str | None
    legs: tuple[Leg, ...]


@dataclass(frozen=True, kw_only=True)
class Feed:
    """The conductors from the battery to its distribution, with their sleeve labels; perhaps by way of a switch."""

    run_m: float
    awg: str | None
    drop_fraction: float | None
    limit_fraction: float
    positive: tuple[str, ...]
    negative: str
    switch: Part | None = None


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where circuits start besides the battery: its distribution, or a converter."""

    part: Part
    ways: int | None = None
    out_v: float | None = None


@dataclass(frozen=True, kw_only=True)
class Wiring:
    """One battery with all that it feeds. `main_fuse_a` is None where each direct circuit has its own fuse at the
    battery, or where no fuse fits."""

    battery: Part
    role: str
    system_v: float
    rated_ah: float
    main_fuse_a: float | None
    feed: Feed | None
    distribution: Source | None
    converters: tuple[Source, ...]
    circuits: tuple[Circuit, ...]
    selected: str = ""
    units: str = METRIC

    @property
    def direct(self) -> tuple[Circuit, ...]:
        return self.of(self.battery.line)

    @property
    def fused_in_main(self) -> bool:
        """Whether the only circuit hangs on the battery itself, so that its fuse is the main fuse."""
        return len(self.direct) == 1 and self.feed is None and self.main_fuse_a is not None

    def of(self, origin: str) -> tuple[Circuit, ...]:
        """Return the circuits that start at a line."""
        return tuple(circuit for circuit in self.circuits if circuit.origin == origin)
