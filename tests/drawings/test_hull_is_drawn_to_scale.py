"""The boat is drawn from her numbers: outline, waterplane and items where the formula and the tape say."""

import time
from dataclasses import replace

import pytest

from builds.drawings.boat import Boat, Level, Outline, Station, Water
from builds.drawings.hull import hull
from builds.drawings.plan import plan
from builds.drawings.side import side
from tests.drawings.builders import form, hole, hull_types, item, loaded, water
from tests.drawings.reading import area_of, points_of, read


def scale_of(picture, length_m):
    """Units a metre and the bow tip's place, from the tape: the outline of its blocks."""
    left, top, right, _ = tape_of(picture)
    return (right - left) / length_m, left, top


def tape_of(picture):
    """The tape's frame is the first hairline rectangle: M x y h width v height."""
    d = next(e.get("d") for e in picture.all("path", "d-hair") if "h" in e.get("d"))
    start, rest = d.split("h", 1)
    x, y = (float(number) for number in start[1:].split())
    width, height = rest.split("v")[0], rest.split("v")[1].split("h")[0]
    return x, y, x + float(width), y + float(height)


def axis_of(picture):
    (start, _) = points_of(picture.all("path", "d-chain")[0].get("d"))[0]
    return start[1]


def outline_of(picture):
    return points_of(picture.all("path", "d-out")[0].get("d"))[0]


@pytest.mark.parametrize("hull_type", sorted(hull_types()))
def test_the_outline_is_the_hull_family_at_the_gunwale(hull_type):
    """Half-breadth (B/2)(1 - |2(x - L/2)/L|^n) at z = D, as method.md gives it."""
    boat = loaded(hull_type, 5)
    shape, picture = boat.form, read(plan(boat, "p").svg)
    scale, bow, _ = scale_of(picture, shape.length_m)
    points, axis = outline_of(picture), axis_of(picture)
    assert len(points) > 60
    for x, y in points:
        aft = (x - bow) / scale
        half = shape.beam_m / 2 * (1 - abs(2 * aft / shape.length_m - 1) ** shape.waterplane_exponent)
        assert abs(y - axis) == pytest.approx(half * scale, abs=0.03)


def test_the_outline_touches_length_and_beam():
    picture = read(plan(Boat(form=form()), "p").svg)
    scale, bow, _ = scale_of(picture, 3.7)
    points = outline_of(picture)
    assert min(x for x, _ in points) == pytest.approx(bow, abs=0.02)
    assert max(x for x, _ in points) == pytest.approx(bow + 3.7 * scale, abs=0.02)
    assert max(y for _, y in points) - min(y for _, y in points) == pytest.approx(0.84 * scale, abs=0.03)


@pytest.mark.parametrize(("n", "p"), [(2.0, 2.0), (2.6, 4.0), (4.0, 7.0), (1.0, 1.0)])
def test_the_waterplane_has_the_area_of_its_closed_form(n, p):
    """B L n/(n + 1) (1 - (1 - T/D)^p): the integral of the half-breadth over the length, twice."""
    shape = form(waterplane_exponent=n, section_exponent=p)
    boat = Boat(form=shape, water=water(0.12, 0.0))
    picture = read(plan(boat, "p").svg)
    scale, _, _ = scale_of(picture, shape.length_m)
    (drawn,) = points_of(picture.all("path", "d-waterplane")[0].get("d"))
    closed = 0.84 * 3.7 * n / (n + 1) * (1 - (1 - 0.12 / 0.36) ** p)
    assert area_of(drawn) / scale**2 == pytest.approx(closed, rel=0.005)


def test_the_deck_outline_of_a_wigley_hull_has_two_thirds_of_its_rectangle():
    """Waterplane coefficient 2/3 of the Wigley form (n = 2), a published property of the parabolic hull."""
    picture = read(plan(Boat(form=form(waterplane_exponent=2.0)), "p").svg)
    scale, _, _ = scale_of(picture, 3.7)
    assert area_of(outline_of(picture)) / scale**2 == pytest.approx(2 / 3 * 3.7 * 0.84, rel=0.005)


def test_an_item_stands_where_the_tape_says():
    boat = Boat(form=form(), items=(item(1, x_m=2.35, y_m=0.21),))
    picture = read(plan(boat, "p").svg)
    scale, bow, _ = scale_of(picture, 3.7)
    ring = picture.all("circle", "d-ring")[0]
    assert float(ring.get("cx")) == pytest.approx(bow + 2.35 * scale, abs=0.02)
    assert axis_of(picture) - float(ring.get("cy")) == pytest.approx(0.21 * scale, abs=0.02)


def test_a_figure_on_the_tape_stands_at_its_length():
    for units, words, length_m in (("metric", "2.5\u202fm", 2.5), ("us", "6\u202fft", 6 * 0.3048)):
        picture = read(plan(Boat(form=form(), units=units), "p").svg)
        scale, bow, _ = scale_of(picture, 3.7)
        at = next(float(e.get("x")) for e in picture.all("text") if e.text == words)
        assert at == pytest.approx(bow + length_m * scale, abs=0.02)


def test_every_block_of_the_tape_is_100_mm_and_the_last_ends_with_the_boat():
    picture = read(plan(Boat(form=form(length_m=3.75)), "p").svg)
    scale, bow, _ = scale_of(picture, 3.75)
    blocks = picture.all("path", "d-solid")[0].get("d").split("M")[1:]
    starts = [float(block.split()[0]) for block in blocks]
    widths = [float(block.split("h")[1].split("v")[0]) for block in blocks]
    assert starts == pytest.approx([bow + 0.2 * k * scale for k in range(19)], abs=0.02)
    assert widths[:-1] == pytest.approx([0.1 * scale] * 18, abs=0.02)
    assert starts[-1] + widths[-1] == pytest.approx(bow + 3.7 * scale, abs=0.02)


def test_with_the_bow_up_starboard_is_right_and_the_tape_runs_down():
    boat = Boat(form=form(), items=(item(1, x_m=1.0, y_m=0.2), item(2, x_m=3.0, y_m=-0.2)))
    picture = read(plan(boat, "p", width=366, bow_up=True).svg)
    rings = [(float(e.get("cx")), float(e.get("cy"))) for e in picture.all("circle", "d-ring")]
    (first, second) = sorted(rings, key=lambda ring: ring[1])
    assert first[0] > second[0]
    scale = (tape_of(picture)[3] - tape_of(picture)[1]) / 3.7
    assert second[1] - first[1] == pytest.approx(2.0 * scale, abs=0.03)
    assert first[0] - second[0] == pytest.approx(0.4 * scale, abs=0.03)


def test_a_body_is_drawn_to_scale_and_dashed_where_the_skin_hides_it():
    parts = (
        item(1, x_m=1.0, length_m=0.3, width_m=0.1),
        item(2, x_m=3.0, length_m=0.3, width_m=0.1, surface="inside"),
    )
    picture = read(plan(Boat(form=form(), items=parts), "p").svg)
    scale, _, _ = scale_of(picture, 3.7)
    (open_body,) = picture.all("path", "d-body")
    assert len([e for e in picture.all("path", "d-hidden") if "h" in e.get("d")]) == 1
    across = float(open_body.get("d").split("h")[1].split("a")[0]) + 2 * 0.008 * scale
    assert across == pytest.approx(0.3 * scale, abs=0.05)


def test_a_drilled_hole_is_solid_and_a_cut_out_is_open_with_a_cross():
    holes = (hole("A", diameter_mm=5.2), hole("B", x_m=2.0, diameter_mm=54.0))
    picture = read(plan(Boat(form=form(), holes=holes), "p", "holes").svg)
    scale, _, _ = scale_of(picture, 3.7)
    (cut,) = picture.all("circle", "d-cut")
    assert float(cut.get("r")) * 2 == pytest.approx(0.054 * scale, abs=0.02)
    drilled = next(g for g in picture.all("g", "d-hole") if g.get("data-opening") == "A")
    assert drilled[0].get("fill") == "#000"


def test_the_smallest_hole_is_still_a_unit_wide():
    picture = read(plan(Boat(form=form(), holes=(hole("A", diameter_mm=3.1),)), "p", "holes").svg)
    drilled = next(g for g in picture.all("g", "d-hole"))
    assert float(drilled[0].get("r")) == 0.5


def test_the_side_view_shows_the_buttock_20_mm_off_the_centreline():
    """Its height above the keel solves y(x, z) = 0.02 m in the hull family."""
    shape = form()
    picture = read(side(Boat(form=shape), "s").svg)
    (outline,) = points_of(picture.all("path", "d-out")[0].get("d"))
    keel, scale = max(y for _, y in outline), 560 / 3.7
    for x, y in outline:
        z_m = (keel - y) / scale + shape.height_m(1.85, 0.02)
        assert shape.half_breadth_m((x - 48) / scale, z_m) == pytest.approx(0.02, abs=0.004)


def test_the_waterline_lies_at_the_drafts_and_shows_the_trim():
    boat = Boat(form=form(), water=water(0.13, 0.09))
    picture = read(side(boat, "s").svg)
    ((left, right),) = points_of(picture.all("path", "d-water")[0].get("d"))
    slope = (left[1] - right[1]) / (right[0] - left[0])
    assert slope == pytest.approx(0.09 / 3.7, rel=0.01)
    words = " ".join(text for text, _ in picture.texts)
    assert "draft 85\u202fmm" in words and "175\u202fmm" in words and "130\u202fmm amidships" in words
    assert "trim 90\u202fmm by the stern" in words


def test_the_band_is_named_and_hatched_between_dashes():
    picture = read(side(Boat(form=form(), water=water()), "s").svg)
    assert picture.all("path", "d-band") and len(picture.all("path", "d-band-edge")) == 2
    assert any("could be 110\u202fmm to 150\u202fmm (hatched): no float test" in text for text, _ in picture.texts)


def test_a_float_test_is_not_called_missing():
    tested = Water(level=Level.from_mid(0.13, 0.0), float_tested=True)
    texts = " ".join(text for text, _ in read(side(Boat(form=form(), water=tested), "s").svg).texts)
    assert "float test" not in texts and "on an even keel" in texts


def test_without_flotation_there_is_no_water_anywhere():
    boat = Boat(form=form(), note="no waterline: this load does not float")
    picture = read(hull(boat, "h").svg)
    for kind in ("d-water", "d-tint", "d-contour d-waterplane", "d-band"):
        assert not picture.all("path", kind)
    assert any(text == boat.note for text, _ in picture.texts)


def test_the_centre_of_gravity_is_a_quartered_circle_at_its_place():
    picture = read(side(Boat(form=form(), water=water()), "s").svg)
    (circle,) = picture.all("circle", "d-open")
    assert float(circle.get("cx")) == pytest.approx(48 + 2.1 * 560 / 3.7, abs=0.02)


def test_the_selected_line_alone_is_marked_and_drawn_over_the_others():
    boat = replace(loaded("sot_3_7_angler", 12), selected="L5")
    picture = read(hull(boat, "h").svg)
    chosen = [g.get("data-line") for g in picture.all("g", "d-sel")]
    assert chosen and all("L5" in lines.split() for lines in chosen)
    assert not read(hull(replace(boat, selected=""), "h").svg).all("g", "d-sel")


def test_every_element_of_a_line_and_of_a_station_says_whose_it_is():
    boat = loaded("sot_3_7_angler", 12)
    picture = read(hull(boat, "h").svg)
    assert all(g.get("data-line") for g in picture.all("g", "d-line"))
    named = {name for g in picture.all("g", "d-place") for name in g.get("data-station").split()}
    assert named == {station.id for station in boat.stations}


def test_a_pole_that_leaves_the_frame_ends_in_a_break():
    boat = Boat(form=form(), items=(item(1, length_m=0.03, height_m=2.0),))
    picture = read(side(boat, "s").svg)
    (pole,) = picture.all("path", "d-body")
    (points,) = points_of(pole.get("d"))
    assert len(points) == 8
    assert min(y for _, y in points) > 0


def test_hatches_and_wells_are_drawn_where_the_record_has_them():
    outlines = (
        Outline(name="bow hatch", x_m=0.8, y_m=0.0, length_m=0.3, width_m=0.2, corner_m=None),
        Outline(name="tank well", x_m=2.9, y_m=0.0, length_m=0.7, width_m=0.45, floor_m=0.18),
    )
    stations = (Station(id="tank_well", name="Tank well", x_m=2.9, y_m=0, z_m=0.18, well_half_width_m=0.2),)
    picture = read(hull(Boat(form=form(), outlines=outlines, stations=stations), "h").svg)
    scale, _, _ = scale_of(picture, 3.7)
    assert len(picture.all("path", "d-thin")) == 2
    floor = picture.all("path", "d-hidden")[-1]
    ((left, right),) = points_of(floor.get("d"))
    assert right[0] - left[0] == pytest.approx(0.7 * scale, abs=0.02)


def test_the_facts_of_the_drawing_stand_in_its_tables():
    boat = loaded("sot_3_7_angler", 12)
    tables = {table.caption: table for table in hull(boat, "h").tables}
    assert [row[0] for row in tables["Fitted"].rows] == [str(n) for n in range(1, 13)]
    assert len(tables["Openings"].rows) == len(boat.holes)
    assert len(tables["Stations"].rows) == len(boat.stations)
    assert ("Draft amidships", "130\u202fmm", "110\u202fmm to 150\u202fmm") in tables["Afloat"].rows


@pytest.mark.parametrize("count", [0, 5, 12, 30])
def test_on_the_screen_the_drawing_keeps_its_height_whatever_is_fitted(count):
    for hull_type in hull_types():
        picture = read(hull(loaded(hull_type, count), "h").svg)
        assert (picture.width, picture.height) == (890, 480), hull_type


@pytest.mark.timing
def test_a_full_ticket_is_drawn_in_five_milliseconds():
    boat = loaded("sot_3_7_angler", 20)
    hull(boat, "h")
    times = []
    for _ in range(25):
        start = time.perf_counter()
        hull(boat, "h")
        times.append(time.perf_counter() - start)
    assert min(times) < 0.005
