"""What stops a quote or calls for care in the power section, and the acts that would mend it."""

import json

import pytest

from builds.estimator.cautions import CAUTION, NOTE, STOP
from tests.estimator.electrics import (
    battery,
    block,
    cautions_by_code,
    converter,
    kind,
    load,
    mended,
    motor,
    panel,
    powered,
    reference_rows,
    sheet_of,
    system_of,
)


def only(parts, code, lines=None, **changes):
    """The one caution of a code."""
    found = cautions_by_code(parts, lines, **changes).get(code, [])
    assert len(found) == 1
    return found[0]


def test_a_sound_system_has_no_caution():
    known = battery(short_circuit_a=900, chemistry="agm")
    assert cautions_by_code({"battery": known, "block": block(), "screen": load(2, max_fuse_a=5)}) == {}


def test_a_drive_battery_feeds_the_motor_alone():
    """Common practice, no source."""
    parts = {"drive": battery(), "house": battery(), "motor": motor(30), "screen": load(1)}
    lines = {"drive": {"role": "drive"}, "screen": {"battery": "drive"}}
    caution = only(parts, "drive_battery_shared", lines)
    assert (caution.severity, caution.line) == (STOP, "screen")
    assert caution.mends == ({"do": "feed_from", "line": "screen", "battery": "house"},)
    lines["screen"] = {"battery": "house"}
    assert "drive_battery_shared" not in cautions_by_code(parts, lines)


def test_a_converter_on_a_drive_battery_is_another_load():
    parts = {"drive": battery(volts=24), "conv": converter()}
    assert only(parts, "drive_battery_shared", {"drive": {"role": "drive"}, "conv": {"battery": "drive"}}).mends == ()


def test_a_load_of_another_voltage_stops_the_quote():
    parts = {"battery": battery(volts=24), "screen": load(1, 12)}
    caution = only(parts, "voltage_mismatch", offered={"conv": converter(24, 12), "other": converter(36, 12)})
    assert (caution.severity, caution.line) == (STOP, "screen")
    assert caution.mends == ({"do": "add", "accessory": "conv", "battery": "battery"},)
    assert "voltage_mismatch" not in cautions_by_code({**parts, "conv": converter(24, 12)})


def test_another_battery_of_the_loads_voltage_is_offered_first():
    parts = {"one": battery(volts=24), "two": battery(volts=12), "screen": load(1, 12)}
    caution = only(parts, "voltage_mismatch", {"screen": {"battery": "one"}})
    assert caution.mends == ({"do": "feed_from", "line": "screen", "battery": "two"},)


def test_a_converter_made_for_another_system_feeds_nothing():
    found = cautions_by_code({"battery": battery(volts=36), "conv": converter(24, 12), "screen": load(1, 12)})
    assert {caution.line for caution in found["voltage_mismatch"]} == {"conv", "screen"}


def test_a_converters_output_peaks_included_is_held_against_its_limit():
    parts = {"battery": battery(volts=24), "conv": converter(max_out_a=10), "a": load(6), "b": load(2, peak_a=4.5)}
    caution = only(
        parts, "converter_overloaded", offered={"big": converter(max_out_a=15), "vast": converter(max_out_a=30)}
    )
    assert (caution.severity, caution.line) == (CAUTION, "conv")
    assert caution.figures["peak_a"] == 10.5
    assert caution.mends == ({"do": "replace", "line": "conv", "accessory": "big"},)
    parts["b"] = load(2, peak_a=4.0)
    assert "converter_overloaded" not in cautions_by_code(parts)


def test_a_fuse_above_what_a_device_allows_stops_the_quote_and_is_still_shown():
    """A lamp that allows 2 A on a circuit of 6 A, whose fuse is 7.5 A: it wants a circuit of its own."""
    parts = {"battery": battery(), "lamp": load(0.5, max_fuse_a=2), "pump": load(5.5, max_fuse_a=10)}
    lines = {"lamp": {"circuit": "deck"}, "pump": {"circuit": "deck"}}
    caution = only(parts, "fuse_over_device", lines)
    assert (caution.severity, caution.line) == (STOP, "lamp")
    assert caution.mends[0] == {"do": "split_circuit", "line": "lamp"}
    assert system_of(parts, lines).circuits[0].fuse_a == 7.5
    lines["lamp"] = {}
    assert "fuse_over_device" not in cautions_by_code(parts, lines)


def test_a_fuse_that_equals_what_the_device_allows_is_within_it():
    assert "fuse_over_device" not in cautions_by_code({"battery": battery(), "pump": load(4, max_fuse_a=5)})


def test_a_run_that_no_conductor_can_make_stops_the_quote():
    parts = {"battery": battery(), "pump": load(60, drop_class="critical")}
    lines = {"pump": {"measured_run_m": 100}}
    caution = only(parts, "no_conductor", lines)
    assert (caution.severity, caution.line) == (STOP, "pump")
    leg = system_of(parts, lines).circuits[0].legs[0]
    assert (leg.awg, leg.drop_v, leg.drop_fraction, leg.ampacity_a) == (None, None, None, None)


def test_a_feed_that_spends_the_whole_limit_leaves_its_legs_no_conductor_unless_they_are_direct():
    """The shop lets a feed drop 5 %; an electronics leg may drop 3 % in all."""
    parts = {"battery": battery(), "block": block(), "screen": load(10, drop_class="critical")}
    lines = {"block": {"measured_run_m": 4.0}}
    caution = only(parts, "no_conductor", lines, shop={"feed_drop": 0.05})
    assert caution.mends == ({"do": "direct", "line": "screen"},)
    lines["screen"] = {"direct": True}
    assert "no_conductor" not in cautions_by_code(parts, lines, shop={"feed_drop": 0.05})


def test_a_feed_that_no_conductor_can_make_stops_the_quote():
    parts = {"battery": battery(), "block": block(), "screen": load(60)}
    caution = only(parts, "no_conductor", {"block": {"measured_run_m": 60}})
    assert caution.line == "block"


def test_a_circuit_above_the_largest_fuse_stops_the_quote():
    caution = only({"battery": battery(500, 500), "winch": load(130)}, "no_fuse")
    assert (caution.severity, caution.figures["needed_fuse_a"]) == (STOP, pytest.approx(162.5))


def test_a_main_fuse_must_stay_within_the_batterys_limit():
    """18 A on a 20 A battery: 1.25 * 18 A calls for 25 A."""
    parts = {"battery": battery(20, 20), "block": block(), "a": load(9), "b": load(9)}
    caution = only(parts, "main_fuse_impossible", offered={"b24": battery(24, 24), "b30": battery(30, 30)})
    assert caution.severity == STOP
    assert (caution.figures["needed_fuse_a"], caution.figures["max_continuous_a"]) == (25, 20)
    assert caution.mends == ({"do": "replace", "line": "battery", "accessory": "b30"},)


def test_no_battery_mends_a_main_fuse_above_the_largest_rating():
    parts = {"battery": battery(500, 500), "block": block(), "a": load(70), "b": load(70)}
    caution = only(parts, "main_fuse_impossible", offered={"vast": battery(900, 900)})
    assert caution.mends == ()


def test_peaks_above_a_batterys_limit_stop_the_quote():
    parts = {"battery": battery(20, 20), "a": load(5, peak_a=12), "b": load(9)}
    caution = only(parts, "battery_overloaded", offered={"b50": battery(50, 50), "b21": battery(21, 21)})
    assert (caution.severity, caution.figures["peak_current_a"]) == (STOP, 21)
    assert caution.mends == ({"do": "replace", "line": "battery", "accessory": "b21"},)
    assert "battery_overloaded" not in cautions_by_code({**parts, "battery": battery(21, 21)})


def test_more_circuits_than_a_block_has_ways_stop_the_quote():
    parts = {"battery": battery(), "block": block(2), "a": load(1), "b": load(1), "c": load(1), "d": load(1)}
    lines = {"d": {"direct": True}}
    caution = only(parts, "ways_exceeded", lines, offered={"b3": block(3), "b9": block(9)})
    assert (caution.severity, caution.line) == (STOP, "block")
    assert (caution.figures["circuits"], caution.figures["ways"]) == (3, 2)
    assert caution.mends[0] == {"do": "replace", "line": "block", "accessory": "b3"}
    assert {"do": "direct", "line": "c"} in caution.mends
    lines["c"] = {"direct": True}
    assert "ways_exceeded" not in cautions_by_code(parts, lines)


def test_a_panels_ways_count_circuits_not_lines():
    parts = {"battery": battery(), "panel": panel(1), "a": load(1), "b": load(1)}
    through = {key: {"switch": "panel", "circuit": "lights"} for key in ("a", "b")}
    assert "ways_exceeded" not in cautions_by_code(parts, through)
    through["b"] = {"switch": "panel"}
    assert only(parts, "ways_exceeded", through).line == "panel"


def test_a_main_switch_takes_its_feed_as_one_circuit():
    parts = {"battery": battery(), "block": block(), "main": panel(1), "a": load(1)}
    lines = {"block": {"switch": "main"}}
    assert "ways_exceeded" not in cautions_by_code(parts, lines)
    assert only(parts, "ways_exceeded", {**lines, "a": {"switch": "main"}}).line == "main"


@pytest.mark.parametrize(("short_a", "cautioned"), [(None, True), (1000, False), (1001, True), (400, False)])
def test_a_short_circuit_current_that_a_blade_fuse_does_not_break_is_cautioned(short_a, cautioned):
    """A blade fuse breaks 1000 A (ISO 8820-3:2015, abstract)."""
    found = cautions_by_code({"battery": battery(short_circuit_a=short_a), "screen": load(1)})
    assert ("interrupt_unknown" in found) is cautioned


def test_two_batteries_in_parallel_feed_a_short_with_both():
    parts = {"battery": battery(short_circuit_a=600), "screen": load(1)}
    caution = only(parts, "interrupt_unknown", {"battery": {"quantity": 2}})
    assert (caution.severity, caution.figures["short_circuit_a"]) == (CAUTION, 1200)


def test_a_battery_that_feeds_nothing_asks_for_no_fuse():
    assert "interrupt_unknown" not in cautions_by_code({"battery": battery()})


def test_lines_of_one_circuit_at_different_places_are_pointed_out():
    parts = {"battery": battery(), "block": block(), "a": load(1), "b": load(1)}
    lines = {"a": {"circuit": "deck"}, "b": {"circuit": "deck", "direct": True}}
    assert only(parts, "circuit_split", lines).line == "b"


@pytest.mark.parametrize(
    ("ah", "by_air", "by_road"),
    [
        (7.8, "within the 100 Wh", "within the 300 Wh"),
        (12, "approval", "within the 300 Wh"),
        (20, "not in a passenger's baggage", "within the 300 Wh"),
        (100, "not in a passenger's baggage", "over the 300 Wh"),
    ],
)
def test_a_lithium_battery_carries_a_note_on_its_travel(ah, by_air, by_road):
    """49 CFR 175.10(a)(18): 100 Wh, 160 Wh with approval; 173.185(c)(1)(iv): 300 Wh by road or rail (2015)."""
    caution = only({"battery": battery(ah)}, "battery_transport", {"battery": {"quantity": 3}})
    assert caution.severity == NOTE
    assert caution.figures["watt_hours"] == pytest.approx(ah * 12.8)
    assert by_air in caution.sentence and by_road in caution.sentence


def test_a_lead_battery_carries_no_note_on_lithium():
    assert "battery_transport" not in cautions_by_code({"battery": battery(chemistry="agm")})


@pytest.mark.parametrize("row", reference_rows("watt_hour_examples"), ids=lambda row: row["id"])
def test_watt_hour_examples(row):
    """`watt_hour_examples.csv`: Wh = V * Ah, and whether it is within 100 Wh."""
    volts, ah = float(row["volts_V"]), float(row["capacity_Ah"])
    cell = battery(ah, voltage_v=volts, system_v=12)
    system = system_of({"battery": cell})
    assert system.watt_hours == pytest.approx(float(row["energy_Wh"]))
    note = only({"battery": cell}, "battery_transport")
    assert ("within the 100 Wh" in note.sentence) is (row["within_100Wh"] == "yes")


def test_no_caution_names_figures_that_are_not_there():
    """Every caution's figures are plain values that can be written as JSON."""
    parts = {"battery": battery(1, 1), "block": block(1), "a": load(60), "b": load(60, 24), "cup": kind()}
    found = cautions_by_code(parts, {"block": {"measured_run_m": 50}})
    assert len(found) >= 6
    for cautions in found.values():
        for caution in cautions:
            json.dumps([caution.figures, caution.mends], allow_nan=False)
            assert caution.sentence.endswith(".")


OFFERED = {
    "house_50": battery(50, 50),
    "house_200": battery(200, 200),
    "block_9": block(9),
    "panel_9": panel(9),
    "conv_12": converter(24, 12, 10),
    "conv_40": converter(24, 12, 40),
}
FAULTY = {
    "energy_short": ({"battery": battery(20, 20), "a": load(4)}, {}),
    "energy_marginal": ({"battery": battery(20, 20), "a": load(1.8)}, {}),
    "battery_overloaded": ({"battery": battery(20, 20), "a": load(1, peak_a=12), "b": load(1, peak_a=12)}, {}),
    "main_fuse_impossible": ({"battery": battery(20, 20), "block": block(), "a": load(10), "b": load(8)}, {}),
    "converter_overloaded": ({"battery": battery(volts=24), "conv": converter(max_out_a=10), "a": load(12)}, {}),
    "voltage_mismatch": ({"battery": battery(volts=24), "a": load(1)}, {}),
    "drive_battery_shared": (
        {"drive": battery(), "house": battery(), "a": load(1)},
        {"drive": {"role": "drive"}, "a": {"battery": "drive"}},
    ),
    "fuse_over_device": (
        {"battery": battery(), "a": load(1, max_fuse_a=2), "b": load(5)},
        {"a": {"circuit": "deck"}, "b": {"circuit": "deck"}},
    ),
    "ways_exceeded": ({"battery": battery(), "block": block(1), "a": load(1), "b": load(1), "c": load(1)}, {}),
}


@pytest.mark.parametrize("code", FAULTY)
def test_a_mend_clears_its_caution_when_it_is_applied(code):
    parts, lines = FAULTY[code]
    sheet = sheet_of(parts, lines, offered=OFFERED)
    faults = [caution for caution in powered(sheet).cautions if caution.code == code]
    assert faults and all(caution.mends for caution in faults)
    for caution in faults:
        after = powered(mended(sheet, caution.mends[0])).cautions
        assert (code, caution.line) not in [(other.code, other.line) for other in after]
