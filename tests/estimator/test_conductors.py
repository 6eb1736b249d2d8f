"""Conductors against ABYC E-11 as quoted, 33 CFR 183.425, the definition of AWG and the constants of copper."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.estimator.conductors import (
    K_OHM_CM_PER_FT,
    M_PER_FT,
    drop_v,
    gauges,
    hot_factor,
    least_gauge,
    needed_area_cm,
    thickness,
)
from builds.estimator.published import rows_of
from tests.estimator.electrics import reference_rows

BOAT = gauges(75, False, True)
# No heat limit: the published drop tables are about drop alone.
AMPLE = gauges(200, False, True)
ORDER = ("18", "16", "14", "12", "10", "8", "6", "4", "2", "1", "1/0", "2/0", "4/0")

# 33 CFR 183.425 Table 5, 2015 annual edition, typed here from the regulation as quoted: AWG, then the columns of
# insulation rated 60, 75, 80, 90, 105, 125 and 200 C.
TABLE_5 = """
18   10  10  15  20  20  25  25
16   15  15  20  25  25  30  35
14   20  20  25  30  35  40  45
12   25  25  35  40  45  50  55
10   40  40  50  55  60  70  70
8    55  65  70  70  80  90 100
6    80  95 100 100 120 125 135
4   105 125 130 135 160 170 180
2   140 170 175 180 210 225 240
1   165 195 210 210 245 265 280
1/0 195 230 245 245 285 305 325
2/0 225 265 285 285 330 355 370
4/0 300 360 385 385 445 475 510
"""
COLUMNS_C = (60, 75, 80, 90, 105, 125, 200)
# Note 1 to Table 5: the factor in engine spaces (50 C ambient).
NOTE_1 = {60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.85, 125: 0.89, 200: 1.00}


def table_5():
    return {cells[0]: [float(cell) for cell in cells[1:]] for cells in map(str.split, TABLE_5.split("\n")) if cells}


def least_by_drop(row, volts, fraction):
    """The least size by drop alone: the 10 % chart reaches currents that heat would refuse."""
    length_m = float(row["round_trip_length_ft"]) * M_PER_FT
    area_cm = needed_area_cm(float(row["current_A"]), length_m, fraction * volts)
    return next(size.awg for size in AMPLE if size.area_cm >= area_cm * (1 - 1e-9))


def test_abyc_e11_table_ix_is_met_in_87_of_its_89_cells_and_one_size_larger_in_the_other_two():
    """ABYC E-11 Table IX, 12 V, 3 %, as quoted in public text (edition year not stated)."""
    rows = reference_rows("vdrop_12V_3pct_abyc_e11_table_ix")
    chosen = [
        least_gauge(AMPLE, float(row["current_A"]), float(row["round_trip_length_ft"]) * M_PER_FT, 0.03 * 12)
        for row in rows
    ]
    steps = [thickness(size.awg) - thickness(row["published_awg"]) for size, row in zip(chosen, rows, strict=True)]
    assert len(rows) == 89
    assert steps.count(0) == 87
    assert steps.count(1) == 2


def test_the_ten_percent_chart_is_met_within_one_size():
    """10 % chart at 12 V printed in a marine supplier's catalogue, as seen in public text."""
    rows = reference_rows("vdrop_12V_10pct_chart_b")
    steps = [thickness(least_by_drop(row, 12, 0.10)) - thickness(row["published_awg"]) for row in rows]
    assert len(rows) > 100
    assert set(steps) <= {0, 1}, "never thinner than the chart, never more than one size thicker"
    assert steps.count(0) >= 0.95 * len(rows)


@pytest.mark.parametrize("row", reference_rows("vdrop_formula_examples"), ids=lambda row: row["id"])
def test_published_worked_examples_of_the_formula(row):
    """CM = K I L / E, worked examples as published: 6271 CM and 2352 CM, 10 AWG at 3 %, 16 AWG at 10 %."""
    length_m = float(row["round_trip_length_ft"]) * M_PER_FT
    area_cm = needed_area_cm(float(row["current_A"]), length_m, float(row["E_V"]))
    assert round(area_cm) == {"v1": 6271, "v2": 2352, "v3": 6271, "v4": 1881}[row["id"]]
    named = {"v1": "10", "v3": "10", "v4": "16"}
    if row["id"] in named:
        gauge = least_gauge(BOAT, float(row["current_A"]), length_m, float(row["E_V"]))
        assert gauge.awg == named[row["id"]]


@pytest.mark.parametrize("insulation_c", COLUMNS_C)
def test_ampacity_is_table_5_cell_by_cell(insulation_c):
    """33 CFR 183.425 Table 5, 2015."""
    column = COLUMNS_C.index(insulation_c)
    assert {size.awg: size.ampacity_a for size in gauges(insulation_c, False, True)} == {
        awg: cells[column] for awg, cells in table_5().items()
    }


@pytest.mark.parametrize("insulation_c", COLUMNS_C)
def test_a_hot_hull_takes_note_1_of_table_5(insulation_c):
    """33 CFR 183.425 Table 5 note 1, 2015."""
    assert hot_factor(insulation_c) == NOTE_1[insulation_c]
    cool, hot = gauges(insulation_c, False, True), gauges(insulation_c, True, True)
    for a, b in zip(cool, hot, strict=True):
        assert b.ampacity_a == pytest.approx(NOTE_1[insulation_c] * a.ampacity_a, rel=1e-12)


def test_the_105_c_column_and_its_hot_factor_agree_with_a_second_table():
    """Ampacities attributed to ABYC, for single conductors rated 105 C, outside and inside engine spaces, as seen in
    public text: `marine_wire_areas_and_105C_ampacity.csv`. The inside column is printed in whole amperes."""
    rows = rows_of("marine_wire_areas_and_105C_ampacity")
    cool, hot = gauges(105, False, True), gauges(105, True, True)
    for row, a, b in zip(rows, cool, hot, strict=True):
        assert a.ampacity_a == float(row["ampacity_outside_engine_space_A"])
        assert b.ampacity_a == pytest.approx(float(row["ampacity_inside_engine_space_A"]), abs=0.5)


def test_a_single_conductor_is_16_awg_at_least_and_a_sheathed_one_18():
    """33 CFR 183.425(d) and (e), 2015."""
    assert least_gauge(gauges(75, False, True), 0.1, 1.0, 1.0).awg == "18"
    assert least_gauge(gauges(75, False, False), 0.1, 1.0, 1.0).awg == "16"


def test_sae_areas_lie_just_under_the_areas_that_define_awg():
    """ASTM B258: d = 5 mil * 92 ** ((36 - n) / 39); 1/0, 2/0 and 4/0 are n = 0, -1 and -3. The SAE minimum is smaller,
    by at most 11 % (as quoted)."""
    number = {"1/0": 0, "2/0": -1, "4/0": -3}
    published = {row["awg"]: float(row["area_published_CM"]) for row in reference_rows("awg_copper_wire_table")}
    for size in BOAT:
        n = number.get(size.awg)
        n = int(size.awg) if n is None else n
        defined_cm = (5 * 92 ** ((36 - n) / 39)) ** 2
        assert defined_cm == pytest.approx(published[size.awg], rel=1e-3)
        assert 0.89 < size.area_cm / defined_cm < 1.0


def test_k_is_the_mil_foot_resistance_of_copper_at_about_29_c():
    """Copper constants as published: 10.37 ohm CM/ft and 0.00393 per C at 20 C."""
    constants = {row["quantity"]: float(row["value"]) for row in reference_rows("copper_constants")}
    k_20 = constants["mil-foot resistance, 20 C"]
    alpha = constants["temperature coefficient of resistance, annealed copper, 20 C"]
    at_c = 20 + (K_OHM_CM_PER_FT / k_20 - 1) / alpha
    assert at_c == pytest.approx(constants["copper temperature at which K reaches 10.75"], abs=0.05)
    assert 25 < at_c < 35


def test_the_drop_of_a_solid_wire_agrees_with_the_resistance_tables():
    """Wire table of solid annealed copper at 20 C, warmed to 29.3 C: 1000 ft of 10 AWG at 10 A."""
    rows = {row["awg"]: row for row in reference_rows("awg_copper_wire_table")}
    for row in rows.values():
        ohm = float(row["resistance_20C_published_ohm_per_1000ft"]) * (1 + 0.00393 * 9.3)
        assert drop_v(10, 1000 * M_PER_FT, float(row["area_published_CM"])) == pytest.approx(10 * ohm, rel=0.015)


def test_a_fuse_makes_the_conductor_thicker():
    """14 AWG carries 20 A at 75 C (Table 5); a 25 A fuse before it calls for 12 AWG."""
    assert least_gauge(BOAT, 18, 0.5, 1.2, carried_a=20).awg == "14"
    assert least_gauge(BOAT, 18, 0.5, 1.2, carried_a=25).awg == "12"


def test_no_size_fits_when_there_is_no_drop_left_to_spend():
    assert least_gauge(BOAT, 1.0, 1.0, 0.0) is None
    assert least_gauge(BOAT, 1.0, 1.0, -0.1) is None
    assert least_gauge(BOAT, 100.0, 500.0, 0.36) is None


def test_a_load_that_draws_nothing_takes_the_least_size():
    assert least_gauge(BOAT, 0.0, 5.0, 0.0).awg == "18"


def test_a_current_that_meets_the_ampacity_exactly_is_carried():
    assert least_gauge(BOAT, 10.0, 0.0, 0.36).awg == "18"
    assert least_gauge(BOAT, 10.0 * (1 + 1e-10), 0.0, 0.36).awg == "18"
    assert least_gauge(BOAT, 10.001, 0.0, 0.36).awg == "16"


currents = st.floats(0.01, 200)
lengths = st.floats(0.01, 60)


@given(currents, lengths)
def test_a_thicker_conductor_never_drops_more(current_a, length_m):
    drops = [drop_v(current_a, length_m, size.area_cm) for size in BOAT]
    assert drops == sorted(drops, reverse=True)
    assert [size.awg for size in BOAT] == list(ORDER)


@given(currents, lengths, st.floats(0, 40), st.floats(0.05, 3))
def test_a_longer_run_never_takes_a_thinner_conductor(current_a, length_m, more_m, allowed_v):
    short = least_gauge(BOAT, current_a, length_m, allowed_v)
    long = least_gauge(BOAT, current_a, length_m + more_m, allowed_v)
    if short is None:
        assert long is None
    elif long is not None:
        assert thickness(long.awg) >= thickness(short.awg)


@given(currents, lengths, st.floats(0.05, 3))
def test_the_size_chosen_keeps_the_drop_and_the_next_thinner_does_not(current_a, length_m, allowed_v):
    size = least_gauge(BOAT, current_a, length_m, allowed_v)
    if size is None:
        return
    assert drop_v(current_a, length_m, size.area_cm) <= allowed_v * (1 + 1e-8)
    assert size.ampacity_a >= current_a * (1 - 1e-8)
    place = BOAT.index(size)
    if place:
        thinner = BOAT[place - 1]
        assert drop_v(current_a, length_m, thinner.area_cm) > allowed_v or thinner.ampacity_a < current_a
    assert math.isfinite(size.area_cm)
