"""Bars, bridge, line over time and the ticket's gauges: lengths in proportion, kinds told apart without colour."""

from itertools import combinations

import pytest

from builds.drawings.bars import Bar, Limit, Row, bars, ticks
from builds.drawings.bridge import Bridge, Step, bridge
from builds.drawings.gauges import Share, load_gauge, time_gauge
from builds.drawings.trend import Reading, trend
from tests.drawings.reading import box_of_rect, points_of, read, shrunk

WAY = Bridge(
    "estimated",
    3862,
    (Step("change orders", 85), Step("discounts given", -120), Step("routing over, 295 min", -187)),
    "actual",
)


def rects(picture, *kinds):
    return [box_of_rect(e) for e in picture.all("rect") if e.get("class") in kinds]


def apart(picture):
    boxes = [shrunk(box, 0.05) for box in picture.text_boxes]
    inside = all(b.left >= 0 and b.right <= picture.width and b.top >= 0 and b.bottom <= picture.height for b in boxes)
    return inside and not any(a.meets(b) for a, b in combinations(boxes, 2))


def test_bars_are_as_long_as_their_values():
    rows = [Row("estimated", (Bar(50, "estimate"),)), Row("worked", (Bar(100),))]
    first, second = rects(read(bars(rows, "b", "Minutes").svg), "d-open", "d-solid")
    assert (second.right - second.left) / (first.right - first.left) == pytest.approx(2.0, rel=0.001)


@pytest.mark.parametrize(
    ("kind", "face", "hatch"),
    [
        ("estimate", "d-open", "d-hatch"),
        ("quoted", "d-open", None),
        ("actual", "d-solid", None),
        ("lost", "d-open", "d-cross"),
    ],
)
def test_each_kind_is_told_by_its_hatch_alone(kind, face, hatch):
    """Hatched is estimate, open is quoted, solid is actual, crossed is lost: mock/README.md."""
    picture = read(bars([Row("x", (Bar(10, kind),))], "b", "x").svg)
    assert len(rects(picture, face)) == 1
    assert {e.get("class") for e in picture.all("path")} & {"d-hatch", "d-cross"} == ({hatch} if hatch else set())


def test_the_number_stands_at_the_end_of_its_bar():
    picture = read(bars([Row("worked", (Bar(3881, words="3,881, 581 unpaid"),))], "b", "Minutes").svg)
    (bar,) = rects(picture, "d-solid")
    box = next(box for text, box in picture.texts if text == "3,881, 581 unpaid")
    assert 0 < box.left - bar.right < 10


def test_bars_whose_axis_does_not_start_at_nought_are_broken_and_say_so():
    rows = [Row("a", (Bar(3262, "estimate"),)), Row("b", (Bar(3300),))]
    broken = bars(rows, "b", "x", start=3000)
    assert len(read(broken.svg).all("path", "d-gap")) == 2
    assert "The axis starts at 3,000." in broken.desc
    assert not read(bars(rows, "b", "x").svg).all("path", "d-gap")


def test_a_value_below_nought_goes_to_the_left_with_its_number_there():
    picture = read(bars([Row("won", (Bar(40),)), Row("lost", (Bar(-9, "lost"),))], "b", "Margin", "%").svg)
    (up,), (down,) = rects(picture, "d-solid"), rects(picture, "d-open")
    assert down.right == pytest.approx(up.left, abs=0.02)
    box = next(box for text, box in picture.texts if text == "−9\u202f%")
    assert box.right < down.left and apart(picture)


def test_a_limit_is_dashed_at_its_value_and_no_number_lies_on_it():
    rows = [Row(str(v), (Bar(v, "actual" if v >= 35 else "estimate"),)) for v in (52, 47, 38, 31, 22, 9)]
    picture = read(bars(rows, "b", "Margin", "%", Limit(35, "floor 35 %")).svg)
    ((top, _),) = points_of(picture.all("path", "d-limit")[0].get("d"))
    longest = rects(picture, "d-solid")[0]
    assert (top[0] - longest.left) / (longest.right - longest.left) == pytest.approx(35 / 52, rel=0.001)
    figures = [box for text, box in picture.texts if text.endswith("\u202f%")]
    assert not any(box.left < top[0] < box.right for box in figures)


def test_the_bridge_ends_where_its_steps_lead():
    assert WAY.end == 3862 + 85 - 120 - 187
    table = bridge(WAY, "b", "From estimate to actual", "USD").tables[0]
    assert table.rows[1] == ("change orders", "+85\u202fUSD", "3,947\u202fUSD")
    assert table.rows[-1] == ("actual", "3,640\u202fUSD", "")


def test_the_bridge_starts_each_step_where_the_last_one_ended():
    boxes = rects(read(bridge(WAY, "b", "x").svg), "d-open", "d-solid")
    first, gained, lost, lost_too, last = boxes
    assert gained.left == pytest.approx(first.right, abs=0.02)
    assert lost.right == pytest.approx(gained.right, abs=0.02)
    assert lost_too.right == pytest.approx(lost.left, abs=0.02)
    assert last.right == pytest.approx(lost_too.left, abs=0.02)


def test_the_bridge_breaks_its_totals_only_where_the_axis_does_not_start_at_nought():
    assert len(read(bridge(WAY, "b", "x").svg).all("path", "d-gap")) == 2
    small = Bridge("estimated", 100, (Step("lost", -80),), "actual")
    assert not read(bridge(small, "b", "x").svg).all("path", "d-gap")


@pytest.mark.parametrize("steps", [(-5000,), (200, -100, 300), (-10, -20), (), (0,)])
def test_the_bridge_keeps_its_lettering_apart(steps):
    way = Bridge("estimated", 3862, tuple(Step(f"step {i}", s) for i, s in enumerate(steps)), "actual")
    assert apart(read(bridge(way, "b", "x", "USD").svg))


def test_the_scale_has_round_figures_that_take_in_all_values():
    assert ticks(3339, 3947) == [3200, 3400, 3600, 3800, 4000]
    assert ticks(0, 1) == pytest.approx([0, 0.2, 0.4, 0.6, 0.8, 1.0])
    assert ticks(-9, 52, 6) == [-20, 0, 20, 40, 60]


def margins(*values):
    return [Reading(str(week), value) for week, value in enumerate(values, start=36)]


def test_readings_under_the_floor_are_open_dots_with_their_figures():
    drawn = trend(margins(38, 41, 33, 44, 27, 31), "t", "Margin by week", "%", Limit(35, "floor"))
    picture = read(drawn.svg)
    assert picture.all("path", "d-open")[0].get("d").count("M") == 3
    assert picture.all("path", "d-solid")[0].get("d").count("M") == 3
    assert {"33", "27", "31\u202f%"} <= {text for text, _ in picture.texts}
    assert drawn.sentence == "6 figures between 27 and 44\u202f%. Under the floor: 38, 40, 41, drawn open."


def test_a_moment_without_a_figure_leaves_a_gap():
    picture = read(trend(margins(38, None, 41, 40), "t", "x").svg)
    assert len(points_of(picture.all("path", "d-out")[0].get("d"))) == 1
    assert trend(margins(38, None), "t", "x").tables[0].rows[1] == ("37", "–")


@pytest.mark.parametrize("values", [(), (None,), (38,), (38, 38), (-5, 5), tuple(range(52))])
def test_any_row_of_readings_can_be_drawn(values):
    assert apart(read(trend(margins(*values), "t", "x", "%", Limit(35, "floor")).svg))


def test_the_load_bar_is_in_proportion_to_the_rated_load():
    picture = read(load_gauge([Share("paddler", 95), Share("kit", 18), Share("parts", 8.8)], 172, "g").svg)
    (paddler,) = rects(picture, "d-solid")
    kit, parts = rects(picture, "d-open")
    scale = (390 - 12) / 172
    assert [b.right - b.left for b in (paddler, kit, parts)] == pytest.approx(
        [95 * scale, 18 * scale, 8.8 * scale], abs=0.02
    )
    seventy, eighty_five, full = (a[0] for a, _ in points_of(picture.all("path", "d-tick")[0].get("d")))
    assert (seventy - 6) / scale == pytest.approx(0.70 * 172, abs=0.02)
    assert (eighty_five - 6) / scale == pytest.approx(0.85 * 172, abs=0.02)
    assert (full - 6) / scale == pytest.approx(172, abs=0.02)


def test_the_three_shares_of_the_load_differ_without_colour():
    picture = read(load_gauge([Share("paddler", 95), Share("kit", 18), Share("parts", 20)], 172, "g").svg)
    level, slanted = (points_of(e.get("d"))[0] for e in picture.all("path", "d-hatch"))
    assert level[0][1] == level[1][1] and slanted[0][1] != slanted[1][1]


def test_what_is_above_the_rated_load_is_crossed():
    over = read(load_gauge([Share("paddler", 150), Share("kit", 50)], 172, "g").svg)
    within = read(load_gauge([Share("paddler", 95), Share("kit", 18)], 172, "g").svg)
    assert over.all("path", "d-cross") and not within.all("path", "d-cross")


def test_without_a_rated_load_there_are_no_marks_and_it_is_said():
    drawn = load_gauge([Share("paddler", 95)], None, "g")
    assert not read(drawn.svg).all("path", "d-tick")
    assert "No rated load is recorded" in drawn.desc
    assert ("rated", "not known") in drawn.tables[0].rows


@pytest.mark.parametrize("shares", [(95, 18, 8.8), (95, 0.2, 0.1), (0, 0, 0), (10, 200, 300)])
@pytest.mark.parametrize("rated", [None, 30, 172, 410])
def test_the_load_bar_keeps_its_words_apart(shares, rated):
    named = [Share(name, mass) for name, mass in zip(("paddler", "kit", "parts"), shares, strict=True)]
    assert apart(read(load_gauge(named, rated, "g").svg))


def test_the_bench_time_stands_on_its_scale_of_hours():
    picture = read(time_gauge(607, 656, "g").svg)
    at = {text: (box.left + box.right) / 2 for text, box in picture.texts}
    hour = at["11"] - at["10"]
    half, most = (min(x for x, _ in s) + 5 for s in points_of(picture.all("path", "d-solid")[-1].get("d")))
    assert half == pytest.approx(at["10"] + 7 / 60 * hour, abs=0.05)
    assert most == pytest.approx(at["10"] + 56 / 60 * hour, abs=0.05)
    assert {"half by 10\u202fh\u00a007", "8 in 10 by 10\u202fh\u00a056"} <= set(at)


@pytest.mark.parametrize("times", [(0, 0), (5, 8), (35, 50), (607, 656), (2900, 3800), (60_000, 90_000)])
def test_the_bench_time_keeps_its_words_apart(times):
    assert apart(read(time_gauge(*times, "g").svg))
