"""Outlines that cross or crowd one another, found by a grid, against every pair tried one by one."""

import numpy as np
import pytest

from builds.estimator.spacing import close_lines, gaps_between, outlines_of


def circle(line, x, y, diameter, surface=0, is_new=True):
    return (surface, line, is_new, x, y, 0.0, 0.0, diameter / 2, min(25.0, diameter))


def box(line, x, y, wide, high, corner=0.0, surface=0, is_new=True):
    return (surface, line, is_new, x, y, wide / 2 - corner, high / 2 - corner, corner, min(25.0, max(wide, high)))


def gap(one, other):
    return float(gaps_between(outlines_of([one, other]), np.array([0]), np.array([1]))[0])


def test_the_gap_of_two_circles_is_the_distance_less_both_radii():
    assert gap(circle(0, 0, 0, 10), circle(1, 30, 40, 20)) == pytest.approx(50 - 15)


def test_a_hole_on_a_hole_crosses_by_its_whole_width():
    assert gap(circle(0, 7, 7, 10), circle(1, 7, 7, 10)) == pytest.approx(-10)


def test_the_gap_of_two_boxes_is_along_the_axis_that_parts_them_or_from_corner_to_corner():
    assert gap(box(0, 0, 0, 40, 20), box(1, 60, 5, 40, 20)) == pytest.approx(20)
    assert gap(box(0, 0, 0, 40, 20), box(1, 43, 24, 40, 20)) == pytest.approx(5)  # 3 along, 4 across
    assert gap(box(0, 0, 0, 40, 20), box(1, 5, 5, 40, 20)) < 0


def test_a_rounded_corner_leaves_more_room():
    square, near = box(0, 0, 0, 40, 40), circle(1, 24, 24, 4)
    rounded = box(0, 0, 0, 40, 40, corner=10)
    assert gap(rounded, near) == pytest.approx(14 * 2**0.5 - 10 - 2)
    assert gap(rounded, near) > gap(square, near)


def test_a_hole_inside_a_hatch_crosses_it():
    assert gap(box(0, 0, 0, 400, 250, 20), circle(1, 100, 50, 5)) < 0


def test_lines_on_different_surfaces_and_openings_of_one_line_are_not_judged():
    rows = [circle(0, 0, 0, 10), circle(0, 1, 0, 10), circle(1, 0, 0, 10, surface=1), circle(2, 0, 0, 10, surface=2)]
    assert close_lines(outlines_of(rows)) == []


def test_what_is_on_the_boat_already_is_judged_against_what_comes_and_not_among_itself():
    old = [circle(0, 0, 0, 10, is_new=False), circle(1, 5, 0, 10, is_new=False)]
    assert close_lines(outlines_of(old)) == []
    assert [(pair.first, pair.second) for pair in close_lines(outlines_of([*old, circle(2, 0, 8, 10)]))] == [
        (0, 2),
        (1, 2),
    ]


def test_the_gap_wanted_is_the_larger_diameter_counted_as_at_most_25_mm():
    # Common practice, no source.
    assert close_lines(outlines_of([circle(0, 0, 0, 5), circle(1, 17.5, 0, 10)])) == []  # 10 mm apart
    assert close_lines(outlines_of([circle(0, 0, 0, 5), circle(1, 17.4, 0, 10)]))[0].gap_mm == pytest.approx(9.9)
    assert close_lines(outlines_of([circle(0, 0, 0, 110), circle(1, 90, 0, 20)])) == []  # 25 mm apart
    assert len(close_lines(outlines_of([circle(0, 0, 0, 110), circle(1, 89, 0, 20)]))) == 1


def one_by_one(rows):
    found = {}
    of = outlines_of(rows)
    for i in range(len(rows)):
        for j in range(i + 1, len(rows)):
            (s_i, l_i, n_i, *_), (s_j, l_j, n_j, *_) = rows[i], rows[j]
            apart = float(gaps_between(of, np.array([i]), np.array([j]))[0])
            if s_i == s_j and l_i != l_j and (n_i or n_j) and apart < max(rows[i][8], rows[j][8]) * (1 - 1e-9):
                key = (min(l_i, l_j), max(l_i, l_j))
                found[key] = min(apart, found.get(key, apart))
    return found


@pytest.mark.parametrize("seed", range(8))
def test_the_grid_finds_the_same_pairs_as_trying_every_pair(seed):
    random = np.random.default_rng(seed)
    rows = []
    for _ in range(160):
        line, surface, is_new = int(random.integers(40)), int(random.integers(4)), bool(random.random() < 0.8)
        x, y = random.uniform(-300, 1500), random.uniform(-400, 400)
        if random.random() < 0.6:
            rows.append(circle(line, x, y, float(random.choice([4.9, 5.2, 10, 25, 54, 110])), surface, is_new))
        else:
            wide, high = random.uniform(5, 300, 2)
            rows.append(box(line, x, y, wide, high, min(wide, high) * random.uniform(0, 0.5), surface, is_new))
    found = {(pair.first, pair.second): pair.gap_mm for pair in close_lines(outlines_of(rows))}
    wanted = one_by_one(rows)
    assert found.keys() == wanted.keys()
    assert wanted
    for key, least in wanted.items():
        assert found[key] == pytest.approx(least, abs=1e-9)


def test_no_openings_have_no_pairs():
    assert close_lines(outlines_of([])) == []
