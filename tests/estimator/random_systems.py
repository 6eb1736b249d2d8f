"""Random systems of batteries, blocks, converters, panels and loads, well formed; the same seed, the same sheet."""

import random

from builds.estimator.accessory import AccessoryType, Battery, Converter, Load, UnitMinutes, Ways
from builds.estimator.rates import Shop
from builds.estimator.sheet import FORMAT, BuildSheet, Hull, Line, Spell, Station

INSULATIONS_C = (60, 75, 80, 90, 105, 125, 200)
CHEMISTRIES = ("lfp", "agm", "gel", "flooded")
HULL = Hull(
    name="Invented test hull",
    craft="canoe",
    material="abs",
    length_m=6.0,
    beam_m=0.9,
    depth_m=0.4,
    mass_kg=30,
    waterplane_exponent=2.5,
    section_exponent=4,
    stations=tuple(
        Station(id=f"s{i}", name=f"s{i}", x_m=0.5 * i, y_m=0.1 * (i % 3 - 1), z_m=0.2, surface="deck")
        for i in range(12)
    ),
)


def kind(name, **changes):
    minutes = UnitMinutes(low_min=0, likely_min=0, high_min=0)
    return AccessoryType(
        id=name, name=name, category="test", craft=(), mass_kg=0, mountings=("drop_in",), labour=minutes, **changes
    )


def random_load(draw, name, volts):
    """A load of no particular kind; currents from a lamp's to a winch's."""
    most_a = 10 ** draw.uniform(-1.5, 1.9)
    propulsion = draw.random() < 0.1
    return kind(
        name,
        load=Load(
            voltage_v=volts,
            typical_a=most_a * draw.random(),
            max_a=most_a,
            peak_a=draw.choice([None, most_a * draw.uniform(1, 3)]),
            standby_a=draw.choice([0.0, 0.02]),
            duty=draw.random(),
            drop_class="propulsion" if propulsion else draw.choice(["critical", "general"]),
            max_fuse_a=draw.choice([None, 2.0 * most_a]),
            propulsion=propulsion,
        ),
    )


def random_sheet(seed):
    """A sheet of one or two batteries with what may hang on them, well formed and otherwise at random."""
    draw = random.Random(seed)
    kinds, lines = {}, []

    def add(name, record, **changes):
        kinds[name] = record
        lines.append(Line(id=name, accessory=name, station=f"s{draw.randrange(12)}", **changes))

    for b in range(draw.choice([1, 1, 2])):
        system_v = draw.choice([12, 24, 36, 48])
        ah = 10 ** draw.uniform(0.5, 2.5)
        store = Battery(
            voltage_v=system_v,
            system_v=system_v,
            rated_ah=ah,
            hour_rate=20,
            chemistry=draw.choice(CHEMISTRIES),
            max_continuous_a=ah * draw.uniform(0.3, 3),
        )
        add(f"b{b}", kind(f"b{b}", battery=store), quantity=draw.choice([1, 1, 2]), health=draw.uniform(0.5, 1))
        if draw.random() < 0.6:
            add(f"block{b}", kind(f"block{b}", distribution=Ways(ways=6)), battery=f"b{b}")
        converted = system_v > 12 and draw.random() < 0.7
        if converted:
            part = Converter(system_v=system_v, out_v=12, max_out_a=20, efficiency=draw.uniform(0.7, 0.95))
            add(f"conv{b}", kind(f"conv{b}", converter=part), battery=f"b{b}")
        if draw.random() < 0.5:
            add(f"panel{b}", kind(f"panel{b}", switch=Ways(ways=3)))
        for i in range(draw.randrange(7)):
            name = f"b{b}load{i}"
            add(
                name,
                random_load(draw, name, 12 if converted and draw.random() < 0.5 else system_v),
                battery=f"b{b}",
                quantity=draw.choice([1, 1, 1, 2, 4]),
                circuit=draw.choice([None, None, "deck", "night"]),
                switch=f"panel{b}" if f"panel{b}" in kinds and draw.random() < 0.4 else None,
                direct=draw.random() < 0.15,
            )
    shop = Shop(insulation_c=draw.choice(INSULATIONS_C), hot_hull=draw.random() < 0.3, sheathed=draw.random() < 0.7)
    plan = tuple(Spell(name="spell", hours=draw.uniform(0.5, 8)) for _ in range(draw.randrange(4)))
    return BuildSheet(
        format=FORMAT,
        hull=HULL,
        air_temp_c=draw.uniform(-25, 40),
        lines=tuple(lines),
        day_plan=plan,
        accessories=kinds,
        shop=shop,
    )


def long_sheet(lines):
    """One block, one battery and many loads of a catalogue of ordinary size."""
    kinds = {f"k{i}": random_load(random.Random(i), f"k{i}", 12) for i in range(130)}
    kinds["battery"] = kind(
        "battery",
        battery=Battery(voltage_v=12.8, system_v=12, rated_ah=100, hour_rate=20, chemistry="lfp", max_continuous_a=100),
    )
    kinds["block"] = kind("block", distribution=Ways(ways=6))
    first = (Line(id="battery", accessory="battery"), Line(id="block", accessory="block"))
    rest = tuple(Line(id=f"L{i}", accessory=f"k{i % 130}", station=f"s{i % 12}") for i in range(lines))
    return BuildSheet(format=FORMAT, hull=HULL, lines=first + rest, accessories=kinds)
