"""Stations on the plan can be pressed on the screen; paper stays as it is."""

import math
import re
from dataclasses import replace

from builds.drawings.boat import Boat, Form, Station
from builds.drawings.hull import hull

FORM = Form(length_m=3.7, beam_m=0.84, depth_m=0.36, waterplane_exponent=2.6, section_exponent=4.0)
BOAT = Boat(
    form=FORM,
    stations=(
        Station(id="seat", name="Seat", x_m=1.95, y_m=0.0, z_m=0.22),
        Station(id="console", name="Console", x_m=1.2, y_m=0.0, z_m=0.3),
        Station(id="side_deck_port", name="Side deck port", x_m=1.6, y_m=-0.3, z_m=0.3),
        Station(id="side_deck_starboard", name="Side deck starboard", x_m=1.6, y_m=0.3, z_m=0.3),
    ),
)
PRESSED = replace(BOAT, station_link="?where={key}#add")


def test_every_station_leads_to_its_place_from_bow_to_stern():
    svg = hull(PRESSED, "h").svg
    found = re.findall(r'<a href="([^"]+)"[^>]*data-station="([^"]+)" data-name="([^"]+)"', svg)
    assert [key for _, key, _ in found] == ["console", "side_deck_port", "side_deck_starboard", "seat"]
    assert found[0] == ("?where=console#add", "console", "Console")


def test_fields_do_not_overlap_and_are_as_large_as_a_finger_where_there_is_room():
    """WCAG 2.2, criterion 2.5.8: a target of 24 by 24 CSS pixels; the drawing is shown at its width in pixels."""
    svg = hull(PRESSED, "h").svg
    fields = [
        tuple(map(float, one)) for one in re.findall(r'class="d-press" cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)"', svg)
    ]
    assert len(fields) == 4
    assert all(radius * 2 >= 24 for _, _, radius in fields)
    for place, (x, y, radius) in enumerate(fields):
        for other_x, other_y, other in fields[place + 1 :]:
            assert math.hypot(x - other_x, y - other_y) >= radius + other - 0.1


def test_a_drawing_with_links_is_a_group_and_one_without_is_a_picture():
    assert 'role="group"' in hull(PRESSED, "h").svg
    assert 'role="img"' in hull(BOAT, "h").svg


def test_without_an_address_the_drawing_is_the_same_as_ever():
    assert "<a " not in hull(BOAT, "h").svg
    bare = re.sub(r"<a .*?</a>", "", hull(PRESSED, "h").svg).replace('role="group"', 'role="img"')
    assert bare == hull(BOAT, "h").svg
