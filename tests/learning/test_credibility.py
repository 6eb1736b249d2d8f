"""Credibility: Z = n / (n + k), k from the variances, held to published worked cases and to a mixed model."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from builds.learning.credibility import Figure, buhlmann_straub, credibility_of
from builds.learning.used import used
from tests.estimator.electrics import reference_rows


def figures(rows):
    return {group: [Figure(*row) for row in one] for group, one in rows.items()}


# --- published worked cases


def test_claims_of_five_states_agree_with_the_published_credibility():
    """Hachemeister, Credibility for regression models with application to trend, in Credibility: Theory and
    Applications (1975): average claims and their number, five states, twelve quarters. The results are those of the
    model of Bühlmann and Straub as printed by Dutang, Goulet and Pigeon, actuar: An R Package for Actuarial Science,
    J. Stat. Software 25(7) (2008), section on credibility. Data and results from memory; they prove one another.
    """
    rows = reference_rows("credibility_hachemeister")
    states = {
        state: [Figure(float(row["average_claim"]), float(row["claims"])) for row in rows if row["state"] == state]
        for state in "12345"
    }
    found = buhlmann_straub(states)
    assert found.within == pytest.approx(139_120_026, abs=0.5)
    assert found.between == pytest.approx(89_639, abs=0.5)
    assert found.collective == pytest.approx(1684, abs=0.5)
    published = {
        "1": (2061, 100_155, 0.9847, 2055),
        "2": (1511, 19_895, 0.9276, 1524),
        "3": (1806, 13_735, 0.8985, 1793),
        "4": (1353, 4_152, 0.7279, 1443),
        "5": (1600, 36_110, 0.9588, 1603),
    }
    for state, (own, weight, credibility, believed) in published.items():
        group = found.groups[state]
        assert (group.own, group.believed) == pytest.approx((own, believed), abs=0.5)
        assert group.weight == weight
        assert group.credibility == pytest.approx(credibility, abs=5e-5)


def test_two_groups_of_policyholders_agree_with_the_textbook():
    """Klugman, Panjer and Willmot, Loss Models (2nd ed. 2004), section 16.5.1, the example of two group policyholders
    with claims a member: v = 17 837.87, a = 380.76, k = 46.85, Z = 0.70 and 0.87, mean 191.74. From memory. The book
    rounds claims a member to the cent before it squares, hence a tolerance of 1 in 1000.
    """
    found = buhlmann_straub(
        figures(
            {
                "one": [(10_000 / 50, 50), (13_000 / 60, 60)],
                "two": [(18_000 / 100, 100), (21_000 / 110, 110), (17_000 / 105, 105)],
            }
        )
    )
    assert found.within == pytest.approx(17_837.87, rel=1e-3)
    assert found.between == pytest.approx(380.76, rel=1e-3)
    assert found.k == pytest.approx(46.85, rel=1e-3)
    assert [round(group.credibility, 2) for group in found.groups.values()] == [0.70, 0.87]
    assert found.collective == pytest.approx(191.74, abs=0.05)


def test_two_policyholders_of_equal_weight_agree_with_the_textbook():
    """Klugman, Panjer and Willmot, Loss Models (2nd ed. 2004), section 16.5.1, losses (3, 5, 7) and (6, 12, 9):
    v = 13/2, a = 35/6, k = 39/35, Z = 35/48. From memory; by hand: means 5 and 9, variances 4 and 9.
    """
    found = buhlmann_straub(figures({"one": [(3,), (5,), (7,)], "two": [(6,), (12,), (9,)]}))
    assert (found.within, found.between, found.k) == pytest.approx((13 / 2, 35 / 6, 39 / 35))
    assert found.groups["one"].credibility == pytest.approx(35 / 48)
    assert found.groups["one"].believed == pytest.approx(35 / 48 * 5 + 13 / 48 * 7)


def test_the_dice_agree_with_the_textbook():
    """Mahler and Dean, Credibility, chapter 8 of Foundations of Casualty Actuarial Science (4th ed. 2001), section on
    least squares: 60 % four-sided, 30 % six-sided, 10 % eight-sided dice: process variance 2.15, variance of the means
    0.45, K = 4.778, Z of one roll 0.173. From memory; the variance of an n-sided die is (n^2 - 1) / 12.
    """
    share, sides = np.array([0.6, 0.3, 0.1]), np.array([4, 6, 8])
    within = float(share @ ((sides**2 - 1) / 12))
    means = (sides + 1) / 2
    between = float(share @ means**2 - (share @ means) ** 2)
    assert (within, between) == pytest.approx((2.15, 0.45))
    assert credibility_of(1, within / between) == pytest.approx(0.173, abs=5e-4)


# --- independent computations


def likelihood_between(values, group, groups):
    """Variances of a balanced one-way layout by restricted likelihood over the whole covariance matrix (numpy)."""
    design = np.ones((len(values), 1))
    same = group[:, None] == group[None, :]

    def loss(logs):
        within, between = np.exp(logs)
        v = within * np.eye(len(values)) + between * same
        inverse = np.linalg.inv(v)
        middle = design.T @ inverse @ design
        mean = np.linalg.solve(middle, design.T @ inverse @ values)
        left = values - design @ mean
        return np.linalg.slogdet(v)[1] + np.linalg.slogdet(middle)[1] + left @ inverse @ left

    return np.exp(minimize(loss, np.log([1.0, 1.0]), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-11}).x)


def test_where_groups_are_alike_in_size_the_variances_are_those_of_a_mixed_model():
    """Restricted maximum likelihood (Patterson and Thompson, Biometrika 58, 1971) equals the method's moments there."""
    draw = np.random.default_rng(1971)
    group = np.repeat(np.arange(8), 6)
    values = draw.normal(0, 1.3, 8)[group] + draw.normal(0, 0.9, len(group))
    found = buhlmann_straub({i: [Figure(float(x)) for x in values[group == i]] for i in range(8)})
    within, between = likelihood_between(values, group, 8)
    assert (found.within, found.between) == pytest.approx((within, between), rel=1e-4)
    # Believed means are then the mixed model's predictions: C V^-1 (x - mean) + mean.
    v = within * np.eye(len(values)) + between * (group[:, None] == group[None, :])
    mean = values.mean()
    for i in range(8):
        predicted = mean + between * (group == i) @ np.linalg.solve(v, values - mean)
        assert found.groups[i].believed == pytest.approx(predicted, rel=1e-4)


# --- what holds always

GROUPS = st.dictionaries(
    st.integers(0, 9),
    st.lists(st.builds(Figure, st.floats(-5, 5), st.floats(0.1, 50)), min_size=1, max_size=8),
    min_size=1,
    max_size=8,
)


@given(GROUPS)
def test_what_is_believed_lies_between_the_groups_own_and_everyones(groups):
    found = buhlmann_straub(groups)
    for one in found.groups.values():
        assert 0 <= one.credibility <= 1
        low, high = sorted((one.own, found.collective))
        assert low - 1e-9 <= one.believed <= high + 1e-9


@given(st.floats(0, 1e6), st.floats(0, 1e6), st.floats(0.01, 1e6))
def test_more_figures_are_believed_more(n, more, k):
    assert credibility_of(n, k) <= credibility_of(n + more, k) <= 1


def test_groups_that_differ_only_by_chance_are_not_believed_apart():
    found = buhlmann_straub(figures({"a": [(1,), (3,)], "b": [(1,), (3,)], "c": [(3,), (1,)]}))
    assert math.isinf(found.k)
    assert {one.believed for one in found.groups.values()} == {2.0}


def test_a_figure_without_weight_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        buhlmann_straub(figures({"a": [(1, 0)]}))


# --- consumables


def test_what_is_used_up_is_weighed_by_what_was_estimated():
    """By hand: sealant 10 of 10 and 60 of 40 ml is (10 + 60) / 50 = 1.4 of its own, not the mean of 1.0 and 1.5."""
    found = used({"marine_sealant": [(10, 10), (40, 60)], "tie": [(20, 20), (8, 8)], "wire": [(0, 3)]})
    assert found.groups["marine_sealant"].own == pytest.approx(1.4)
    assert found.groups["tie"].own == 1.0
    assert 1.0 < found.groups["marine_sealant"].believed <= 1.4
    assert "wire" not in found.groups
