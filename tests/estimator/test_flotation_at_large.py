"""Thousands of random boats: no exception, no figure that is no number, every balance within the stated tolerance."""

import math
import os

import numpy as np
import pytest

from builds.estimator import mends
from builds.estimator.estimate import document, estimate
from builds.estimator.flotation import density
from builds.estimator.hullform import Forms
from tests.estimator.random_boats import random_boat

SHEETS = int(os.environ.get("HULLBENCH_RANDOM_SHEETS", "2000"))
PARTS = 8
"""The sheets are run in this many tests, so that several processes can share them."""


def numbers(value, path=""):
    """Every number of a document with its path."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers(item, f"{path}.{key}")
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from numbers(item, f"{path}[{i}]")
    elif isinstance(value, float):
        yield path, value


def left_over(found):
    """What is left of the two equations at the estimate's waterline: of W as a share, and of the lever [m]."""
    hull, floats = found.sheet.hull, found.flotation
    exponents = (np.array([floats.waterplane_exponent]), np.array([floats.section_exponent]))
    forms = Forms(hull.length_m, hull.beam_m, hull.depth_m, *exponents)
    at = forms.hydrostatics(np.array([floats.draft_mid_mm / 1000]), np.array([floats.tan_trim]))
    x_g, _, z_g = found.weights.cog_m
    lever = float(at.centre_x_m[0]) - x_g + (float(at.centre_z_m[0]) - z_g) * floats.tan_trim
    return density(found.sheet) * float(at.volume_m3[0]) / found.weights.displacement_kg - 1, lever


@pytest.mark.parametrize("part", range(PARTS))
def test_random_boats_give_numbers_and_float_in_balance(part, monkeypatch):
    # Few mends are tried, to save time; they have tests of their own.
    monkeypatch.setattr(mends, "LINES_TRIED", 60)
    floated = 0
    for seed in range(part, SHEETS, PARTS):
        found = estimate(random_boat(seed))
        unknown = [path for path, number in numbers(document(found, workings=False)) if not math.isfinite(number)]
        assert not unknown, (seed, unknown)
        floats = found.flotation
        # With its weight right at an end a deep, short hull may balance laden, steeply, and not at all when light.
        x_g, half_m = found.weights.cog_m[0], found.sheet.hull.length_m / 2
        if floats.greatest_load_kg > 0 and abs(x_g / half_m - 1) < 0.7:
            assert floats.fits == (found.weights.load_kg <= floats.greatest_load_kg * (1 + 1e-6)), seed
        assert floats.fits == ("does_not_fit" not in {caution.code for caution in found.cautions})
        if floats.fits:
            floated += 1
            volume, lever_m = left_over(found)
            assert abs(volume) < 1e-6, seed
            assert abs(lever_m) < 1e-6, seed
            gunwale_mm = 1000 * found.sheet.hull.depth_m * (1 + 1e-6)
            assert max(floats.draft_bow_mm, floats.draft_stern_mm) <= gunwale_mm, seed
    assert floated > SHEETS / PARTS / 4
