"""Wild figures, and how often a promise held."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, median_abs_deviation

from builds.learning.calibration import held, wilson
from builds.learning.robust import is_wild, median_deviation

# --- wild figures


def test_a_misplaced_decimal_is_found_as_in_the_textbook():
    """Rousseeuw and Hubert, Robust statistics for outlier detection (2011), section 2: 6.25, 6.27, 6.28, 6.34 and 63.1
    instead of 6.31: spread 0.044, the last 1277.5 spreads away, the others 0.67, 0.22, 0 and 1.35. From memory.
    """
    values = [6.34, 6.25, 6.27, 6.28, 63.1]
    spread = median_deviation(values)
    assert spread == pytest.approx(0.044, abs=5e-4)
    scores = sorted(abs(value - 6.28) / spread for value in values)
    assert scores == pytest.approx([0, 0.22, 0.67, 1.35, 1277.5], abs=0.05)
    assert [value for value in values if is_wild(value - 6.28, spread)] == [63.1]


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30))
def test_the_spread_is_that_of_an_independent_computation(values):
    """scipy.stats.median_abs_deviation, scaled for normal figures (1 / 0.67449)."""
    assert median_deviation(values) == pytest.approx(median_abs_deviation(values, scale="normal"), rel=1e-4, abs=1e-9)


def test_one_figure_in_six_left_running_does_not_move_the_spread_much():
    clean = list(np.random.default_rng(7).normal(0, 0.3, 300))
    wild = clean[:250] + [value + 2.5 for value in clean[250:]]
    assert median_deviation(wild) < 1.5 * median_deviation(clean)
    assert np.std(wild) > 3 * np.std(clean)


# --- how often a promise held


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_intervals_agree_with_the_published_ones(k, n, low, high):
    """Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17 (1998), table I,
    method 3 (Wilson score, no continuity correction), 95 %. From memory; scipy agrees below.
    """
    assert wilson(k, n) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(0, 400), st.integers(1, 400), st.floats(0.5, 0.999))
def test_intervals_agree_with_an_independent_computation(k, n, confidence):
    """scipy.stats.binomtest(...).proportion_ci(method="wilson")."""
    k = min(k, n)
    independent = binomtest(k, n).proportion_ci(confidence, method="wilson")
    assert wilson(k, n, confidence) == pytest.approx((independent.low, independent.high), abs=1e-9)


def test_a_count_is_not_more_than_the_times():
    with pytest.raises(ValueError, match="from 0"):
        wilson(5, 4)


def test_what_held_is_counted():
    found = held([(60, 55), (60, 60), (60, 61), (90, 200)], 0.8)
    assert (found.k, found.n, found.share) == (2, 4, 0.5)
    assert found.agrees  # four tickets prove little: 0.15 to 0.85
    assert not held([(60, 90)] * 20, 0.8).agrees
    assert held([], 0.8).share is None
