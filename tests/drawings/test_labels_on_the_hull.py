"""Labels on every hull type, from an empty boat to thirty lines: apart, inside the drawing, no leader crossing."""

from itertools import combinations

import pytest

from builds.drawings.boat import Boat
from builds.drawings.hull import hull
from builds.drawings.marks import in_ranges
from builds.drawings.plan import plan
from builds.drawings.side import side
from tests.drawings.builders import form, hull_types, item, loaded
from tests.drawings.reading import cross, passes, read, segments, shrunk

COUNTS = (0, 5, 12, 30)


def drawings(boat):
    yield "screen", hull(boat, "a", "screen", 890)
    yield "quote", hull(boat, "a", "quote", 700)
    yield "holes", hull(boat, "a", "holes", 700)
    yield "phone", plan(boat, "a", "screen", 366, bow_up=True)
    yield "phone holes", plan(boat, "a", "holes", 366, bow_up=True)
    yield "phone side", side(boat, "a", 366)


@pytest.fixture(scope="module", params=COUNTS)
def drawn(request):
    """Every drawing of every hull type with a number of lines, read back."""
    return [
        (f"{hull_type}, {kind}, {request.param} lines", read(picture.svg))
        for hull_type in hull_types()
        for kind, picture in drawings(loaded(hull_type, request.param))
    ]


def test_no_two_labels_overlap(drawn):
    for name, picture in drawn:
        boxes = [shrunk(box, 0.02) for _, box in picture.texts] + [shrunk(box, 0.02) for box in picture.marks]
        boxes.sort()
        for i, box in enumerate(boxes):
            for other in boxes[i + 1 :]:
                if other.left >= box.right:
                    break
                assert not box.meets(other), (name, box, other)


def test_every_label_lies_inside_the_drawing(drawn):
    for name, picture in drawn:
        for box in [box for _, box in picture.texts] + picture.marks:
            assert box.left >= 0 and box.right <= picture.width, (name, box)
            assert box.top >= 0 and box.bottom <= picture.height, (name, box)


def test_no_leader_runs_through_a_balloon_or_a_box(drawn):
    for name, picture in drawn:
        strokes = segments(picture.leaders)
        for box in picture.marks:
            assert not any(passes(stroke, shrunk(box, 0.1)) for stroke in strokes), (name, box)


def test_no_two_leaders_cross(drawn):
    for name, picture in drawn:
        for a, b in combinations(picture.leaders, 2):
            crossing = [(s, t) for s in segments([a]) for t in segments([b]) if cross(s, t)]
            assert not crossing, (name, crossing)


def test_every_line_has_its_number_in_a_balloon():
    for hull_type in hull_types():
        boat = loaded(hull_type, 12)
        shown = " ".join(read(hull(boat, "a", "screen", 890).svg).mark_texts)
        assert sorted(shown.split(), key=int) == [str(n) for n in range(1, 13)]


def test_every_opening_is_named_by_a_letter_in_a_box():
    for hull_type in hull_types():
        boat = loaded(hull_type, 30)
        picture = read(hull(boat, "a", "holes", 700).svg)
        named = [name for g in picture.all("g") if g.get("data-opening") for name in g.get("data-opening").split(",")]
        assert {hole.letter for hole in boat.holes} <= set(named)


def test_hundreds_of_lines_share_labels_and_still_fit():
    boat = loaded("sot_3_7_angler", 300)
    picture = read(hull(boat, "a", "screen", 890).svg)
    boxes = picture.marks
    assert not any(shrunk(a, 0.02).meets(shrunk(b, 0.02)) for a, b in combinations(boxes, 2))
    named = {line for g in picture.all("g", "d-line") for line in g.get("data-line").split()}
    assert named == {item.line for item in boat.items}


def test_many_parts_at_one_place_share_one_balloon():
    parts = tuple(item(number) for number in range(1, 10))
    picture = read(plan(Boat(form=form(), items=parts), "a").svg)
    assert picture.mark_texts == ["1–9"]


def test_letters_that_follow_one_another_are_written_as_a_range():
    assert in_ranges(["K", "M", "O", "Q"]) == ["K", "M", "O", "Q"]
    assert in_ranges(["C", "D", "E", "F", "G"]) == ["C–G"]
    assert in_ranges(["Z", "AA", "AB"]) == ["Z–AB"]
    assert in_ranges(["A", "B"]) == ["A", "B"]
    assert in_ranges(["10", "9", "11", "2"]) == ["2", "9–11"]
