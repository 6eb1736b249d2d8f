"""Needs and conflicts of a type as a picture: every name is there, in words beside it too."""

import itertools
import re

from builds.drawings.needs import Need, needs_drawing

NEEDS = [Need("must", ("Ball base, 25 mm",)), Need("usually", ("Battery, 12 V 20 Ah", "Battery, 12 V 50 Ah", "Other"))]


def test_each_need_and_each_conflict_has_its_box_and_a_sentence_says_the_same():
    drawn = needs_drawing("Screen", NEEDS, ["Second screen <12 in>"], "needs")
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", drawn.svg)
    assert "Screen" in texts and "Ball base, 25 mm" in texts
    assert any(text.startswith("Battery, 12 V 20 Ah") for text in texts)
    assert "Second screen &lt;12 in&gt;" in texts
    assert drawn.desc == (
        "Screen asks for must: Ball base, 25 mm; usually: Battery, 12 V 20 Ah or Battery, 12 V 50 Ah or Other. "
        "It does not go with Second screen <12 in>."
    )
    assert drawn.tables[0].rows[-1] == ("not with", "Second screen <12 in>")


def test_a_must_is_a_full_line_and_what_is_usual_a_broken_one():
    full = needs_drawing("Screen", NEEDS[:1], [], "needs").svg
    broken = needs_drawing("Screen", NEEDS[1:], [], "needs").svg
    assert "d-hidden" not in full and "d-hidden" in broken


def test_many_needs_stand_one_below_the_other_and_none_over_another():
    drawn = needs_drawing("Screen", [Need("must", (f"Part {n}",)) for n in range(12)], [], "needs")
    tops = sorted(float(y) for y in re.findall(r'<rect class="d-body" x="58" y="([\d.]+)"', drawn.svg))
    assert len(tops) == 13
    assert all(later - earlier >= 26 for earlier, later in itertools.pairwise(tops))
