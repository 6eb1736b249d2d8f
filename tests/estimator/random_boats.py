"""Random boats with people, gear and parts that make openings, well formed; the same seed, the same sheet."""

import random

from builds.estimator.accessory import AccessoryType, Battery, Load, Opening, Seal, UnitMinutes
from builds.estimator.sheet import FORMAT, Aboard, BuildSheet, FloatTest, Hull, Line, Station

SURFACES = ("deck", "deck", "deck", "side", "bottom", "inside")
MOUNTINGS = ("through_bolt", "rivet", "well_nut", "flush_cutout")
FASTENERS = (None, "M4", "M5", "M6", "M8", "ST4.2", "rivet 4.8")
CHEMISTRIES = ("lfp", "agm", "gel", "flooded")


def random_stations(draw, length, beam, depth):
    """Places all over the hull, a few of them beyond it; some hold a battery, some are floors that drain."""
    return tuple(
        Station(
            id=f"s{i}",
            name=f"s{i}",
            x_m=draw.uniform(-0.02, 1.02) * length,
            y_m=draw.choice([0.0, draw.uniform(-0.55, 0.55) * beam]),
            z_m=draw.uniform(0.0, 1.3) * depth,
            surface=draw.choice(SURFACES),
            hand_reach=draw.random() < 0.5,
            holds_battery=draw.random() < 0.3,
            well_half_width_m=draw.choice([None, None, draw.uniform(0.02, 0.5) * beam]),
        )
        for i in range(draw.randrange(9))
    )


def random_hull(draw):
    """A hull, one in ten of any shape from a raft to a needle; a third with a float test it can meet."""
    length, beam, depth = draw.uniform(2.5, 6), draw.uniform(0.5, 1.0), draw.uniform(0.2, 0.45)
    if draw.random() < 0.1:
        length, beam, depth = draw.uniform(1.5, 8), draw.uniform(0.3, 1.5), draw.uniform(0.1, 0.8)
    n, p = (draw.choice([1.0, 1e6, 10 ** draw.uniform(0, 1.3), 10 ** draw.uniform(0, 1.3)]) for _ in range(2))
    mass = draw.uniform(5, 60)
    test = None
    if draw.random() < 0.33:
        # The volume that p = 6 displaces at the tested draft: p is then within 1..40.
        u = draw.uniform(0.15, 0.9)
        volume = length * beam * depth * n / (n + 1) * (u - (1 - (1 - u) ** 7) / 7)
        load = 1000 * volume - mass
        test = FloatTest(draft_mid_m=u * depth, load_kg=load) if 0 <= load <= 1000 else None
    return Hull(
        name="Random",
        craft="canoe",
        material=draw.choice(["polyethylene", "laminate"]),
        length_m=length,
        beam_m=beam,
        depth_m=depth,
        mass_kg=mass,
        rated_load_kg=draw.choice([None, 150.0]),
        rating_includes_hull=draw.random() < 0.5,
        waterplane_exponent=n,
        section_exponent=p,
        cog_x_m=draw.choice([None, draw.uniform(0, length)]),
        cog_z_m=draw.choice([None, draw.uniform(0, depth)]),
        float_test=test,
        stations=random_stations(draw, length, beam, depth),
    )


def random_opening(draw):
    shape = draw.choice(["round", "round", "round", "slot", "rectangle"])
    size = draw.choice([3.1, 4.9, 5.2, 6.2, 10.0, 25.0, draw.uniform(1, 200)])
    fastener = draw.choice(FASTENERS) if shape == "round" and size < 11 else None
    return Opening(
        shape=shape,
        diameter_mm=size if shape == "round" else None,
        width_mm=None if shape == "round" else size,
        height_mm=None if shape == "round" else draw.uniform(1, 150),
        corner_mm=draw.choice([None, 0.0, 6.0]),
        dx_mm=draw.uniform(-150, 150),
        dy_mm=draw.uniform(-80, 80),
        purpose="fastener" if fastener else "body",
        fastener=fastener,
        mountings=draw.choice([None, MOUNTINGS[:2], MOUNTINGS]),
        surface=draw.choice([None, None, None, "deck", "side"]),
    )


def random_type(draw, name):
    """A part that makes up to six openings; some are tanks, loads or batteries."""
    minutes = UnitMinutes(low_min=0, likely_min=0, high_min=0)
    mass = draw.uniform(0, 12)
    load, battery = None, None
    if draw.random() < 0.2:
        battery = Battery(
            voltage_v=12,
            system_v=12,
            rated_ah=50,
            hour_rate=20,
            chemistry=draw.choice(CHEMISTRIES),
            max_continuous_a=50,
        )
    elif draw.random() < 0.3:
        load = Load(voltage_v=12, typical_a=draw.uniform(0, 3), max_a=draw.uniform(3, 40))
    return AccessoryType(
        id=name,
        name=name,
        category="test",
        craft=("canoe",),
        mass_kg=mass,
        mass_in_use_kg=draw.choice([None, None, mass + draw.uniform(0, 30)]),
        mountings=MOUNTINGS,
        load=load,
        battery=battery,
        openings=tuple(random_opening(draw) for _ in range(draw.randrange(7))),
        opening_min_height_mm=draw.choice([None, 0.0, 75.0, 150.0]),
        may_sit_below_water=draw.random() < 0.2,
        seal=Seal(kind=draw.choice(["none", "bead", "gasket"]), bead_mm=4.0),
        labour=minutes,
    )


def random_boat(seed):
    """A sheet of a random hull, laden at random with people, gear and up to twelve lines."""
    draw = random.Random(seed)
    hull = random_hull(draw)
    kinds = {f"k{i}": random_type(draw, f"k{i}") for i in range(5)}
    places = [None, *(station.id for station in hull.stations)]
    batteries = [name for name, kind in kinds.items() if kind.battery]
    lines, fed_by = [], None
    for i in range(draw.randrange(13)):
        name = draw.choice(sorted(kinds))
        line_id = f"L{i}"
        if name in batteries:
            fed_by = fed_by or line_id
        lines.append(
            Line(
                id=line_id,
                accessory=name,
                quantity=draw.choice([1, 1, 1, 2, 5]),
                station=draw.choice(places),
                offset_m=tuple(draw.choice([0.0, draw.uniform(-0.3, 0.3)]) for _ in range(3)),
                mounting=draw.choice(MOUNTINGS),
                supplied_by=draw.choice(["shop", "shop", "already_fitted"]),
            )
        )
    lines = [
        line if kinds[line.accessory].load is None or fed_by is None else Line(**{**vars(line), "battery": fed_by})
        for line in lines
    ]
    return BuildSheet(
        format=FORMAT,
        hull=hull,
        water=draw.choice(["fresh", "sea"]),
        people=tuple(
            Aboard(name="p", mass_kg=draw.uniform(20, 110), station=draw.choice(places))
            for _ in range(draw.randrange(3))
        ),
        gear=tuple(
            Aboard(name="g", mass_kg=draw.uniform(0, 40), station=draw.choice(places)) for _ in range(draw.randrange(3))
        ),
        lines=tuple(lines),
        accessories=kinds,
    )
