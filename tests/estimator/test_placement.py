"""Placement (method, section 2): a battery at a station floats and feeds as in an estimate with the battery there."""

import pytest

from builds.estimator import mends
from builds.estimator.estimate import document, estimate
from builds.estimator.power import passes_at
from tests.estimator.builders import estimated, job, jobs
from tests.estimator.electrics import HULL, battery, block, load

PLACES = [
    {
        "id": f"x{x}",
        "name": f"{x} m",
        "x_m": float(x),
        "y_m": 0.0,
        "z_m": 0.1,
        "surface": "inside",
        "holds_battery": x != 4,
    }
    for x in range(5)
]
BANK = {**battery(100.0), "mass_kg": 12.0}


def placed(lines=None, parts=None, **changes):
    parts = {"cell": BANK, "block": block(), "lamp": load(5.0), **(parts or {})}
    lines = {"cell": {"station": "x2"}, "block": {"station": "x2"}, "lamp": {"station": "x2"}, **(lines or {})}
    return estimated(parts, lines, hull={**HULL, "stations": PLACES, **changes})


@pytest.mark.parametrize("name", jobs())
def test_each_option_is_what_a_whole_estimate_finds_with_the_battery_there(name):
    found = estimate(job(name))
    for placement in found.placement:
        for option in placement.options:
            there = estimate(
                mends.apply(found.sheet, {"do": "move", "line": placement.battery, "station": option.station})
            )
            system = next(one for one in there.power if one.battery == placement.battery)
            runs = [leg.run_m for circuit in system.circuits for leg in circuit.legs]
            runs += [system.feed.run_m] if system.feed else []
            assert option.trim_mm == pytest.approx(there.flotation.trim_mm, abs=1e-6)
            assert option.heel_deg == pytest.approx(there.flotation.heel_deg, abs=1e-9)
            assert option.longest_run_m == pytest.approx(max(runs, default=0.0))
            assert option.drops_pass is passes_at(system)


@pytest.mark.parametrize("name", jobs())
def test_every_station_that_holds_a_battery_is_an_option_and_no_other(name):
    found = estimate(job(name))
    holding = [station.id for station in found.sheet.hull.stations if station.holds_battery]
    batteries = [one.id for one in found.fitted if one.kind.battery]
    assert [placement.battery for placement in found.placement] == batteries
    assert all([option.station for option in placement.options] == holding for placement in found.placement)


def test_the_best_station_is_that_of_least_trim():
    """All else stands amidships, x 2.0 m of 4.0: the battery there leaves her level."""
    (found,) = placed().placement
    assert found.best == "x2"
    assert [round(option.trim_mm) == 0 for option in found.options] == [False, False, True, False]
    assert found.options[0].trim_mm < 0 < found.options[3].trim_mm


def test_a_station_whose_feed_would_be_thicker_than_6_awg_is_never_best():
    """60 A, 1 % of 12 V for the feed: 10.75 x 60 x L/0.12 is over 6 AWG at any length here; at x2 it is shortest."""
    heavy = {"lamp": load(60.0)}
    (found,) = placed(parts=heavy).placement
    assert [option.drops_pass for option in found.options] == [False] * 4
    assert found.best is None
    # Fused at the battery, 10 % of 12 V for a run of 0.6 m at x2 passes, and 2.9 m at x0 does not.
    (direct,) = placed({"lamp": {"station": "x2", "direct": True}}, parts=heavy).placement
    assert direct.options[2].drops_pass


def test_the_battery_keeps_its_offset():
    (found,) = placed({"cell": {"station": "x2", "offset_m": [0.0, 0.1, 0.0]}}).placement
    assert all(option.heel_deg > 0 for option in found.options)


def test_a_longer_run_to_a_further_station():
    """The feed from x0 to the block at x2: 1.15 x 2.0 + 0.60 = 2.90 m."""
    (found,) = placed().placement
    assert found.options[0].longest_run_m == pytest.approx(2.90)
    assert found.options[2].longest_run_m == pytest.approx(0.60)


def test_a_hull_that_does_not_carry_the_load_has_no_trims():
    (found,) = placed(mass_kg=900.0).placement
    assert {option.trim_mm for option in found.options} == {option.heel_deg for option in found.options} == {None}
    assert found.best is None


def test_without_a_battery_or_a_station_for_one_there_is_nothing_to_place():
    assert estimated({}, hull=HULL).placement == ()
    bare = [{**station, "holds_battery": False} for station in PLACES]
    (found,) = placed(stations=bare).placement
    assert (found.best, found.options) == (None, ())


def test_the_document_has_the_names_of_the_contract():
    (found,) = document(placed())["placement"]
    assert set(found) == {"battery", "best", "options"}
    assert set(found["options"][0]) == {"station", "trim_mm", "heel_deg", "longest_run_m", "drops_pass"}
