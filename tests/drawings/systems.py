"""Batteries to draw: a light rig with a panel, a motor, a converter. Figures as an estimate would give them."""

from dataclasses import replace

from builds.drawings.circuits import Circuit, Feed, Leg, Part, Source, Wiring

BATTERY = Part(line="L1", label="1", name="Battery, lithium iron phosphate 12 V 20 Ah", place="rear hatch")
BLOCK = Part(line="L2", label="2", name="Fuse block 4-6 way with negative bus, covered", place="rear hatch")
PANEL = Part(line="L3", label="3", name="Waterproof switch panel, 3-4 gang, flush", place="console")


def leg(number, name, current_a=1.2, awg="18", run_m=2.0, drop=0.02, limit=0.03, by=None):
    positive = (f"{number}+a", f"{number}+b") if by else (f"{number}+",)
    return Leg(
        part=Part(line=f"L{number}", label=str(number), name=name),
        current_a=current_a,
        awg=awg,
        run_m=run_m,
        drop_fraction=drop,
        limit_fraction=limit,
        positive=positive,
        negative=f"{number}-",
        switch=by,
    )


def circuit(name, *legs, origin="L2", fuse_a=2.0, colour="grey"):
    total = sum(one.current_a for one in legs)
    return Circuit(name=name, origin=origin, current_a=total, fuse_a=fuse_a, fuse_colour=colour, legs=legs)


def light_rig(**changes) -> Wiring:
    """A fuse block with deck lights and navigation lights by way of a panel."""
    feed = Feed(run_m=0.6, awg="18", drop_fraction=0.0045, limit_fraction=0.01, positive=("F2+",), negative="F2-")
    circuits = (
        circuit("strips", leg(4, "LED deck strips, pair, waterproof", by=PANEL)),
        circuit(
            "navigation",
            leg(5, "Bow bi-colour sidelight, wired", 0.25, by=PANEL),
            leg(6, "All-round white light on pole, wired plug base", 0.3, by=PANEL),
            fuse_a=1.0,
            colour="black",
        ),
    )
    system = Wiring(
        battery=BATTERY,
        role="house",
        system_v=12.0,
        rated_ah=20.0,
        main_fuse_a=3.0,
        feed=feed,
        distribution=Source(part=BLOCK, ways=6),
        converters=(),
        circuits=circuits,
    )
    return replace(system, **changes)


def motor_rig() -> Wiring:
    """One motor on its own battery: its fuse is the main fuse."""
    motor = leg(7, "Clamp-on hand-tiller electric motor, 30 lbf", 30.0, "10", 2.41, 0.0454, 0.05)
    only = circuit("motor", motor, origin="L1", fuse_a=35.0, colour="blue-green")
    return replace(light_rig(), role="drive", main_fuse_a=35.0, feed=None, distribution=None, circuits=(only,))
