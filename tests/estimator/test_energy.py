"""Energy against worked Peukert examples, makers' temperature rows and the trade's own check value."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.estimator.energy import Store, day_of, hours_at, temperature_factor
from tests.estimator.electrics import battery, cautions_by_code, load, reference_rows, system_of

# Lead-acid, discharge over 60 min, share of the capacity at 25 C: makers' statements as seen in public text.
LEAD_OVER_60_MIN = {0: 0.84, 5: 0.88, 10: 0.90, 15: 0.94, 20: 0.99, 25: 1.00}


def peukert_example(name):
    return next(row for row in reference_rows("peukert_examples") if row["id"] == name)


@pytest.mark.parametrize("name", ["p3", "p5", "p6"])
def test_peukert_examples_on_the_rated_hour_basis(name):
    """`peukert_examples.csv`, form B: C is the capacity over H = 20 h. 100 Ah at 10 A, k 1.2: 8.7055 h, and so on."""
    row = peukert_example(name)
    hours = hours_at(float(row["current_A"]), float(row["capacity_Ah"]), float(row["rated_hours_h"]), float(row["k"]))
    assert hours == pytest.approx(float(row["recomputed_time_h"]), rel=1e-4)


def test_a_peukert_example_on_the_1_a_basis_is_the_same_law_with_100_hours():
    """Form A, published: 100 Ah at 1 A, k 1.2, at 5 A lasts 14.5 h. Its capacity is the one at 1 A, a 100 h rate: taken
    for a 20 h rate the same figures give 20 h, so the two forms must not be mixed."""
    row = peukert_example("p1")
    assert hours_at(5, 100, 100, 1.2) == pytest.approx(float(row["recomputed_time_h"]), rel=1e-4)
    assert round(hours_at(5, 100, 100, 1.2), 1) == float(row["published_time_h"])
    assert hours_at(5, 100, 20, 1.2) == pytest.approx(20.0)


def test_below_the_rated_current_a_battery_gives_its_rated_capacity_and_no_more():
    """100 Ah over 20 h is 5 A; at 1 A it lasts 100 h, not longer."""
    assert hours_at(1, 100, 20, 1.25) == 100
    assert hours_at(5, 100, 20, 1.25) == 20
    assert hours_at(0, 100, 20, 1.25) == inf


@pytest.mark.parametrize("chemistry", ["agm", "gel", "flooded"])
def test_lead_acid_follows_the_rows_for_more_than_an_hour(chemistry):
    for temperature_c, share in LEAD_OVER_60_MIN.items():
        assert temperature_factor(chemistry, temperature_c) == pytest.approx(share)
    assert temperature_factor(chemistry, 12.5) == pytest.approx((0.90 + 0.94) / 2)
    assert temperature_factor(chemistry, 22.5) == pytest.approx((0.99 + 1.00) / 2)


def test_lfp_falls_to_70_percent_at_zero_fahrenheit():
    """A maker's statement repeated in many copies: 70 % at -17.8 C (0 F); linear from 25 C, a soft figure."""
    assert temperature_factor("lfp", 25) == 1.0
    assert temperature_factor("lfp", -17.8) == pytest.approx(0.70)
    assert temperature_factor("lfp", (25 - 17.8) / 2) == pytest.approx(0.85)


@pytest.mark.parametrize("chemistry", ["lfp", "agm"])
def test_no_warmth_gives_more_than_the_rating_and_the_end_values_hold(chemistry):
    assert temperature_factor(chemistry, 40) == 1.0
    assert temperature_factor(chemistry, 60) == 1.0
    assert temperature_factor(chemistry, -60) == temperature_factor(chemistry, -17.8 if chemistry == "lfp" else 0)


def test_46_ah_of_lfp_carries_a_12_hour_day_at_just_under_3_a():
    """Check value of the trade, common practice, no source: at 25 C the planned hours are 12 and more."""
    system = system_of({"battery": battery(46, 46), "screens": load(2.95)}, day_plan=[{"name": "day", "hours": 12}])
    assert system.hours_planned >= 12
    assert system.hours_to_empty == pytest.approx(20 * (46 / (2.95 * 20)) ** 1.05)
    assert "energy_short" not in cautions_by_code(
        {"battery": battery(46, 46), "screens": load(2.95)}, day_plan=[{"name": "day", "hours": 12}]
    )


def test_a_day_adds_up_what_each_spell_takes():
    """100 Ah over 20 h, k 1.2: 2 h at 5 A take 2/20, 1 h at 10 A takes 1/8.7055."""
    day = day_of(Store(100, 20, 1.2), [2, 1], [5, 10])
    assert day.charge_after[0] == pytest.approx(0.9)
    assert day.charge_after[1] == pytest.approx(0.9 - 1 / 8.7055, rel=1e-4)
    assert day.taken == pytest.approx(0.1 + 1 / 8.7055, rel=1e-4)
    assert day.mean_current_a == pytest.approx(20 / 3)


def test_a_day_that_asks_for_more_than_there_is_ends_below_empty():
    day = day_of(Store(10, 20, 1.05), [30], [0.5])
    assert day.charge_after == (pytest.approx(-0.5),)


def test_a_day_without_current_never_empties_a_battery():
    day = day_of(Store(10, 20, 1.05), [8], [0.0])
    assert (day.taken, day.charge_after, day.hours_to_empty) == (0.0, (1.0,), None)


def test_without_a_day_plan_every_load_runs_at_its_duty_for_eight_hours():
    """4 A at a quarter, 0.4 A the rest of the time on standby: 4 * 0.25 + 0.4 * 0.75 = 1.3 A."""
    system = system_of({"battery": battery(), "lights": load(4, duty=0.25, standby_a=0.4)})
    assert system.mean_current_a == pytest.approx(1.3)
    assert system.charge_after == (pytest.approx(1 - 8 * 1.3 / 100),)


def test_a_load_that_a_spell_does_not_name_runs_at_its_duty():
    parts = {"battery": battery(), "lights": load(4, duty=0.25), "screen": load(2)}
    plan = [{"name": "dusk", "hours": 1, "on": {"lights": 1.0}}, {"name": "day", "hours": 3, "on": {"screen": 0.5}}]
    system = system_of(parts, day_plan=plan)
    assert system.spell_current_a == (pytest.approx(4 + 2), pytest.approx(1 + 1))
    assert system.mean_current_a == pytest.approx((1 * 6 + 3 * 2) / 4)


def test_what_is_already_fitted_still_draws():
    system = system_of({"battery": battery(), "old": load(2)}, {"old": {"supplied_by": "already_fitted"}})
    assert system.mean_current_a == 2


def test_health_and_cold_make_a_battery_smaller():
    """100 Ah of AGM at 10 C (0.90) with 80 % of its health: 72 Ah."""
    system = system_of(
        {"battery": battery(100, chemistry="agm"), "screen": load(1)}, {"battery": {"health": 0.8}}, air_temp_c=10
    )
    assert system.effective_ah == pytest.approx(72)


@pytest.mark.parametrize(
    ("hours", "code"), [(71.9, None), (72.1, "energy_marginal"), (79.9, "energy_marginal"), (80.1, "energy_short")]
)
def test_a_plan_is_marginal_above_nine_tenths_of_the_usable_depth_and_short_above_all_of_it(hours, code):
    """LFP, 80 % usable (`battery_usable_dod.csv`): 1 A from 100 Ah; 72 h is nine tenths of 80 h."""
    depth = next(r for r in reference_rows("battery_usable_dod") if r["chemistry"] == "lithium iron phosphate")
    assert float(depth["usable_dod_pct"]) == 80
    found = cautions_by_code({"battery": battery(), "screen": load(1)}, day_plan=[{"name": "days", "hours": hours}])
    assert {"energy_short", "energy_marginal"} & set(found) == ({code} if code else set())


def test_a_plan_that_meets_a_limit_exactly_is_within_it():
    found = cautions_by_code({"battery": battery(), "screen": load(0.9)}, day_plan=[{"name": "days", "hours": 80}])
    assert "energy_marginal" not in found


OFFERED = {
    "lfp_20": battery(20, 20),
    "lfp_50": battery(50, 50),
    "lfp_60": battery(60, 60),
    "agm_40": battery(40, 100, chemistry="agm"),
    "lfp_24v": battery(50, 50, volts=24),
}
LONG = [{"name": "day", "hours": 20}]


def test_the_smallest_battery_that_carries_is_of_the_same_voltage_and_chemistry():
    """1.9 A for 20 h is 38 Ah; of 50 Ah 80 % may be used: 40 Ah."""
    system = system_of({"battery": battery(20, 20), "screen": load(1.9)}, offered=OFFERED, day_plan=LONG)
    assert system.smallest_that_carries == "lfp_50"


def test_the_mend_of_a_short_day_is_the_smallest_battery_that_carries_then_one_with_a_margin():
    """38 of the 40 Ah usable is above nine tenths: 50 Ah mends the shortage, 60 Ah leaves a margin."""
    found = cautions_by_code({"battery": battery(20, 20), "screen": load(1.9)}, offered=OFFERED, day_plan=LONG)
    assert [mend["accessory"] for mend in found["energy_short"][0].mends] == ["lfp_50", "lfp_60"]


def test_the_mend_of_a_marginal_day_leaves_a_margin():
    found = cautions_by_code({"battery": battery(50, 50), "screen": load(1.9)}, offered=OFFERED, day_plan=LONG)
    assert [mend["accessory"] for mend in found["energy_marginal"][0].mends] == ["lfp_60"]


def test_a_worn_battery_is_mended_by_a_new_one():
    found = cautions_by_code(
        {"battery": battery(50, 50), "screen": load(1.5)},
        {"battery": {"health": 0.6}},
        offered=OFFERED,
        day_plan=LONG,
    )
    assert found["energy_short"][0].mends[0] == {
        "do": "replace",
        "line": "battery",
        "accessory": "battery_type",
        "health": 1.0,
    }


def test_a_battery_that_cannot_give_the_current_is_no_mend():
    offered = {"weak_60": battery(60, 5), "lfp_80": battery(80, 80)}
    found = cautions_by_code(
        {"battery": battery(20, 20), "screen": load(10, typical_a=1.9)}, offered=offered, day_plan=LONG
    )
    assert [mend["accessory"] for mend in found["energy_short"][0].mends] == ["lfp_80"]


def test_without_a_battery_large_enough_nothing_is_offered():
    parts = {"battery": battery(20, 20), "screen": load(1.9)}
    assert system_of(parts, day_plan=LONG).smallest_that_carries is None
    assert cautions_by_code(parts, day_plan=LONG)["energy_short"][0].mends == ()


def test_two_batteries_in_parallel_hold_twice_as_much():
    system = system_of({"battery": battery(20, 20), "screen": load(1)}, {"battery": {"quantity": 2}})
    assert (system.rated_ah, system.effective_ah, system.max_continuous_a) == (40, 40, 40)
    assert system.watt_hours == pytest.approx(2 * 20 * 12.8)


@given(
    st.floats(1, 200),
    st.floats(1.0, 4.0),
    st.floats(0.6, 1.0),
    st.lists(st.tuples(st.floats(0.1, 12), st.floats(0, 40)), min_size=1, max_size=5),
    st.sampled_from([1.0, 1.05, 1.25]),
)
def test_a_larger_battery_never_ends_the_day_lower(capacity_ah, times, health, spells, exponent):
    hours, currents_a = [h for h, _ in spells], [a for _, a in spells]
    small = day_of(Store(capacity_ah * health, 20, exponent), hours, currents_a)
    large = day_of(Store(capacity_ah * health * times, 20, exponent), hours, currents_a)
    assert all(b >= a - 1e-9 for a, b in zip(small.charge_after, large.charge_after, strict=True))


@given(st.floats(0.01, 100), st.floats(1, 2), st.floats(1, 200))
def test_more_current_never_lasts_longer(current_a, times, capacity_ah):
    assert hours_at(current_a * times, capacity_ah, 20, 1.15) <= hours_at(current_a, capacity_ah, 20, 1.15) + 1e-12
