"""What each fed line draws at its own input: at most, for a moment, and in each spell of the day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import fsum

from .accessory import Load
from .fitted import Fitted
from .runs import Route
from .sheet import Spell


@dataclass(frozen=True)
class Demand:
    """Currents of one line with its quantity [A]: the sum of maxima, the sum of peaks, the mean of each spell."""

    design_a: float
    peak_a: float
    spells_a: tuple[float, ...]


def load_of(one: Fitted) -> Load:
    """Return what a line draws; a converter without an idle load of its own draws none."""
    if one.kind.load:
        return one.kind.load
    assert one.kind.converter
    return Load(voltage_v=one.kind.converter.system_v, typical_a=0.0, max_a=0.0, drop_class="critical")


def own_demand(one: Fitted, spells: Sequence[Spell]) -> Demand:
    """Return what a line draws for itself.

    Design = n * max_a; peak = n * (peak_a, else max_a); in a spell n * (typical_a * on + standby_a * (1 - on)): n the
    quantity, `on` the share of the spell named in the plan, else the load's duty.
    """
    load, n = load_of(one), one.quantity
    on = [spell.on.get(one.id, load.duty) for spell in spells]
    return Demand(
        design_a=n * load.max_a,
        peak_a=n * (load.max_a if load.peak_a is None else load.peak_a),
        spells_a=tuple(n * (load.typical_a * part + load.standby_a * (1 - part)) for part in on),
    )


def total(demands: Sequence[Demand], spell_count: int) -> Demand:
    """Return the sum of demands; the same in whatever order they come."""
    return Demand(
        design_a=fsum(demand.design_a for demand in demands),
        peak_a=fsum(demand.peak_a for demand in demands),
        spells_a=tuple(fsum(demand.spells_a[i] for demand in demands) for i in range(spell_count)),
    )


def demands_of(routes: Mapping[str, Route], spells: Sequence[Spell]) -> dict[str, Demand]:
    """Return the demand of each routed line, by its id.

    A converter draws its output power and its own idle load: I = out_v * I_out / (efficiency * system_v) + I_idle.
    """
    demands: dict[str, Demand] = {}
    behind: dict[str, list[Demand]] = {}
    for route in sorted(routes.values(), key=lambda route: -route.depth):
        one = route.load
        own = own_demand(one, spells)
        if one.kind.converter and one.id in behind:
            own = with_output(one, own, total(behind[one.id], len(spells)))
        demands[one.id] = own
        if route.behind_converter:
            behind.setdefault(route.origin.id, []).append(own)
    return demands


def with_output(one: Fitted, idle: Demand, output: Demand) -> Demand:
    """Return a converter's input: its idle load and what its output calls for."""
    assert one.kind.converter
    converter = one.kind.converter
    ratio = converter.out_v / (converter.efficiency * converter.system_v)
    return Demand(
        design_a=idle.design_a + ratio * output.design_a,
        peak_a=idle.peak_a + ratio * output.peak_a,
        spells_a=tuple(a + ratio * b for a, b in zip(idle.spells_a, output.spells_a, strict=True)),
    )
