"""Draft and trim against an independent solver on independent integrals, and against what floating bodies do."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import root

from builds.estimator.equilibrium import as_cases, between_brackets, even_level, float_cases, greatest_share
from builds.estimator.hullform import Forms

HALF_NODES, HALF_WEIGHTS = np.polynomial.legendre.leggauss(120)
UP_NODES, UP_WEIGHTS = np.polynomial.legendre.leggauss(48)


def one_form(length_m=3.7, beam_m=0.84, depth_m=0.36, n=2.6, p=4.0):
    return Forms(length_m, beam_m, depth_m, np.array([float(n)]), np.array([float(p)]))


def floats(form, volume_m3, x_m, z_m):
    return float_cases(form, *(np.array([float(figure)]) for figure in (volume_m3, x_m, z_m)))


def greatest_m3(form, x_m, z_m):
    case = as_cases(form, np.ones(1), np.array([float(x_m)]), np.array([float(z_m)]))
    return greatest_share(form, float(case.s_g[0]), float(case.u_g[0]), case.stiffness) * form.block_m3


def integrated(form, draft_m, tan_trim):
    """Volume and centre by Gauss-Legendre in x and z on the half-breadth itself: no closed form, no strips."""
    length, depth, n, p = form.length_m, form.depth_m, form.n[0], form.p[0]
    s = np.concatenate([(HALF_NODES - 1) / 2, (HALF_NODES + 1) / 2])
    dx = np.concatenate([HALF_WEIGHTS, HALF_WEIGHTS]) / 2 * length / 2
    x = (s + 1) * length / 2
    top = np.clip(draft_m + (x - length / 2) * tan_trim, 0, depth)
    # z = top t^2 puts the points close where the section is blunt.
    t = (UP_NODES + 1) / 2
    z = top[:, None] * t**2
    dz = top[:, None] * UP_WEIGHTS * t
    breadth = form.beam_m * (1 - np.abs(s) ** n)[:, None] * (1 - (1 - z / depth) ** p)
    volume = ((breadth * dz).sum(axis=1) * dx).sum()
    centre_x = ((breadth * dz).sum(axis=1) * x * dx).sum() / volume
    centre_z = ((breadth * z * dz).sum(axis=1) * dx).sum() / volume
    return volume, centre_x, centre_z


def solved_elsewhere(form, volume_m3, x_m, z_m):
    """T and tan(theta) by scipy's hybrid method on the integrals above."""

    def off(unknown):
        volume, centre_x, centre_z = integrated(form, unknown[0] * form.depth_m, unknown[1])
        return [volume / volume_m3 - 1, (centre_x - x_m) + (centre_z - z_m) * unknown[1]]

    found = root(off, [0.4, 0.0], tol=1e-11)
    assert found.success
    return found.x[0] * form.depth_m, found.x[1]


def test_two_hundred_random_hulls_float_where_an_independent_solver_finds_them():
    random = np.random.default_rng(20260301)
    for _ in range(200):
        form = one_form(
            random.uniform(2.5, 6),
            random.uniform(0.45, 1.0),
            random.uniform(0.28, 0.45),
            random.uniform(1.6, 5),
            random.uniform(1.5, 8),
        )
        x_m, z_m = form.length_m * random.uniform(0.45, 0.55), form.depth_m * random.uniform(0.3, 1.1)
        volume_m3 = greatest_m3(form, x_m, z_m) * random.uniform(0.15, 0.8)
        at = floats(form, volume_m3, x_m, z_m)
        draft_m, tan_trim = solved_elsewhere(form, volume_m3, x_m, z_m)
        assert at.fits[0]
        assert at.draft_mid_m[0] == pytest.approx(draft_m, abs=1e-4)
        assert at.tan_trim[0] * form.length_m == pytest.approx(tan_trim * form.length_m, abs=3e-4)


# Any boat of the trade: full and fine, shallow and deep, weight low or up to a standing paddler's.
HULLS = st.builds(
    one_form,
    st.floats(2.4, 6.5),
    st.floats(0.4, 1.2),
    st.floats(0.2, 0.5),
    st.floats(1, 12),
    st.floats(1, 40),
)
PLACES = st.floats(0.35, 0.65)
HEIGHTS = st.floats(0, 1.5)
SHARES = st.floats(0.001, 0.999)


@given(HULLS, PLACES, HEIGHTS, SHARES)
def test_every_load_up_to_the_greatest_floats_and_both_equations_hold(form, place, height, share):
    x_m, z_m = place * form.length_m, height * form.depth_m
    at = floats(form, share * greatest_m3(form, x_m, z_m), x_m, z_m)
    assert at.fits[0]
    assert abs(at.volume_error[0]) < 1e-6
    assert abs(at.arm_error_m[0]) < 1e-6
    half_m = form.length_m / 2
    assert at.draft_mid_m[0] + half_m * abs(at.tan_trim[0]) <= form.depth_m * (1 + 1e-9)


@given(HULLS, PLACES, HEIGHTS, st.floats(1.0001, 3))
def test_no_load_above_the_greatest_floats(form, place, height, share):
    x_m, z_m = place * form.length_m, height * form.depth_m
    assert not floats(form, share * greatest_m3(form, x_m, z_m), x_m, z_m).fits[0]


@given(HULLS, PLACES, HEIGHTS, SHARES, SHARES)
def test_more_load_at_the_same_place_never_floats_higher(form, place, height, some, more):
    x_m, z_m = place * form.length_m, height * form.depth_m
    some, more = sorted((some, more))
    assume(some < more)
    greatest = greatest_m3(form, x_m, z_m)
    light, heavy = (floats(form, share * greatest, x_m, z_m) for share in (some, more))
    # What lies deeper is the deepest point of the waterline and, for a trim below the ends' lift, the middle too.
    half_m = form.length_m / 2
    deepest = [at.draft_mid_m[0] + half_m * abs(at.tan_trim[0]) for at in (light, heavy)]
    assert deepest[0] <= deepest[1] + 1e-9


@given(HULLS, st.tuples(PLACES, PLACES), HEIGHTS, st.floats(0.01, 0.7))
def test_weight_further_aft_never_trims_by_the_bow(form, places, height, share):
    fore, aft = sorted(place * form.length_m for place in places)
    z_m = height * form.depth_m
    volume_m3 = share * min(greatest_m3(form, x_m, z_m) for x_m in (fore, aft))
    trims = [floats(form, volume_m3, x_m, z_m).tan_trim[0] for x_m in (fore, aft)]
    assert trims[0] <= trims[1] + 1e-9


@given(HULLS, PLACES, HEIGHTS, SHARES)
def test_a_hull_turned_end_for_end_floats_the_same(form, place, height, share):
    x_m, z_m = place * form.length_m, height * form.depth_m
    volume_m3 = share * greatest_m3(form, x_m, z_m)
    one, other = floats(form, volume_m3, x_m, z_m), floats(form, volume_m3, form.length_m - x_m, z_m)
    assert one.draft_mid_m[0] == pytest.approx(other.draft_mid_m[0], abs=1e-9)
    assert one.tan_trim[0] == pytest.approx(-other.tan_trim[0], abs=1e-9)


@given(HULLS, PLACES, HEIGHTS, st.floats(0.01, 0.99))
def test_the_search_between_brackets_ends_where_newton_does(form, place, height, share):
    x_m, z_m = place * form.length_m, height * form.depth_m
    x_m = max(x_m, form.length_m - x_m)
    volume = np.array([share * greatest_m3(form, x_m, z_m)])
    found = between_brackets(form, as_cases(form, volume, np.array([x_m]), np.array([z_m])))
    at = float_cases(form, volume, np.array([x_m]), np.array([z_m]))
    assert found is not None
    assert found[0] * form.depth_m == pytest.approx(at.draft_mid_m[0], abs=1e-8)
    assert found[1] * 2 * form.depth_m / form.length_m == pytest.approx(at.tan_trim[0], abs=1e-8)


def test_several_cases_at_once_float_as_each_does_alone():
    n, p = np.array([2.21, 2.6, 2.99, 2.6]), np.array([2.8, 4.0, 5.6, 4.0])
    volume, x_m, z_m = np.array([0.16, 0.16, 0.16, 0.9]), np.array([1.95, 1.95, 1.95, 1.9]), np.full(4, 0.31)
    together = float_cases(Forms(3.7, 0.84, 0.36, n, p), volume, x_m, z_m)
    assert list(together.fits) == [True, True, True, False]
    for i in range(3):
        alone = floats(one_form(n=n[i], p=p[i]), volume[i], x_m[i], z_m[i])
        assert together.draft_mid_m[i] == pytest.approx(alone.draft_mid_m[0], abs=1e-12)
        assert together.tan_trim[i] == pytest.approx(alone.tan_trim[0], abs=1e-12)


def test_a_box_trims_by_its_moment_over_its_longitudinal_stability():
    # Handbook: tan(theta) = lever / GM_L for a small lever, BM_L = L^2 / (12 T) of a box, KB = T / 2.
    length_m, depth_m, draft_m, z_m, lever_m = 4.0, 0.4, 0.16, 0.3, 0.01
    box = one_form(length_m, 0.8, depth_m, 1e6, 1e6)
    at = floats(box, length_m * 0.8 * draft_m, length_m / 2 + lever_m, z_m)
    stability_m = draft_m / 2 + length_m**2 / (12 * draft_m) - z_m
    assert at.draft_mid_m[0] == pytest.approx(draft_m, rel=1e-3)
    assert at.tan_trim[0] == pytest.approx(lever_m / stability_m, rel=1e-3)


def test_a_box_with_its_weight_far_aft_lifts_its_bow_out_of_the_water():
    # A wedge of water under the stern: its centre lies a third of its length from the transom.
    box = one_form(4.0, 0.8, 0.4, 1e6, 1e6)
    at = floats(box, 0.05, 3.2, 0.0)
    wet_m = 2.0 + at.draft_mid_m[0] / at.tan_trim[0]
    assert wet_m == pytest.approx(3 * 0.8, rel=0.02)  # a little less: the wedge's centre is a little above the keel
    assert at.draft_mid_m[0] - 2.0 * at.tan_trim[0] < 0


def test_a_weight_beyond_the_end_of_the_boat_does_not_float_level_or_at_all():
    assert not floats(one_form(), 0.1, 3.9, 0.3).fits[0]
    assert greatest_m3(one_form(), 3.9, 0.5) == 0.0


def test_a_film_of_water_carries_a_feather_on_a_flat_and_on_a_sharp_bottom():
    for p in (1, 2, 1e6):
        form = one_form(p=p)
        at = floats(form, 1e-7, 1.851, 0.1)
        assert at.fits[0]
        assert abs(at.volume_error[0]) < 1e-6
        assert abs(at.arm_error_m[0]) < 1e-6


def test_a_load_that_fills_the_hull_to_the_brim_stops_at_the_gunwale():
    """Rounding at the brim may point a hair above it, where the section has no area: many forms are tried."""
    n, p = (axis.ravel() for axis in np.meshgrid(np.linspace(1, 4, 3000), [2, 4.2, 60, 1e6]))
    forms = Forms(3.7, 0.84, 0.36, n, p)
    for share in (1.0, 1.0 + 1e-12, 5.0):
        levels = even_level(forms, forms.full_share() * share)
        assert np.all((levels <= 1) & (levels > 0.999))
