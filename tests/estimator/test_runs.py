"""Runs: their lengths by hand, and from where each load starts. A straight metre is 1.15 m of run, and 0.60 m more."""

import pytest

from builds.estimator.fitted import fit_lines
from builds.estimator.runs import route_feeds, route_loads, run_m
from tests.estimator.electrics import battery, block, converter, kind, load, motor, panel, sheet_of


def routes_of(parts, lines=None):
    sheet = sheet_of(parts, lines)
    return route_loads(sheet, fit_lines(sheet))


def feeds_of(parts, lines=None):
    sheet = sheet_of(parts, lines)
    return route_feeds(sheet, fit_lines(sheet))


def test_a_run_is_15_percent_longer_than_straight_with_bends_and_two_tails():
    """Common practice, no source: 3-4-0 m is 5 m straight: 1.15 * 5 + 0.30 + 2 * 0.15 = 6.35 m."""
    assert run_m((0, 0, 0), (3, 4, 0)) == pytest.approx(6.35)
    assert run_m((1, 1, 1), (1, 1, 1)) == pytest.approx(0.60)


def test_without_a_switch_both_conductors_take_the_run():
    route = routes_of({"battery": battery(), "screen": load()}, {"screen": {"station": "x2"}})["screen"]
    assert route.run_m == pytest.approx(2.9)
    assert (route.positive_m, route.negative_m, route.conductor_m) == pytest.approx((2.9, 2.9, 5.8))


def test_a_switch_stands_in_the_positive():
    """Battery at 0 m, panel at 3 m, load at 1 m: out 4.05 + 2.90, back 1.75 m."""
    route = routes_of(
        {"battery": battery(), "panel": panel(), "light": load()},
        {"panel": {"station": "x3"}, "light": {"station": "x1", "switch": "panel"}},
    )["light"]
    assert route.run_m == pytest.approx(1.75)
    assert route.positive_m == pytest.approx(4.05 + 2.90)
    assert route.negative_m == pytest.approx(1.75)


def test_a_measured_run_replaces_the_way_between_origin_and_load():
    parts = {"battery": battery(), "panel": panel(), "a": load(), "b": load()}
    lines = {
        "panel": {"station": "x3"},
        "a": {"station": "x1", "measured_run_m": 2.5},
        "b": {"station": "x1", "measured_run_m": 2.5, "switch": "panel"},
    }
    routes = routes_of(parts, lines)
    assert routes["a"].conductor_m == pytest.approx(5.0)
    assert routes["b"].conductor_m == pytest.approx(4.05 + 2.90 + 2.5)


def test_a_load_starts_at_the_distribution_of_its_battery():
    parts = {"battery": battery(), "block": block(), "screen": load(), "pump": load(), "motor": motor(30)}
    lines = {"block": {"station": "x1"}, "pump": {"direct": True}}
    origins = {key: route.origin.id for key, route in routes_of(parts, lines).items()}
    assert origins == {"screen": "block", "pump": "battery", "motor": "battery"}


def test_a_load_of_another_voltage_starts_at_the_converter_to_it():
    parts = {"battery": battery(volts=24), "block": block(), "conv": converter(), "screen": load(), "horn": load(1, 24)}
    routes = routes_of(parts, {"conv": {"station": "x2"}})
    origins = {key: (route.origin.id, route.volts_v) for key, route in routes.items()}
    assert origins == {"conv": ("block", 24), "screen": ("conv", 12), "horn": ("block", 24)}
    assert routes["screen"].behind_converter and not routes["conv"].behind_converter


def test_a_converter_may_stand_behind_another():
    parts = {
        "battery": battery(volts=24),
        "conv": converter(),
        "usb": converter(12, 5),
        "lamp": load(1, 5),
    }
    routes = routes_of(parts)
    assert [routes[key].depth for key in ("conv", "usb", "lamp")] == [0, 1, 2]
    assert routes["lamp"].volts_v == 5


def test_converters_that_only_feed_each_other_are_fed_by_neither():
    parts = {"battery": battery(volts=36), "up": converter(12, 24), "down": converter(24, 12), "lamp": load(1, 12)}
    routes = routes_of(parts)
    assert [routes[key].depth for key in ("up", "down", "lamp")] == [0, 0, 1]


def test_a_motor_takes_the_drive_battery_and_all_else_the_house_battery():
    parts = {"house": battery(), "drive": battery(), "screen": load(), "motor": motor(30)}
    routes = routes_of(parts, {"drive": {"role": "drive"}})
    assert {key: route.battery.id for key, route in routes.items()} == {"screen": "house", "motor": "drive"}


def test_a_motor_without_a_drive_battery_takes_the_only_house_battery():
    assert routes_of({"house": battery(), "motor": motor(30)})["motor"].battery.id == "house"


def test_a_load_on_a_ticket_without_a_battery_has_no_route():
    assert routes_of({"screen": load(), "cup": kind()}) == {}


def test_a_feed_runs_to_the_distribution_by_way_of_its_main_switch():
    parts = {"battery": battery(), "block": block(), "main": panel(1)}
    feed = feeds_of(parts, {"block": {"station": "x1", "switch": "main"}, "main": {"station": "x2"}})["battery"]
    assert feed.run_m == pytest.approx(1.75)
    assert feed.conductor_m == pytest.approx(2.90 + 1.75 + 1.75)
    assert feeds_of({"battery": battery(), "screen": load()}) == {}


def test_a_measured_feed_is_taken_as_measured():
    feed = feeds_of({"battery": battery(), "block": block()}, {"block": {"measured_run_m": 0.4}})["battery"]
    assert feed.conductor_m == pytest.approx(0.8)
