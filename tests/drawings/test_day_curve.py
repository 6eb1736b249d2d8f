"""The charge over the day: straight between the ends of spells, what is kept back hatched, below 0 shown."""

from itertools import combinations

import pytest

from builds.drawings.day import LEFT, PLOT_HIGH, RIGHT, TOP, Day, Spell, day, day_sentence
from tests.drawings.reading import points_of, read, shrunk

FISHING = Day(
    name="battery 7",
    spells=(Spell("dawn", 1.5, 0.81), Spell("day", 4.5, 0.38), Spell("dusk", 1.0, 0.26)),
    keep_back=0.2,
    mean_current_a=1.98,
    hours_to_empty=9.4,
)
SHORT = Day(name="battery 7", spells=(Spell("dawn", 1.5, 0.6), Spell("day", 5.5, -0.3)), keep_back=0.2)


def curve(battery):
    (points,) = points_of(read(day(battery, "d").svg).all("path", "d-out")[0].get("d"))
    return points


def test_the_curve_goes_straight_from_the_end_of_one_spell_to_the_next():
    hours, across = (0.0, 1.5, 6.0, 7.0), (420 - LEFT - RIGHT) / 7.0
    charges = (1.0, 0.81, 0.38, 0.26)
    expected = [(LEFT + h * across, TOP + (1 - c) * PLOT_HIGH) for h, c in zip(hours, charges, strict=True)]
    assert [x for point in curve(FISHING) for x in point] == pytest.approx([x for p in expected for x in p], abs=0.01)


def test_the_percent_stands_at_the_end_of_each_spell():
    words = [text for text, _ in read(day(FISHING, "d").svg).texts]
    assert {"81", "38", "26\u202f% left", "keep back", "dawn", "day", "dusk", "7\u202fh"} <= set(words)


def test_what_is_kept_back_is_hatched_up_to_its_share():
    hatch = [p for s in points_of(read(day(FISHING, "d").svg).all("path", "d-hatch")[0].get("d")) for p in s]
    tops, bottoms = min(y for _, y in hatch), max(y for _, y in hatch)
    assert (tops, bottoms) == pytest.approx((TOP + 0.8 * PLOT_HIGH, TOP + PLOT_HIGH), abs=0.02)


def test_a_charge_below_0_is_drawn_below_the_line_of_0():
    points = curve(SHORT)
    assert points[-1][1] == pytest.approx(TOP + 1.3 * PLOT_HIGH, abs=0.01)
    assert "30\u202f% lacking" in [text for text, _ in read(day(SHORT, "d").svg).texts]


def test_the_sentence_says_what_is_left_and_what_is_to_be_kept():
    assert day_sentence(FISHING) == (
        "After 7\u202fh 26\u202f% is left; 20\u202f% is to be kept back."
        " Mean current 1.98\u202fA; empty after 9.4\u202fh."
    )
    assert day_sentence(SHORT) == "The day of 7\u202fh takes all of the charge and 30\u202f% more."
    low = Day(name="b", spells=(Spell("day", 8.0, 0.1),), keep_back=0.2)
    assert day_sentence(low) == "After 8\u202fh 10\u202f% is left: less than the 20\u202f% to keep back."


def test_the_table_has_a_row_for_each_spell():
    assert day(FISHING, "d").tables[0].rows[1] == ("day", "4.5\u202fh", "38\u202f%")


@pytest.mark.parametrize("count", [1, 2, 5, 14, 40])
@pytest.mark.parametrize("last", [0.97, 0.5, 0.21, 0.02, -0.4, -3.0])
def test_no_lettering_overlaps_or_leaves_the_drawing(count, last):
    spells = tuple(Spell(f"spell {n}", 0.5 + n % 3, 1 + (last - 1) * n / count) for n in range(1, count + 1))
    picture = read(day(Day(name="b", spells=spells, keep_back=0.2), "d").svg)
    boxes = [shrunk(box, 0.05) for box in picture.text_boxes]
    for box in boxes:
        assert box.left >= 0 and box.right <= picture.width and box.top >= 0 and box.bottom <= picture.height
    for a, b in combinations(boxes, 2):
        assert not a.meets(b), (a, b)
