"""The section at a floor: the hull family's own outline, the water heeled and banded, the floor at its height."""

from math import radians, tan

import pytest

from builds.drawings.boat import Boat, Level, Station, Water
from builds.drawings.section import floor_sentence, section
from tests.drawings.builders import form, water
from tests.drawings.reading import area_of, points_of, read

WELL = Station(id="tank_well", name="Tank well floor", x_m=1.85, y_m=0, z_m=0.18, well_half_width_m=0.2)


def outline(boat):
    picture = read(section(boat, WELL, "s").svg)
    (points,) = points_of(picture.all("path", "d-out")[0].get("d"))
    return picture, points


def test_the_section_amidships_has_the_area_of_its_closed_form():
    """B (D - D/(p + 1)): the half-breadth integrated over the depth, twice; amidships f(x) is 1."""
    _, points = outline(Boat(form=form()))
    scale = (max(x for x, _ in points) - min(x for x, _ in points)) / 0.84
    assert area_of(points) / scale**2 == pytest.approx(0.84 * 0.36 * (1 - 1 / 5), rel=0.005)


def test_heeled_to_starboard_the_water_stands_higher_at_starboard():
    boat = Boat(form=form(), water=water(0.15, 0.0, heel_deg=3.0))
    picture, points = outline(boat)
    ((port, starboard),) = points_of(picture.all("path", "d-water")[0].get("d"))
    assert (port[1] - starboard[1]) / (starboard[0] - port[0]) == pytest.approx(tan(radians(3.0)), rel=0.01)
    assert starboard[0] > port[0] and points


def test_the_floor_is_measured_at_its_lower_edge():
    """180 mm floor, 150 mm water, 200 mm to the edge at 3 degrees: 180 - 150 - 200 tan 3 = 19.5."""
    boat = Boat(form=form(), water=Water(level=Level(0.15, 0.15), heel_deg=3.0))
    assert floor_sentence(boat, WELL) == "floor 20\u202fmm above water"
    upright = Boat(form=form(), water=Water(level=Level(0.15, 0.15)))
    assert floor_sentence(upright, WELL) == "floor 30\u202fmm above water"


def test_a_floor_under_water_is_said_to_be_below():
    awash = Boat(form=form(), water=Water(level=Level(0.2, 0.2)))
    assert floor_sentence(awash, WELL) == "floor 20\u202fmm below water"


def test_the_band_stands_beside_the_figure_lowest_first():
    boat = Boat(form=form(), water=water(0.15, 0.0))
    assert floor_sentence(boat, WELL) == "floor 30\u202fmm above water; could be 10\u202fmm to 50\u202fmm"


def test_without_flotation_the_section_has_no_water():
    picture, _ = outline(Boat(form=form(), note="no waterline: this load does not float"))
    assert not picture.all("path", "d-water") and not picture.all("path", "d-tint")
    assert "no waterline: this load does not float" in [text for text, _ in picture.texts]


def test_lettering_stays_inside_the_section():
    picture, _ = outline(Boat(form=form(), water=water(0.15, 0.05)))
    for _, box in picture.texts:
        assert box.left >= 0 and box.right <= picture.width and box.bottom <= picture.height
