"""Labour (method, section 5): PERT, set-up shared once a ticket, factors, percentiles, what is quoted."""

import math

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from builds.estimator.labour import percentile, pert_mean, pert_sd, total_sd
from tests.estimator.builders import estimated, job, jobs, part, reference_rows, step
from tests.estimator.electrics import HULL

# --- PERT against published figures


@pytest.mark.parametrize("row", reference_rows("pert_network_14"), ids=lambda row: row["activity"])
def test_means_and_sds_agree_with_the_published_network(row):
    """Source: pert_network_14.csv, public text named in its first line; published to two digits."""
    a, m, b = (float(row[key]) for key in ("optimistic_a", "most_likely_m", "pessimistic_b"))
    assert pert_mean(a, m, b) == pytest.approx(float(row["published_mean"]), abs=0.0051)
    assert pert_sd(a, b) == pytest.approx(float(row["published_sd"]), abs=0.0051)


def test_the_one_line_examples_agree():
    """Source: pert_summary.csv q7 to q10: te of 5/8/14 is 8.5, sd 1.5; four in series 17.83 with sd 1.69."""
    rows = {row["id"]: row for row in reference_rows("pert_summary")}
    assert pert_mean(5, 8, 14) == float(rows["q7"]["published"])
    assert pert_sd(5, 14) == float(rows["q8"]["published"])
    assert pytest.approx(float(rows["q9"]["published"]), abs=0.011) == 3.17 + 8.5 + 4.17 + 2
    assert total_sd([0.5, 1.5, 0.5, 0.33], 0.0) == pytest.approx(float(rows["q10"]["published"]), abs=0.006)


def test_the_chance_to_finish_in_time_agrees():
    """Source: pert_summary.csv q1, q4, q5: mean 50.8333, sd 3.3458, finish in 55 with 0.8935 (computed there)."""
    rows = {
        row["id"]: float(row["recomputed"]) for row in reference_rows("pert_summary") if row["id"] in ("q1", "q4", "q5")
    }
    assert percentile(rows["q1"], rows["q4"], rows["q5"]) == pytest.approx(55, abs=0.01)


@given(st.floats(0.01, 0.99))
def test_percentiles_are_those_of_the_normal_distribution(share):
    """An independent computation: scipy.stats.norm."""
    assert percentile(100.0, 15.0, share) == pytest.approx(norm.ppf(share, 100.0, 15.0), rel=1e-9)


@given(st.lists(st.floats(0, 100), min_size=1, max_size=12), st.floats(0, 1))
def test_the_sd_of_a_ticket_is_that_of_the_covariance_matrix(sds, correlation):
    """An independent computation: the sum over numpy's covariance matrix of equally correlated parts."""
    s = numpy.array(sds)
    matrix = correlation * numpy.outer(s, s)
    numpy.fill_diagonal(matrix, s * s)
    assert total_sd(sds, correlation) == pytest.approx(math.sqrt(matrix.sum()), rel=1e-9, abs=1e-9)


# --- set-up is spent once a ticket


def two_phases(likely, repeat_ratio=1.0):
    steps = [step("drill", 0.5), step("mount", 0.5)]
    return part(likely * 0.8, likely, likely * 1.5, steps, repeat_ratio)


def likely_of(found):
    return {line.line: line.likely_min for line in found.labour.lines}


def test_one_type_alone_takes_exactly_its_minutes():
    assert likely_of(estimated({"rod": two_phases(40)}))["rod"] == pytest.approx(40)


def test_two_types_share_the_setup_of_a_phase_and_the_larger_one_carries_it():
    # 40 min: u = min(0.3 x 20, 6) = 6 in drill, min(6, 4) = 4 in mount; 20 min: u = 3 in drill and in mount.
    found = estimated({"small": two_phases(20), "large": two_phases(40)})
    assert likely_of(found) == pytest.approx({"small": 20 - 3 - 3, "large": 40})


def test_where_two_setups_are_equal_the_earlier_line_carries():
    found = estimated({"first": two_phases(40), "second": two_phases(40)})
    assert likely_of(found) == pytest.approx({"first": 40, "second": 40 - 6 - 4})


def test_further_units_of_a_type_take_its_repeat_ratio_on_the_same_line_and_on_another():
    rod = two_phases(40, repeat_ratio=0.5)
    assert likely_of(estimated({"rod": rod}, {"rod": {"quantity": 3}}))["rod"] == pytest.approx(40 + 2 * 20)
    again = estimated({"rod": rod, "again": rod}, {"again": {"accessory": "rod_type"}})
    assert likely_of(again) == pytest.approx({"rod": 40, "again": 20})


def test_what_is_already_fitted_takes_no_minutes_and_carries_no_setup():
    found = estimated({"old": two_phases(60), "new": two_phases(40)}, {"old": {"supplied_by": "already_fitted"}})
    assert likely_of(found) == pytest.approx({"old": 0, "new": 40})


def test_low_and_high_scale_as_likely_does():
    line = estimated({"small": two_phases(20), "large": two_phases(40)}).labour.lines[0]
    assert (line.low_min, line.high_min) == pytest.approx((14 * 0.8, 14 * 1.5))


# --- factors and runs


def on_hull(parts, lines=None, **hull):
    return estimated(parts, lines, hull={**HULL, **hull})


@pytest.mark.parametrize(
    ("hull", "expected"),
    [
        ({}, 20 * 1.45 + 20 * 1.45),
        ({"material": "laminate"}, 20 * 1.45 * 1.2 + 20 * 1.45),
        ({"old": True}, 20 * 1.45 * 1.2 + 20 * 1.45 * 1.2),
        ({"salt_corroded": True}, 20 * 1.45 + 20 * 1.45 * 1.3),
    ],
)
def test_factors_multiply_the_phases_that_they_touch(hull, expected):
    """No hand reaches at the test hull's stations; the type wants inside access. Factors: the sheet's defaults."""
    found = on_hull({"rod": {**two_phases(40), "inside_access": "preferred"}}, **hull)
    assert likely_of(found)["rod"] == pytest.approx(expected)


def test_a_type_that_wants_no_inside_access_is_not_slowed_by_missing_reach():
    assert likely_of(on_hull({"rod": two_phases(40)}))["rod"] == pytest.approx(40)


def test_a_long_run_adds_minutes_for_each_metre_beyond_what_labour_includes():
    # run from x0 to x4: 1.15 x 4 + 0.6 = 5.2 m; (5.2 - 2) x 4 min = 12.8 min
    lamp = {
        **part(10, 20, 30, [step("route", 0.5), step("mount", 0.5)]),
        "load": {"voltage_v": 12, "typical_a": 1, "max_a": 1},
    }
    cell = {
        **part(0, 0, 0),
        "battery": {
            "voltage_v": 12.8,
            "system_v": 12,
            "rated_ah": 20,
            "hour_rate": 20,
            "chemistry": "lfp",
            "max_continuous_a": 20,
        },
    }
    found = estimated({"lamp": lamp, "cell": cell}, {"lamp": {"station": "x4"}})
    assert likely_of(found)["lamp"] == pytest.approx(20 + 12.8)
    measured = estimated({"lamp": lamp, "cell": cell}, {"lamp": {"station": "x4", "measured_run_m": 3.0}})
    assert likely_of(measured)["lamp"] == pytest.approx(20 + 4.0)


# --- what is quoted


def test_quoted_minutes_are_rounded_up_to_the_billing_step():
    found = estimated({"rod": part(40, 40, 40)}).labour
    assert (found.p50_min, found.quoted_min) == (pytest.approx(40), 45)


def test_an_exact_number_of_billing_steps_stays():
    assert estimated({"rod": part(45, 45, 45)}).labour.quoted_min == 45


def test_small_work_takes_the_minimum_charge_and_no_work_takes_none():
    assert estimated({"rod": part(3, 5, 7)}).labour.quoted_min == 30
    assert estimated({"rod": part(0, 0, 0)}).labour.quoted_min == 0


def test_the_percentile_of_the_shop_decides_what_is_quoted():
    safe = estimated({"rod": part(60, 90, 180)}, shop={"labour_percentile": 0.8}).labour
    # mean 100, sd 20: 100 + 0.8416 x 20 = 116.8 -> 120
    assert (safe.p80_min, safe.quoted_min) == (pytest.approx(116.83, abs=0.01), 120)


def test_operations_add_their_own_minutes_and_only_billable_ones_count():
    ops = {
        "wash": {
            "id": "wash",
            "name": "Wash",
            "labour": {"low_min": 10, "likely_min": 15, "high_min": 20},
            "phase": "check",
            "billable": True,
        },
        "talk": {
            "id": "talk",
            "name": "Talk",
            "labour": {"low_min": 10, "likely_min": 15, "high_min": 20},
            "phase": "check",
            "billable": False,
        },
    }
    rows = [{"operation": "wash", "quantity": 2}, {"operation": "talk"}]
    found = estimated({"rod": part(40, 40, 40)}, shop_operations=ops, operations=rows).labour
    assert found.mean_min == pytest.approx(40 + 30)


# --- rules of every ticket

PARTS = st.lists(
    st.tuples(
        st.integers(1, 120),
        st.floats(0.3, 1.0),
        st.lists(
            st.sampled_from(["check", "mark", "drill", "bed", "mount", "test"]), min_size=1, max_size=4, unique=True
        ),
        st.integers(1, 4),
    ),
    min_size=1,
    max_size=6,
)


def ticket_of(drawn):
    parts = {
        f"p{i}": part(likely * 0.7, likely, likely * 1.6, [step(p, 1 / len(phases)) for p in sorted(phases)], ratio)
        for i, (likely, ratio, phases, _) in enumerate(drawn)
    }
    return estimated(parts, {f"p{i}": {"quantity": quantity} for i, (_, _, _, quantity) in enumerate(drawn)})


@given(PARTS)
def test_a_ticket_never_takes_more_than_its_lines_by_themselves(drawn):
    found = ticket_of(drawn).labour
    assert found.mean_min <= found.plain_sum_min + 1e-9
    assert found.shared_setup_saved_min == pytest.approx(found.plain_sum_min - found.mean_min)


@given(PARTS)
def test_adding_a_line_never_shortens_a_ticket(drawn):
    assert ticket_of(drawn).labour.mean_min >= ticket_of(drawn[:-1]).labour.mean_min - 1e-9 if drawn[:-1] else True


@given(PARTS)
def test_the_order_of_lines_does_not_change_the_total(drawn):
    assert ticket_of(drawn[::-1]).labour.mean_min == pytest.approx(ticket_of(drawn).labour.mean_min)


@pytest.mark.parametrize("name", jobs())
def test_the_ten_jobs_take_less_than_their_parts_one_by_one(name):
    from builds.estimator.estimate import estimate

    found = estimate(job(name)).labour
    assert 0 < found.mean_min < found.plain_sum_min
    assert found.p50_min < found.p80_min
