"""What every drawing keeps to: escaped, titled, no style, no stroke too thin to print, lettering of a known width."""

import re
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

import builds.drawings
from builds.drawings.bars import Bar, Row, bars
from builds.drawings.boat import Boat
from builds.drawings.bridge import Bridge, Step, bridge
from builds.drawings.day import Day, Spell, day
from builds.drawings.gauges import Share, load_gauge, time_gauge
from builds.drawings.hull import hull
from builds.drawings.pattern import Cut, Pattern, pattern_drawing
from builds.drawings.section import section
from builds.drawings.svg import STROKES, hatch_d, num
from builds.drawings.template import template
from builds.drawings.text import shorten, width, wrap
from builds.drawings.trend import Reading, trend
from builds.drawings.wiring import wiring
from tests.drawings.builders import form, item, loaded
from tests.drawings.reading import SVG, points_of, read
from tests.drawings.systems import light_rig

FONTS = Path(__file__).parents[2] / "shop" / "static" / "fonts"
# What the drawings write: words of the trade and figures.
LETTERING = "abcdefghijklmnopqrstuvwxyz ABCDEFGHIJKLMNOPQRSTUVWXYZ 0123456789 .,:;−–×%/()+ '"


def pictures():
    boat = loaded("sot_3_7_angler", 12)
    station = next(s for s in boat.stations if s.well_half_width_m)
    pattern = Pattern(name="panel", cuts=(Cut(diameter_mm=5.2, dx_mm=20), Cut(diameter_mm=5.2, dx_mm=-20)))
    yield hull(boat, "a", "quote", 700)
    yield section(boat, station, "a", printed=True)
    yield wiring(light_rig(), "a")
    yield template(pattern, "a")[0]
    yield pattern_drawing(pattern, "a", printed=True)
    yield day(Day(name="battery", spells=(Spell("day", 8, 0.4),), keep_back=0.2), "a", printed=True)
    yield load_gauge([Share("paddler", 91), Share("kit", 14)], 159, "a", printed=True)
    yield time_gauge(300, 360, "a", printed=True)
    yield bars([Row("estimated", (Bar(100, "estimate"), Bar(120, "lost")))], "a", "Minutes", printed=True)
    yield bridge(Bridge("estimated", 900, (Step("lost", -80),), "actual"), "a", "From one to the other", printed=True)
    yield trend([Reading("36", 38), Reading("37", 41)], "a", "Margin by week", printed=True)


@pytest.fixture(scope="module", params=range(11))
def picture(request):
    return list(pictures())[request.param]


def test_every_drawing_has_a_title_and_a_description_of_its_own(picture):
    root = read(picture.svg).root
    title, desc = root[0], root[1]
    assert (root.get("role"), title.tag, desc.tag) == ("img", f"{SVG}title", f"{SVG}desc")
    assert root.get("aria-labelledby") == title.get("id") and root.get("aria-describedby") == desc.get("id")
    assert title.get("id").startswith("a") and title.text and len(desc.text) > 20


def test_no_drawing_needs_a_style_attribute_or_a_script(picture):
    for element in read(picture.svg).root.iter():
        assert "style" not in element.attrib and element.tag not in (f"{SVG}style", f"{SVG}script")
        assert not any(name.startswith("on") for name in element.attrib)


def test_no_stroke_is_thinner_than_half_a_point_on_paper(picture):
    """0.7 units of a 700-unit drawing at 182 mm are 0.52 pt; a template's own unit is a millimetre."""
    unit_pt = 72 / 25.4 * (1.0 if "mm" in read(picture.svg).root.get("width", "") else 182 / 700)
    for element in read(picture.svg).root.iter():
        if pen := element.get("stroke-width"):
            assert float(pen) * unit_pt >= 0.5, element.attrib


def test_no_lettering_on_paper_is_smaller_than_8_8_points(picture):
    root = read(picture.svg).root
    unit_pt = 72 / 25.4 * (1.0 if "mm" in root.get("width", "") else 182 / 700)
    sizes = [float(root.get("font-size"))] + [
        float(e.get("font-size")) for e in root.iter(f"{SVG}text") if e.get("font-size")
    ]
    assert min(sizes) * unit_pt > 8.79


def test_no_number_has_more_than_two_decimals(picture):
    for element in read(picture.svg).root.iter():
        assert not re.search(r"\.\d{3}", element.get("d", ""))


def test_every_stroke_has_a_class_for_the_screen_and_ink_for_paper(picture):
    for element in read(picture.svg).root.iter():
        if element.tag in (f"{SVG}path", f"{SVG}circle", f"{SVG}rect", f"{SVG}ellipse") and element.get("class"):
            assert element.get("class").split()[0] in STROKES
            assert element.get("fill") in ("none", "#fff", "#000")
            assert element.get("stroke") in (None, "#000")


def test_what_a_person_typed_is_escaped():
    boat = Boat(form=form(), name='<b>"Minnow" & co</b>', items=(item(1, name="<script>", station='"x"'),))
    picture = read(hull(boat, '"><i', "screen").svg)
    assert '<b>"Minnow" & co</b>' in picture.root[0].text
    assert picture.root.get("aria-labelledby") == '"><i-title'


def test_numbers_are_rounded_to_a_hundredth():
    assert [num(value) for value in (1.0, 0.125, -0.001, 12.3, 100.456)] == ["1", "0.12", "0", "12.3", "100.46"]


def test_a_hatch_stays_inside_its_outline_and_fills_it():
    corners = [(10, 10), (60, 10), (60, 30), (10, 30)]
    strokes = points_of(hatch_d(corners, 5.0))
    assert len(strokes) == pytest.approx((50 + 20) / 5, abs=1)
    for (x1, y1), (x2, y2) in strokes:
        assert min(x1, x2) >= 10 and max(x1, x2) <= 60 and min(y1, y2) >= 10 and max(y1, y2) <= 30
        assert abs((y2 - y1) + (x2 - x1)) < 0.03


@pytest.mark.parametrize(("name", "bold"), [("B612-Regular.otf", False), ("B612-Bold.otf", True)])
def test_lettering_is_never_wider_than_reckoned(name, bold):
    """The advance widths of the packaged print font, read by a general font library."""
    font = TTFont(FONTS / name)
    glyphs, metrics, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for char in LETTERING:
        assert metrics[glyphs[ord(char)]][0] / em <= width(char, 1.0, bold) + 1e-9, char


def test_a_long_text_is_wrapped_at_spaces_or_ended_with_an_ellipsis():
    assert wrap("switch panel, flush", 12, 90) == ["switch panel,", "flush"]
    short = shorten("electric bilge pump, automatic", 12, 90)
    assert short.endswith("…") and width(short, 12) <= 90
    assert shorten("seat", 12, 90) == "seat"


def test_every_class_is_explained_to_whoever_writes_the_stylesheet():
    explained = set(re.findall(r"d-[a-z-]+[a-z]", builds.drawings.__doc__))
    used = {
        kind for picture in pictures() for e in read(picture.svg).root.iter() for kind in e.get("class", "").split()
    }
    assert set(STROKES) | (used - {"dwg"}) <= explained
