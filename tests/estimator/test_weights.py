"""Weights and the maker's rating (method, section 1). The sums can be done by hand."""

import pytest

from tests.estimator.builders import estimated, part
from tests.estimator.electrics import HULL

STATIONS = [
    {"id": "x0", "name": "bow", "x_m": 0.0, "y_m": 0.0, "z_m": 0.2, "surface": "deck"},
    {"id": "seat", "name": "seat", "x_m": 2.0, "y_m": 0.0, "z_m": 0.2, "surface": "deck"},
    {"id": "side", "name": "side", "x_m": 2.0, "y_m": 0.3, "z_m": 0.3, "surface": "deck"},
]


def weighed(parts=None, lines=None, people=(), gear=(), **hull):
    document = {**HULL, "stations": STATIONS, "rated_load_kg": 100.0, **hull}
    return estimated(parts or {}, lines, hull=document, people=list(people), gear=list(gear))


def aboard(name, mass_kg, station=None):
    return {"name": name, "mass_kg": mass_kg, "station": station}


def code_of(found):
    return next(c for c in found.cautions if c.code.startswith("capacity"))


def test_displacement_is_hull_people_gear_and_parts_in_use():
    tank = part(0, 0, 0, mass_kg=2.0, mass_in_use_kg=22.0)
    found = weighed({"tank": tank}, {"tank": {"quantity": 2}}, [aboard("paddler", 80)], [aboard("kit", 10)]).weights
    assert found.added_dry_kg == pytest.approx(4.0)
    assert found.added_in_use_kg == pytest.approx(44.0)
    assert found.displacement_kg == pytest.approx(34 + 80 + 10 + 44)
    assert found.load_kg == pytest.approx(134.0)


def test_a_rating_that_includes_the_hull_counts_the_hull_in_the_load():
    found = weighed(people=[aboard("paddler", 66)], rating_includes_hull=True).weights
    assert found.load_kg == pytest.approx(100.0)
    assert found.capacity_used == pytest.approx(1.0)


def test_the_centre_of_gravity_is_the_mean_of_places_by_mass():
    # hull 34 kg at (2, 0, 0.4 x 0.36); paddler 66 kg at the seat, 0.25 m above it
    found = weighed(people=[aboard("paddler", 66, "seat")]).weights
    assert found.cog_m[0] == pytest.approx(2.0)
    assert found.cog_m[2] == pytest.approx((34 * 0.144 + 66 * 0.45) / 100)


def test_a_part_off_the_centreline_heels_by_its_moment():
    found = weighed({"box": part(0, 0, 0, mass_kg=10)}, {"box": {"station": "side"}}).weights
    assert found.moment_y_kg_m == pytest.approx(3.0)


def test_a_person_without_a_station_sits_a_quarter_metre_above_half_depth():
    found = weighed(people=[aboard("paddler", 34)]).weights
    assert found.cog_m[2] == pytest.approx((0.144 + 0.18 + 0.25) / 2)


@pytest.mark.parametrize(
    ("paddler_kg", "code", "severity", "strong"),
    [
        (70.0, None, None, None),
        (70.1, "capacity_high", "caution", False),
        (85.1, "capacity_high", "caution", True),
        (100.0, "capacity_high", "caution", True),
        (100.1, "capacity_exceeded", "stop", None),
    ],
)
def test_the_load_is_cautioned_above_70_percent_strongly_above_85_and_stopped_above_the_rating(
    paddler_kg, code, severity, strong
):
    found = weighed(people=[aboard("paddler", paddler_kg)])
    cautions = [c for c in found.cautions if c.code.startswith("capacity")]
    if code is None:
        assert cautions == []
        return
    assert [(c.code, c.severity) for c in cautions] == [(code, severity)]
    assert cautions[0].figures.get("strong") == strong


def test_what_to_take_off_brings_the_load_under_the_limit():
    found = code_of(weighed(people=[aboard("paddler", 104)]))
    off_kg = found.mends[0]["mass_kg"]
    assert off_kg == pytest.approx(4.0)
    after = weighed(people=[aboard("paddler", 104 - off_kg)])
    assert code_of(after).code != "capacity_exceeded"


def test_without_a_rating_nothing_is_guessed():
    found = weighed(people=[aboard("paddler", 300)], rated_load_kg=None)
    assert found.weights.capacity_used is None
    assert (code_of(found).code, code_of(found).severity) == ("capacity_unknown", "caution")
