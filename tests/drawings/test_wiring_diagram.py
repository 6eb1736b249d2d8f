"""The wiring diagram shows every conductor with its gauge, drop and both end labels, and where each fuse sits."""

from dataclasses import replace
from itertools import combinations

import pytest

from builds.documents.pictures import PLAN_UNITS
from builds.drawings.circuits import Part, Source
from builds.drawings.wiring import LOAD_WIDE, PLUS_X, wiring, wiring_pages
from tests.drawings.reading import box_of_rect, points_of, read, segments, shrunk
from tests.drawings.systems import PANEL, circuit, leg, light_rig, motor_rig


def converter_rig():
    part = Part(line="L8", label="8", name="Converter 24 V to 12 V, 10 A", place="tank hatch")
    screen = circuit(
        "screen", leg(9, "9-10 in chartplotter/sonar display", 2.8), origin="L8", fuse_a=4.0, colour="pink"
    )
    feeding = circuit("converter", leg(8, part.name, 1.7), fuse_a=3.0, colour="violet")
    base = light_rig()
    return replace(base, converters=(Source(part=part, out_v=12.0),), circuits=(*base.circuits, feeding, screen))


RIGS = [light_rig(), motor_rig(), converter_rig()]


def words_of(system):
    return [text for text, _ in read(wiring(system, "w").svg).texts]


@pytest.mark.parametrize("system", RIGS)
def test_both_ends_of_every_conductor_carry_its_label(system):
    words = words_of(system)
    for one in system.circuits:
        for load in one.legs:
            ends = load.positive if load.switch else load.positive * 2
            for label in {*ends, load.negative}:
                assert words.count(label.replace("-", "−")) == 2, label


def test_every_load_shows_gauge_run_and_drop_against_its_limit():
    words = words_of(light_rig())
    assert words.count("18\u202fAWG, 2.00\u202fm") == words.count("drop 2.0 of 3\u202f%") == 3
    assert {"10\u202fAWG, 2.41\u202fm", "drop 4.5 of 5\u202f%"} <= set(words_of(motor_rig()))


def test_a_run_is_in_feet_for_those_who_read_feet():
    words = words_of(replace(light_rig(), units="us"))
    assert "18\u202fAWG, 6.6\u202fft" in words
    assert "within 7\u202fin of the battery" in words


def test_each_circuit_names_its_fuse_and_the_colour_of_it():
    words = words_of(light_rig())
    assert "1.2\u202fA, fuse 2\u202fA grey" in words and "0.55\u202fA, fuse 1\u202fA black" in words


def test_the_main_fuse_sits_within_seven_inches_of_the_battery():
    """178 mm (7 in) along the conductor: 33 CFR 183.455(b)(1)."""
    words = words_of(light_rig())
    assert "main fuse 3\u202fA" in words and "within 178\u202fmm of the battery" in words


def test_a_single_direct_circuit_has_its_fuse_as_the_main_fuse_and_no_second_one():
    words = words_of(motor_rig())
    assert "30\u202fA, fuse 35\u202fA blue-green: the main fuse" in words
    assert len(fuses(wiring(motor_rig(), "w"))) == 1
    assert len(fuses(wiring(light_rig(), "w"))) == 1 + 2


def fuses(picture):
    """The fuse symbols: boxes of 24 by 10."""
    sizes = [(b.right - b.left, b.bottom - b.top) for b in map(box_of_rect, read(picture.svg).all("rect", "d-body"))]
    return [size for size in sizes if sorted(size) == pytest.approx([10, 24])]


def test_several_direct_circuits_each_have_their_fuse_at_the_battery():
    direct = tuple(circuit(f"load {n}", leg(n, "pump"), origin="L1") for n in (4, 5))
    system = replace(light_rig(), main_fuse_a=None, feed=None, distribution=None, circuits=direct)
    assert "each fuse within 178\u202fmm of the battery" in words_of(system)
    assert len(fuses(wiring(system, "w"))) == 2


def test_what_does_not_exist_is_said_and_not_drawn_as_if_it_did():
    system = light_rig(main_fuse_a=None, circuits=(circuit("pump", leg(4, "pump", awg=None, drop=None), fuse_a=None),))
    words = words_of(system)
    assert "no main fuse fits: see the cautions" in words
    assert {"no gauge fits, 2.00\u202fm", "limit 3\u202f%"} <= set(words)
    assert "1.2\u202fA, no fuse fits" in words


def test_the_switch_stands_in_the_positive_and_carries_its_line():
    picture = read(wiring(light_rig(), "w").svg)
    positives = [s for path in picture.all("path", "d-wire-pos") for s in segments(points_of(path.get("d")))]
    for mark in [g for g in picture.all("g", "d-line") if g.get("data-line") == PANEL.line]:
        box = box_of_rect(mark[0])
        middle = (box.top + box.bottom) / 2
        assert any(a[0] < box.left < b[0] and abs(a[1] - middle) < 0.01 for a, b in positives)


def test_behind_a_converter_the_diagram_goes_on_from_the_converter():
    words = words_of(converter_rig())
    assert any(text.startswith("Converter 24 V to 12 V") and text.endswith("gives 12\u202fV") for text in words)
    assert any(text.endswith("3 of 6 ways") for text in words)


def test_the_battery_s_positive_reaches_every_circuit_that_hangs_on_it():
    picture = read(wiring(motor_rig(), "w").svg)
    trunk = [
        s
        for path in picture.all("path", "d-wire-pos")
        for s in segments(points_of(path.get("d")))
        if s[0][0] == s[1][0] == PLUS_X
    ]
    branch = [
        s
        for path in picture.all("path", "d-wire-pos")
        for s in segments(points_of(path.get("d")))
        if s[0][0] == PLUS_X != s[1][0]
    ]
    assert trunk and all(trunk[0][0][1] < start[1] <= trunk[0][1][1] for start, _ in branch)


LONG_NAMES = tuple(
    circuit(f"everything that is fed behind the console {n}", leg(n, "pump", awg=None, drop=None)) for n in (4, 5)
)


@pytest.mark.parametrize("system", [*RIGS, light_rig(circuits=LONG_NAMES)])
@pytest.mark.parametrize("width", [700.0, PLAN_UNITS])
def test_no_lettering_overlaps_or_leaves_the_sheet_on_screen_or_on_paper(system, width):
    picture = read(wiring(system, "w", width).svg)
    boxes = [shrunk(box, 0.02) for box in picture.text_boxes]
    for text, box in picture.texts:
        if "AWG" in text or "drop" in text or "limit" in text:
            assert box.right <= width - 1 - LOAD_WIDE, (text, box)
    for box in boxes:
        assert box.left >= 0 and box.right <= picture.width and box.top >= 0 and box.bottom <= picture.height
    for a, b in combinations(boxes, 2):
        assert not a.meets(b), (a, b)


def test_a_long_diagram_is_parted_between_circuits_with_the_battery_on_each_sheet():
    many = tuple(circuit(f"light {n}", leg(n, "LED deck strips, pair, waterproof")) for n in range(10, 40))
    sheets = wiring_pages(light_rig(circuits=many), "w", 700, 940)
    assert len(sheets) == 5 and all(sheet.height <= 940 for sheet in sheets)
    words = [[text for text, _ in read(sheet.svg).texts] for sheet in sheets]
    assert all(any(text.startswith("12\u202fV 20\u202fAh") for text in page) for page in words)
    assert sum(text.startswith("light ") for page in words for text in page) == 30
    assert [sheet.title for sheet in sheets][1] == "Wiring of battery 1, sheet 2 of 5"
    assert len({sheet.svg.split('aria-labelledby="')[1].split('"')[0] for sheet in sheets}) == len(sheets)


def test_a_circuit_of_more_loads_than_a_page_holds_goes_on_the_next_with_its_fuse():
    many = circuit("lights", *(leg(n, "LED deck strips, pair, waterproof") for n in range(10, 30)))
    sheets = wiring_pages(light_rig(circuits=(many,)), "w", 580, 690)
    assert all(sheet.height <= 690 for sheet in sheets)
    words = [[text for text, _ in read(sheet.svg).texts] for sheet in sheets]
    assert ["lights" in page for page in words] == [True, False, False, False]
    assert ["lights, continued" in page for page in words] == [False, True, True, True]
    assert sum(text == "18\u202fAWG, 2.00\u202fm" for page in words for text in page) == 20


def test_a_short_diagram_takes_one_sheet():
    (sheet,) = wiring_pages(light_rig(), "w", 700, 940)
    assert sheet.svg == wiring(light_rig(), "w-1").svg


def test_the_table_lists_the_feed_and_every_leg():
    (table,) = wiring(light_rig(), "w").tables
    assert [row[0] for row in table.rows] == ["feed", "strips", "navigation", "navigation"]
    assert table.rows[1] == (
        "strips",
        "fuse 2\u202fA grey",
        "4 LED deck strips, pair, waterproof",
        PANEL.name,
        "4+a, 4+b, 4−",
        "18\u202fAWG",
        "2.00\u202fm",
        "drop 2.0 of 3\u202f%",
    )


def test_the_selected_load_alone_is_marked():
    picture = read(wiring(light_rig(selected="L5"), "w").svg)
    assert [g.get("data-line") for g in picture.all("g", "d-sel")] == ["L5"]
