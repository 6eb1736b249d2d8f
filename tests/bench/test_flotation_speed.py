"""How long floating a hull takes, in time of the processor. `-s` shows the figures of a run.

Budget of the house: the band (three forms) and six placements well under 5 ms. Measured when this was written: 0.7 ms
for nine cases in one batch, 1.2 ms for band, greatest load and figures.
"""

import numpy as np

from builds.estimator.equilibrium import float_cases
from builds.estimator.fitted import fit_lines
from builds.estimator.flotation import float_hull
from builds.estimator.hullform import Forms
from builds.estimator.openings import schedule_of
from builds.estimator.placement import place_batteries
from builds.estimator.runs import route_loads
from builds.estimator.spacing import close_lines, outlines_of
from builds.estimator.weights import weigh
from tests.bench.test_estimate_speed import best_ms
from tests.estimator.builders import job

BUDGET_MS = 5.0


def test_three_forms_and_six_places_float_in_one_batch_within_the_budget():
    n, p = np.array([2.21, 2.6, 2.99] + 6 * [2.6]), np.array([2.8, 4.0, 5.6] + 6 * [4.0])
    x_m = np.concatenate([np.full(3, 1.95), np.linspace(1.6, 2.2, 6)])

    def work():
        found = float_cases(Forms(3.7, 0.84, 0.36, n, p), np.full(9, 0.16), x_m, np.full(9, 0.31))
        assert found.fits.all()

    took_ms = best_ms(work, 20)
    print(f"nine cases: {took_ms:.2f} ms")
    assert took_ms <= BUDGET_MS


def test_a_job_floats_with_band_greatest_load_and_placements_within_the_budget():
    sheet = job("bow_motor_and_screen")
    fitted = fit_lines(sheet)
    routes, weighed = route_loads(sheet, fitted), weigh(sheet, fitted)
    floating = float_hull(sheet, weighed)
    took_ms = best_ms(lambda: float_hull(sheet, weighed), 20)
    placed_ms = best_ms(lambda: place_batteries(sheet, fitted, routes, weighed, floating), 20)
    listed_ms = best_ms(lambda: schedule_of(sheet, fitted, floating), 20)
    print(f"flotation {took_ms:.2f} ms, placement {placed_ms:.2f} ms, schedule {listed_ms:.2f} ms")
    assert took_ms + placed_ms <= BUDGET_MS


def test_ten_times_the_openings_take_about_ten_times_as_long():
    # The boat is as crowded either way: a longer boat, not more holes in one place.
    def spaced_ms(count):
        random = np.random.default_rng(3)
        places = zip(random.uniform(0, 10.0 * count, count), random.uniform(-300, 300, count), strict=True)
        of = outlines_of([(0, i, True, x, y, 0.0, 0.0, 2.5, 5.0) for i, (x, y) in enumerate(places)])
        return best_ms(lambda: close_lines(of), 3)

    few, many = spaced_ms(2_000), spaced_ms(20_000)
    print(f"2,000 openings {few:.1f} ms, 20,000 openings {many:.1f} ms")
    assert many < 40 * max(few, 1.0)  # in proportion: 10; with the square: 100
