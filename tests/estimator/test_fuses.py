"""Fuses against published examples, a motor maker's table and the colours of ISO 8820-3."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.estimator.fuses import colours, fuse_colour, least_fuse_a, needed_fuse_a, ratings_a
from tests.estimator.electrics import reference_rows

# Colours of regular blades, ISO 8820-3, as listed in two public code files; the rating in amperes.
REGULAR = {
    1: "black",
    2: "grey",
    3: "violet",
    4: "pink",
    5: "tan",
    7.5: "brown",
    10: "red",
    15: "blue",
    20: "yellow",
    25: "natural (clear or white)",
    30: "green",
    35: "blue-green",
    40: "orange",
}


def test_the_ratings_are_those_of_blades_and_then_the_larger_ones():
    """ISO 8820-3 up to 40 A; 50 to 150 A from memory."""
    assert ratings_a() == (*REGULAR, 50, 60, 70, 80, 100, 125, 150)


@pytest.mark.parametrize(("rating_a", "colour"), REGULAR.items())
def test_a_blade_has_the_colour_of_its_rating(rating_a, colour):
    assert fuse_colour(rating_a) == colour


def test_a_regular_blade_gives_the_colour_where_a_larger_family_has_the_rating_too():
    assert fuse_colour(30) == "green"
    assert fuse_colour(60) == "blue"


def test_a_rating_whose_colour_the_sources_dispute_has_none():
    """100 A is violet from memory and clear in the one source seen; above it there are no blades."""
    assert 100.0 not in colours()
    assert [fuse_colour(rating) for rating in (100.0, 125.0, 150.0, None)] == [None] * 4


@pytest.mark.parametrize("row", reference_rows("fuse_sizing_examples"), ids=lambda row: row["id"])
def test_published_examples_of_the_125_percent_practice(row):
    """`fuse_sizing_examples.csv`: 10 A -> 15 A, 16 A -> 20 A; 80 A -> from 100 A to 150 A, 125 A chosen there."""
    needed_a = needed_fuse_a(float(row["factor_pct"]) / 100, float(row["load_A"]), float(row["load_A"]))
    assert needed_a == pytest.approx(float(row["minimum_fuse_A"]))
    fuse_a = least_fuse_a(needed_a)
    if row["maximum_fuse_A"]:
        assert float(row["minimum_fuse_A"]) <= fuse_a <= float(row["maximum_fuse_A"])
    else:
        assert fuse_a == float(row["chosen_fuse_A"])


@pytest.mark.parametrize(("motor_a", "breaker_a"), [(42, 50), (50, 60)])
def test_motors_at_110_percent_take_the_breakers_of_a_motor_makers_table(motor_a, breaker_a):
    """A motor maker's conductor and breaker table, as a dealer reproduces it: 42 A -> 50 A, 50 A -> 60 A."""
    assert least_fuse_a(needed_fuse_a(1.10, motor_a, motor_a)) == breaker_a


def test_a_peak_above_125_percent_decides_the_fuse():
    """12 A with a peak of 25 A: 125 % is 15 A, the peak calls for 25 A."""
    assert least_fuse_a(needed_fuse_a(1.25, 12, 25)) == 25


def test_a_need_that_is_a_standard_rating_takes_it():
    """1.25 * 16 A is 20 A: rounding of the product must not push it to 25 A."""
    assert least_fuse_a(1.25 * 16) == 20
    assert least_fuse_a(20 * (1 + 1e-12)) == 20


def test_a_main_fuse_is_larger_than_the_largest_branch():
    assert least_fuse_a(4.0, above_a=5.0) == 7.5
    assert least_fuse_a(4.0, above_a=4.0) == 5


def test_no_rating_is_large_enough_above_150_amperes():
    assert least_fuse_a(150) == 150
    assert least_fuse_a(150.1) is None
    assert least_fuse_a(10, above_a=150) is None


@given(st.floats(0, 150), st.floats(0, 149))
def test_the_fuse_is_the_smallest_that_will_do(needed_a, above_a):
    fuse_a = least_fuse_a(needed_a, above_a)
    assert fuse_a >= needed_a * (1 - 1e-9)
    assert fuse_a > above_a
    smaller = [rating for rating in ratings_a() if rating < fuse_a]
    assert not any(rating >= needed_a and rating > above_a for rating in smaller)
