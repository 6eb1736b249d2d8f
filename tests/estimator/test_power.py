"""Feeds, circuits, legs and fuses, worked by hand. A straight metre is 1.15 m of run and 0.60 m more (test_runs)."""

import pytest

from builds.estimator.power import passes_at
from tests.estimator.electrics import (
    battery,
    block,
    circuit_of,
    converter,
    leg_of,
    load,
    motor,
    panel,
    powered,
    sheet_of,
    system_of,
)

M_PER_FT = 0.3048
# SAE minimum areas [circular mils], as quoted in public text.
CM = {"18": 1537, "16": 2336, "14": 3702, "12": 5833, "10": 9343, "8": 14810, "6": 24538}


def drop_by_hand(current_a, conductor_m, awg):
    """ABYC E-11, as quoted: E = K * I * L / CM with K = 10.75."""
    return 10.75 * current_a * (conductor_m / M_PER_FT) / CM[awg]


def test_each_battery_is_a_system_of_its_own_in_the_order_of_the_ticket():
    sheet = sheet_of(
        {"house": battery(), "drive": battery(), "screen": load(2), "motor": motor(30)}, {"drive": {"role": "drive"}}
    )
    systems = powered(sheet).systems
    assert [(s.battery, s.role, [c.circuit for c in s.circuits]) for s in systems] == [
        ("house", "house", ["screen"]),
        ("drive", "drive", ["motor"]),
    ]


def test_a_line_that_names_no_circuit_is_a_circuit_of_its_own():
    system = system_of({"battery": battery(), "a": load(1), "b": load(2)})
    assert [(c.circuit, c.design_current_a) for c in system.circuits] == [("a", 1), ("b", 2)]


def test_lines_of_one_circuit_share_a_fuse_and_each_leg_is_sized_for_its_own_current():
    lines = {"a": {"circuit": "deck"}, "b": {"circuit": "deck", "quantity": 3}}
    system = system_of({"battery": battery(), "a": load(1), "b": load(2)}, lines)
    circuit = circuit_of(system, "deck")
    assert circuit.design_current_a == 7
    assert circuit.fuse_a == 10  # 1.25 * 7 A = 8.75 A
    assert [leg.current_a for leg in circuit.legs] == [1, 6]


def test_one_circuit_name_on_two_batteries_is_two_circuits():
    parts = {"one": battery(), "two": battery(), "a": load(1), "b": load(2)}
    lines = {"a": {"circuit": "deck", "battery": "one"}, "b": {"circuit": "deck", "battery": "two"}}
    for name, current_a in (("one", 1), ("two", 2)):
        system = system_of(parts, lines, battery_id=name)
        assert [(c.circuit, c.design_current_a) for c in system.circuits] == [("deck", current_a)]


def test_lines_of_one_circuit_that_start_at_different_places_cannot_share_a_fuse():
    parts = {"battery": battery(), "block": block(), "a": load(1), "b": load(2)}
    lines = {"a": {"circuit": "deck"}, "b": {"circuit": "deck", "direct": True}}
    system = system_of(parts, lines)
    assert [(c.circuit, c.origin, c.fuse_a) for c in system.circuits] == [
        ("deck", "block", 2),
        ("deck at battery", "battery", 3),
    ]


def test_a_legs_drop_is_its_own_and_its_allowance_what_the_feed_leaves():
    """Feed 1.75 m of run at 10 A: K I L = 10.75 * 10 * 11.48 ft = 1234; / (1 % of 12 V) = 10 287 CM: 8 AWG."""
    parts = {"battery": battery(), "block": block(), "screen": load(10, drop_class="critical")}
    system = system_of(parts, {"block": {"station": "x1"}, "screen": {"station": "x2"}})
    feed, leg = system.feed, leg_of(system, "screen")
    assert feed.awg == "8"
    assert feed.drop_v == pytest.approx(drop_by_hand(10, 3.5, "8"))
    assert feed.drop_fraction == pytest.approx(feed.drop_v / 12)
    assert leg.limit_fraction == 0.03
    assert leg.allowed_fraction == pytest.approx(0.03 - feed.drop_fraction)
    assert leg.drop_v == pytest.approx(drop_by_hand(10, 3.5, leg.awg))
    assert leg.drop_fraction <= leg.allowed_fraction


def test_the_feeds_actual_drop_counts_not_its_limit():
    """3 % less the feed's 1 % would leave 0.02 * 12 V = 0.24 V; this feed drops less, so a thinner leg passes."""
    parts = {"battery": battery(), "block": block(), "screen": load(3.3, drop_class="critical")}
    system = system_of(parts, {"block": {"measured_run_m": 0.2}, "screen": {"station": "x2"}})
    leg = leg_of(system, "screen")
    assert system.feed.drop_fraction < 0.004
    assert 0.02 < leg.drop_fraction <= 0.03 - system.feed.drop_fraction


def test_a_direct_line_leaves_the_feed_alone():
    parts = {"battery": battery(), "block": block(), "a": load(5), "pump": load(5, drop_class="critical")}
    system = system_of(parts, {"pump": {"direct": True}})
    assert circuit_of(system, "pump").direct
    assert leg_of(system, "pump").allowed_fraction == 0.03
    assert system.feed.current_a == 5


def test_a_motor_is_fused_at_the_battery_with_110_percent_and_a_5_percent_drop():
    """60 A at the drive battery and 6 AWG: 50 A over 7.4 m of conductor at 12 V (the trade's bow motor)."""
    lines = {"drive": {"role": "drive"}, "motor": {"measured_run_m": 3.7}}
    system = system_of({"drive": battery(100, 100), "motor": motor(50, max_fuse_a=80)}, lines, battery_id="drive")
    leg = leg_of(system, "motor")
    assert (circuit_of(system, "motor").fuse_a, system.main_fuse_a, leg.awg) == (60, 60, "6")
    assert leg.limit_fraction == 0.05


def test_a_fuse_is_within_the_ampacity_of_every_leg():
    """A load of 3 A with a peak of 24 A on 0.6 m: 18 AWG would drop little, the 25 A fuse calls for 12 AWG (25 A)."""
    lines = {"winch": {"circuit": "bow"}, "lamp": {"circuit": "bow"}}
    system = system_of({"battery": battery(), "winch": load(3, peak_a=24), "lamp": load(0.1)}, lines)
    circuit = circuit_of(system, "bow")
    assert circuit.fuse_a == 25
    assert [leg.awg for leg in circuit.legs] == ["12", "12"]


def test_a_hot_hull_and_single_conductors_take_thicker_ones():
    """10 A fuse: 18 AWG carries 10 A at 75 C; in a hot hull 0.75 * 10 A is too little, 16 AWG gives 11.25 A."""
    parts = {"battery": battery(), "a": load(8)}
    assert leg_of(system_of(parts), "a").awg == "18"
    assert leg_of(system_of(parts, shop={"hot_hull": True}), "a").awg == "16"
    assert leg_of(system_of({"battery": battery(), "a": load(0.1)}, shop={"sheathed": False}), "a").awg == "16"


@pytest.mark.parametrize(("volts", "awg"), [(12, "10"), (24, "14"), (48, "18")])
def test_a_higher_voltage_takes_thinner_conductors(volts, awg):
    """10 A over 6 m of conductor at 3 %: 5879, 2939 and 1470 CM."""
    parts = {"battery": battery(volts=volts), "a": load(10, volts, drop_class="critical")}
    lines = {"a": {"measured_run_m": 3.0}}
    assert leg_of(system_of(parts, lines, shop={"insulation_c": 105}), "a").awg == awg


def test_the_main_fuse_covers_the_sum_and_tops_the_largest_branch():
    """Two branches of 2.8 A: fuses 4 A; 1.25 * 5.6 A = 7 A: 7.5 A. One branch of 2.8 A: 3.5 A, but above 4 A: 5 A."""
    parts = {"battery": battery(), "block": block(), "a": load(2.8), "b": load(2.8)}
    assert system_of(parts).main_fuse_a == 7.5
    assert system_of({key: parts[key] for key in ("battery", "block", "a")}).main_fuse_a == 5


def test_the_main_fuse_covers_the_sum_of_peaks_on_its_feed_only():
    parts = {"battery": battery(), "block": block(), "a": load(1, peak_a=9), "b": load(1, peak_a=9), "c": load(30)}
    system = system_of(parts, {"c": {"direct": True}})
    assert system.main_fuse_a == 20
    assert (system.design_current_a, system.peak_current_a) == (32, 48)


def test_the_main_fuse_makes_the_feed_thicker():
    """Branches of 8 A with a peak of 28 A: the 30 A branch calls for a 35 A main fuse, and 10 AWG (40 A at 75 C)."""
    system = system_of({"battery": battery(), "block": block(), "a": load(8, peak_a=28)})
    assert (system.main_fuse_a, system.feed.awg, system.feed.ampacity_a) == (35, "10", 40)


def test_without_a_possible_main_fuse_the_feed_is_sized_by_drop_and_heat():
    """The same on a battery of 30 A: no main fuse; 8 A over 1.2 m: K I L / E = 2822 CM: 14 AWG."""
    system = system_of({"battery": battery(30, 30), "block": block(), "a": load(8, peak_a=28)})
    assert (system.main_fuse_a, system.main_fuse_needed_a, system.feed.awg) == (None, 35, "14")


def test_a_single_circuit_on_a_battery_has_the_main_fuse():
    system = system_of({"battery": battery(), "screen": load(1.5)})
    assert (system.feed, system.main_fuse_a) == (None, 2)


def test_a_single_circuits_fuse_must_meet_the_batterys_limit_too():
    """10 A calls for 15 A; the battery gives 12 A."""
    system = system_of({"battery": battery(12, 12), "screen": load(10)})
    assert (system.main_fuse_a, circuit_of(system, "screen").fuse_a) == (None, 15)


def test_several_direct_circuits_without_a_distribution_have_no_main_fuse():
    system = system_of({"battery": battery(), "a": load(1), "b": load(1)})
    assert (system.main_fuse_a, system.main_fuse_needed_a) == (None, None)
    assert [circuit.fuse_a for circuit in system.circuits] == [2, 2]


def test_a_battery_that_feeds_nothing_has_no_circuit_and_lasts():
    system = system_of({"battery": battery()})
    assert (system.circuits, system.feed, system.main_fuse_a, system.hours_to_empty) == ((), None, None, None)


CONVERTED = {
    "battery": battery(volts=24),
    "block": block(),
    "conv": converter(24, 12, 10, 0.85, idle_a=0.1),
    "screen": load(3, drop_class="critical"),
    "lamp": load(2, peak_a=4),
}


def test_a_converter_draws_its_output_power_by_its_efficiency_and_its_idle_load():
    """12 V * 5 A / (0.85 * 24 V) + 0.1 A = 3.0412 A; with the peak of 7 A: 4.2176 A."""
    system = system_of(CONVERTED)
    circuit = circuit_of(system, "conv")
    assert circuit.design_current_a == pytest.approx(12 * 5 / (0.85 * 24) + 0.1)
    assert circuit.peak_current_a == pytest.approx(12 * 7 / (0.85 * 24) + 0.1)
    assert circuit.fuse_a == 5
    assert system.design_current_a == pytest.approx(circuit.design_current_a)
    assert system.mean_current_a == pytest.approx(circuit.design_current_a)


def test_conductors_behind_a_converter_start_at_it_and_owe_the_feed_nothing():
    system = system_of(CONVERTED, {"conv": {"station": "x1"}, "screen": {"station": "x2"}})
    leg = leg_of(system, "screen")
    assert (leg.origin, leg.allowed_fraction) == ("conv", 0.03)
    assert leg.run_m == pytest.approx(1.75)
    assert leg.drop_fraction == pytest.approx(drop_by_hand(3, 3.5, leg.awg) / 12)
    assert leg_of(system, "conv").allowed_fraction == pytest.approx(0.03 - system.feed.drop_fraction)


def test_loads_behind_a_converter_are_no_part_of_the_main_fuse():
    system = system_of(CONVERTED)
    assert system.feed.current_a == pytest.approx(circuit_of(system, "conv").design_current_a)
    assert system.main_fuse_a == 7.5


def test_a_placement_passes_where_no_conductor_is_thicker_than_6_awg():
    parts = {"battery": battery(), "motor": motor(50)}
    near, far = {"motor": {"measured_run_m": 3.7}}, {"motor": {"measured_run_m": 6.0}}
    assert passes_at(system_of(parts, near))
    assert not passes_at(system_of(parts, far))
    assert not passes_at(system_of(parts, {"motor": {"measured_run_m": 100.0}}))


def test_the_order_of_lines_does_not_matter():
    parts = {
        **CONVERTED,
        "horn": load(0.7, 24, peak_a=3.3),
        "pump": load(4.1, 24, drop_class="critical"),
        "fan": load(0.3, 24),
    }
    lines = {"horn": {"circuit": "deck"}, "fan": {"circuit": "deck"}, "pump": {"direct": True}}
    plan = [{"name": "day", "hours": 3.3, "on": {"horn": 0.1, "lamp": 0.7}}, {"name": "night", "hours": 2.1}]
    forward = system_of(parts, lines, day_plan=plan)
    backward = system_of(dict(reversed(parts.items())), lines, day_plan=plan)
    assert forward.feed == backward.feed
    assert forward.charge_after == backward.charge_after
    assert forward.main_fuse_a == backward.main_fuse_a
    for circuit in forward.circuits:
        other = circuit_of(backward, circuit.circuit)
        assert (circuit.fuse_a, circuit.design_current_a) == (other.fuse_a, other.design_current_a)
        assert set(circuit.legs) == set(other.legs)


def test_a_switch_shared_by_two_batteries_leaves_their_circuits_apart():
    parts = {"one": battery(), "two": battery(), "panel": panel(2), "a": load(1), "b": load(1)}
    lines = {"a": {"battery": "one", "switch": "panel"}, "b": {"battery": "two", "switch": "panel"}}
    assert leg_of(system_of(parts, lines, battery_id="one"), "a").switch == "panel"
    assert leg_of(system_of(parts, lines, battery_id="two"), "b").switch == "panel"
