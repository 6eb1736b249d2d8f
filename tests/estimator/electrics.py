"""Small sheets for the tests of power: loads, batteries, blocks and panels on a hull with places to the metre."""

import csv
from dataclasses import replace
from pathlib import Path

from builds.estimator.circuits import BatterySystem
from builds.estimator.document import read_sheet
from builds.estimator.fitted import fit_lines
from builds.estimator.power import size_power
from builds.estimator.runs import route_loads
from builds.estimator.sheet import Line

REFERENCE = Path(__file__).parent.parent / "reference"
# A run is 1.15 m for each metre of distance and 0.60 m on top (method, section 4): stations stand on the centreline.
HULL = {
    "name": "Invented test hull",
    "craft": "sit_on_top_kayak",
    "material": "polyethylene",
    "length_m": 4.0,
    "beam_m": 0.84,
    "depth_m": 0.36,
    "mass_kg": 34,
    "waterplane_exponent": 2.6,
    "section_exponent": 4.0,
    "stations": [
        {"id": f"x{x}", "name": f"{x} m", "x_m": float(x), "y_m": 0.0, "z_m": 0.2, "surface": "deck"} for x in range(5)
    ],
}


def reference_rows(name):
    """The rows of a published table kept for the tests; its first line names the source."""
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def kind(**changes):
    """An accessory type that is nothing but what is given."""
    return {
        "name": "Part",
        "category": "test",
        "craft": [],
        "mass_kg": 0,
        "mountings": ["drop_in"],
        "labour": {"low_min": 0, "likely_min": 0, "high_min": 0},
        **changes,
    }


def load(max_a=1.0, volts=12, **changes):
    record = {"voltage_v": volts, "typical_a": max_a, "max_a": max_a, "drop_class": "general", **changes}
    return kind(name=f"Load {max_a:g} A", load=record)


def motor(max_a, **changes):
    return load(max_a, **{"drop_class": "propulsion", "propulsion": True, **changes})


def battery(ah=100.0, limit_a=100.0, volts=12, chemistry="lfp", **changes):
    record = {
        "voltage_v": volts * 12.8 / 12 if chemistry == "lfp" else volts,
        "system_v": volts,
        "rated_ah": ah,
        "hour_rate": 20,
        "chemistry": chemistry,
        "max_continuous_a": limit_a,
        **changes,
    }
    return kind(name=f"Battery {ah:g} Ah", battery=record)


def block(ways=6):
    return kind(name="Fuse block", distribution={"ways": ways})


def panel(ways=3):
    return kind(name="Switch panel", switch={"ways": ways})


def converter(system_v=24, out_v=12, max_out_a=10.0, efficiency=0.85, idle_a=0.1):
    record = {"system_v": system_v, "out_v": out_v, "max_out_a": max_out_a, "efficiency": efficiency}
    idle = {"voltage_v": system_v, "typical_a": idle_a, "max_a": idle_a, "drop_class": "critical"}
    return kind(name="Converter", converter=record, load=idle)


def sheet_of(parts, lines=None, offered=None, **changes):
    """A sheet with a line of each part, by the line's id, at the first station; `lines` changes them by id.

    `offered` are further types of the catalogue, by id.
    """
    document = {
        "format": "hullbench-build-sheet/1",
        "hull": HULL,
        "air_temp_c": 25.0,
        "lines": [
            {"id": key, "accessory": f"{key}_type", "station": "x0", **(lines or {}).get(key, {})} for key in parts
        ],
        "accessories": {
            **{f"{key}_type": {**record, "id": f"{key}_type"} for key, record in parts.items()},
            **{key: {**record, "id": key} for key, record in (offered or {}).items()},
        },
        **changes,
    }
    return read_sheet(document)


def powered(sheet):
    fitted = fit_lines(sheet)
    return size_power(sheet, fitted, route_loads(sheet, fitted))


def system_of(parts, lines=None, battery_id="battery", **changes) -> BatterySystem:
    """The system of one battery of a sheet."""
    found = powered(sheet_of(parts, lines, **changes)).systems
    return next(system for system in found if system.battery == battery_id)


def cautions_by_code(parts, lines=None, **changes):
    found = powered(sheet_of(parts, lines, **changes)).cautions
    by_code = {}
    for caution in found:
        by_code.setdefault(caution.code, []).append(caution)
    return by_code


def circuit_of(system, name):
    return next(circuit for circuit in system.circuits if circuit.circuit == name)


def leg_of(system, line):
    return next(leg for circuit in system.circuits for leg in circuit.legs if leg.line == line)


def mended(sheet, mend):
    """The sheet after one act of the power section's mends, as the counter would apply it."""
    acts = {
        "replace": lambda line: replace(line, accessory=mend["accessory"], health=mend.get("health", line.health)),
        "direct": lambda line: replace(line, direct=True),
        "split_circuit": lambda line: replace(line, circuit=None),
        "feed_from": lambda line: replace(line, battery=mend["battery"]),
    }
    if mend["do"] == "add":
        added = Line(id="added", accessory=mend["accessory"], battery=mend["battery"])
        lines = (*sheet.lines, added)
    else:
        lines = tuple(acts[mend["do"]](line) if line.id == mend["line"] else line for line in sheet.lines)
    return replace(sheet, lines=lines)
