"""Power held to physics and law: a resistor network, the 150 % cap on ten thousand random systems, the ten jobs."""

import json
import os
import random
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.sparse import lil_matrix
from scipy.sparse.linalg import spsolve

from builds.estimator.estimate import plain
from builds.estimator.files import read_file
from builds.estimator.fitted import Fitted, fit_lines
from builds.estimator.power import size_power, size_systems
from builds.estimator.power_workings import workings_of
from builds.estimator.published import rows_of
from builds.estimator.runs import route_loads
from builds.estimator.sources import SOURCES
from tests.estimator.electrics import (
    battery,
    block,
    converter,
    leg_of,
    load,
    panel,
    reference_rows,
    sheet_of,
    system_of,
)
from tests.estimator.random_systems import CHEMISTRIES, long_sheet, random_sheet
from tests.estimator.test_conductors import COLUMNS_C, NOTE_1, table_5

SHEETS = int(os.environ.get("HULLBENCH_RANDOM_SYSTEMS", "10000"))
JOBS = Path(__file__).parent.parent.parent / "fixtures" / "jobs"
CM_TO_M2 = np.pi / 4 * (25.4e-6) ** 2


def ohm(length_m, awg):
    """The resistance of copper at 29.3 C, from its published resistivity, over the SAE minimum area."""
    constants = {row["quantity"]: float(row["value"]) for row in reference_rows("copper_constants")}
    at_20_c = constants["volume resistivity, 20 C"] * 1e-9
    warm = at_20_c * (1 + constants["temperature coefficient of resistance, annealed copper, 20 C"] * 9.3)
    area = {row["awg"]: float(row["sae_min_area_CM"]) for row in rows_of("marine_wire_areas_and_105C_ampacity")}
    return warm * length_m / (area[awg] * CM_TO_M2)


def node_volts(resistors, drawn, battery_v):
    """The volts of every node of a network by Kirchhoff's current law: resistors (a, b, ohm), loads (a, b, ampere).

    Node "+" stands at the battery's volts, node "-" at 0.
    """
    names = sorted({node for a, b, _ in (*resistors, *drawn) for node in (a, b)} - {"+", "-"})
    at = {name: i for i, name in enumerate(names)}
    known = {"+": battery_v, "-": 0.0}
    matrix, right = lil_matrix((len(names), len(names))), np.zeros(len(names))
    for a, b, r in resistors:
        for one, other in ((a, b), (b, a)):
            if one in at:
                matrix[at[one], at[one]] += 1 / r
                if other in at:
                    matrix[at[one], at[other]] -= 1 / r
                else:
                    right[at[one]] += known[other] / r
    for a, b, current_a in drawn:
        right[at[a]] -= current_a
        right[at[b]] += current_a
    solved = spsolve(matrix.tocsc(), right)
    return {**known, **{name: float(solved[i]) for name, i in at.items()}}


def test_drops_agree_with_a_resistor_network_within_half_a_percent():
    """The feed and every leg, one of them by way of a panel, as resistors of copper; the loads draw their maxima.
    Solved with scipy's sparse solver."""
    parts = {
        "battery": battery(100, 100),
        "block": block(),
        "panel": panel(),
        "screen": load(4.5, drop_class="critical"),
        "pump": load(3, drop_class="critical"),
        "lights": load(2.2),
        "horn": load(7),
    }
    lines = {
        "block": {"station": "x1"},
        "panel": {"station": "x3"},
        "screen": {"station": "x3"},
        "pump": {"station": "x4", "circuit": "aft"},
        "horn": {"station": "x2", "circuit": "aft"},
        "lights": {"station": "x4", "switch": "panel"},
    }
    system = system_of(parts, lines)
    feed = system.feed
    resistors = [("+", "block+", ohm(feed.positive_m, feed.awg)), ("block-", "-", ohm(feed.negative_m, feed.awg))]
    drawn = []
    for circuit in system.circuits:
        for leg in circuit.legs:
            resistors.append(("block+", f"{leg.line}+", ohm(leg.positive_m, leg.awg)))
            resistors.append((f"{leg.line}-", "block-", ohm(leg.negative_m, leg.awg)))
            drawn.append((f"{leg.line}+", f"{leg.line}-", leg.current_a))
    volts = node_volts(resistors, drawn, 12.0)
    assert feed.drop_v == pytest.approx(12 - (volts["block+"] - volts["block-"]), rel=0.005)
    for line in ("screen", "pump", "lights", "horn"):
        leg = leg_of(system, line)
        lost_v = 12 - (volts[f"{line}+"] - volts[f"{line}-"])
        assert feed.drop_v + leg.drop_v == pytest.approx(lost_v, rel=0.005)
        assert lost_v / 12 <= leg.limit_fraction * 1.005


def conductors_of(system):
    """Every sized run of a system with the fuse before it [A]."""
    if system.feed and system.feed.awg is not None:
        yield system.feed, system.main_fuse_a, system.feed.limit_fraction
    for circuit in system.circuits:
        for leg in circuit.legs:
            if leg.awg is not None:
                yield leg, circuit.fuse_a, leg.allowed_fraction


def test_no_fuse_of_ten_thousand_random_systems_passes_150_percent_of_its_conductor():
    """33 CFR 183.455(c)(1), 2015: a fuse below 50 V is at most 150 % of Table 5; the house rule is 100 %. Table 5 and
    note 1 are the ones typed in `test_conductors`."""
    table, conductors = table_5(), 0
    for seed in range(SHEETS):
        sheet = random_sheet(seed)
        fitted = fit_lines(sheet)
        column = COLUMNS_C.index(int(sheet.shop.insulation_c))
        hot = NOTE_1[COLUMNS_C[column]] if sheet.shop.hot_hull else 1.0
        for system in size_systems(sheet, fitted, route_loads(sheet, fitted)):
            for run, fuse_a, allowed in conductors_of(system):
                ampacity_a = hot * table[run.awg][column]
                assert run.ampacity_a == pytest.approx(ampacity_a)
                assert run.current_a <= ampacity_a * (1 + 1e-8), seed
                if fuse_a is not None:
                    assert fuse_a <= 1.5 * ampacity_a, seed
                    assert fuse_a <= ampacity_a * (1 + 1e-8), seed
                    assert fuse_a >= 1.1 * run.current_a * (1 - 1e-8), seed
                assert run.drop_fraction <= allowed * (1 + 1e-8) or run.drop_v == 0, seed
                conductors += 1
    assert conductors > 3 * SHEETS


def test_random_systems_keep_the_rules_of_fuses_and_batteries():
    """Main fuse: above every branch of its feed, within the battery's limit, or none and a stop. All figures finite."""
    for seed in range(min(SHEETS, 1500)):
        sheet = random_sheet(seed)
        fitted = fit_lines(sheet)
        power = size_power(sheet, fitted, route_loads(sheet, fitted))
        stops = {(caution.code, caution.line) for caution in power.cautions}
        for system in power.systems:
            assert system.charge_after[-1] == pytest.approx(1 - system.plan_fraction)
            assert ("battery_overloaded", system.battery) in stops or (
                system.peak_current_a <= system.max_continuous_a * (1 + 1e-8)
            )
            on_feed = [c for c in system.circuits if system.feed and c.origin == system.feed.distribution]
            if system.main_fuse_a is not None:
                assert system.main_fuse_a <= system.max_continuous_a * (1 + 1e-8)
                assert all(circuit.fuse_a < system.main_fuse_a for circuit in on_feed)
            elif system.feed:
                assert ("main_fuse_impossible", system.battery) in stops
        json.dumps([vars(system) for system in power.systems], default=vars, allow_nan=False)


def by_circuit(system):
    """A system without the order of its circuits and legs."""
    circuits = {c.circuit: replace(c, legs=tuple(sorted(c.legs, key=lambda leg: leg.line))) for c in system.circuits}
    return replace(system, circuits=()), circuits


def test_the_order_of_the_lines_changes_no_figure():
    for seed in range(min(SHEETS, 400)):
        sheet = random_sheet(seed)
        shuffled = list(sheet.lines)
        random.Random(seed).shuffle(shuffled)
        found = []
        for other in (sheet, replace(sheet, lines=tuple(shuffled))):
            fitted = fit_lines(other)
            systems = size_systems(other, fitted, route_loads(other, fitted))
            found.append({system.battery: by_circuit(system) for system in systems})
        assert found[0] == found[1], seed


def test_figures_stay_finite_at_the_edges_of_what_a_sheet_accepts():
    """Tiny and huge values, each within what the sheet's fields accept: no exception, no NaN, no infinity."""
    draw = random.Random(7)
    tiny = (5e-324, 1e-300, 1e-9, 1e-3, 1.0)

    def up_to(most):
        return min(most, draw.choice((*tiny, most)))

    for _ in range(300):
        out_v = up_to(60)
        store = battery(1, chemistry=draw.choice(CHEMISTRIES), volts=24)["battery"]
        store |= {"rated_ah": up_to(2000), "hour_rate": up_to(200), "max_continuous_a": up_to(5000)}
        parts = {
            "battery": {**battery(), "battery": store},
            "block": block(),
            "conv": converter(24, out_v, up_to(500), max(0.01, up_to(1)), draw.choice([0, 1e-300, 1000])),
            "a": load(draw.choice([0, 5e-324, 1, 1000]), 24, peak_a=draw.choice([None, 0, 2000])),
            "b": load(draw.choice([0, 5e-324, 1, 1000]), out_v),
        }
        lines = {
            "a": {"quantity": draw.choice([1, 999]), "measured_run_m": draw.choice([None, 0, 100])},
            "battery": {"health": up_to(1)},
        }
        sheet = sheet_of(parts, lines, day_plan=[{"name": "spell", "hours": up_to(1000)}])
        fitted = fit_lines(sheet)
        power = size_power(sheet, fitted, route_loads(sheet, fitted))
        workings = workings_of(sheet, fitted, power.systems)
        assert json.dumps(plain([power.systems, power.cautions, workings]), allow_nan=False)


def size_job(name):
    sheet = read_file(JOBS / f"{name}.json")
    fitted = fit_lines(sheet)
    power = size_power(sheet, fitted, route_loads(sheet, fitted))
    return sheet, fitted, power


POWER_CODES = {
    "energy_short",
    "energy_marginal",
    "interrupt_unknown",
    "drive_battery_shared",
    "battery_overloaded",
    "main_fuse_impossible",
    "voltage_mismatch",
    "ways_exceeded",
}


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.expect.json")), ids=lambda path: path.name.split(".")[0])
def test_a_job_has_the_power_cautions_that_a_tradesman_expects(path):
    """The ten visible jobs: their `.expect.json` files, as far as they are about power."""
    expected = json.loads(path.read_text())
    _, _, power = size_job(path.name.split(".")[0])
    found = {caution.code: caution.severity for caution in power.cautions}
    for entry in expected["must_have_codes"]:
        code = entry if isinstance(entry, str) else entry["code"]
        if code in POWER_CODES:
            assert code in found
            assert isinstance(entry, str) or found[code] == entry["severity"]
    assert not set(expected["must_not_have_codes"]) & set(found)


def test_the_bow_motor_has_60_amperes_at_its_battery_and_6_awg():
    system = next(s for s in size_job("bow_motor_and_screen")[2].systems if s.role == "drive")
    assert (system.main_fuse_a, system.circuits[0].legs[0].awg) == (60, "6")


def test_the_first_fishing_rig_has_a_2_ampere_fuse_at_the_battery():
    system = size_job("first_fishing_rig")[2].systems[0]
    assert (system.main_fuse_a, system.circuits[0].fuse_a, system.circuits[0].direct) == (2, 2, True)


def test_the_navigation_lights_share_one_fused_circuit_through_the_panel():
    system = size_job("night_lights")[2].systems[0]
    circuit = next(circuit for circuit in system.circuits if circuit.circuit == "navigation")
    assert {leg.line: leg.switch for leg in circuit.legs} == {"side_lights": "panel", "white_light": "panel"}
    assert circuit.fuse_a == 1


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.expect.json")), ids=lambda path: path.name.split(".")[0])
def test_every_working_names_sources_that_exist(path):
    sheet, fitted, power = size_job(path.name.split(".")[0])
    workings = workings_of(sheet, fitted, power.systems)
    assert bool(workings) is bool(power.systems)
    assert {source for working in workings for source in working.sources} <= set(SOURCES)
    assert {caution.source for caution in power.cautions} <= set(SOURCES)
    assert len({working.figure for working in workings}) == len(workings)


def seconds_for(lines):
    sheet = long_sheet(lines)
    fitted: tuple[Fitted, ...] = fit_lines(sheet)
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        size_power(sheet, fitted, route_loads(sheet, fitted))
        best = min(best, time.perf_counter() - start)
    return best


@pytest.mark.timing
def test_time_grows_with_the_lines_and_no_faster():
    """Ten times the lines take at most 25 times as long: a quadratic loop would take 100 times."""
    seconds_for(30)
    assert seconds_for(3000) < 25 * seconds_for(300)
