"""Minutes before and after as ranges: drawn to one scale from nought, every figure in the table too."""

import pytest

from builds.drawings.ranges import Pair, Range, ranges

PAIRS = [
    Pair("Rod holder", Range(25, 35, 60), Range(30.5, 44, 90)),
    Pair("Fish & <deck> cleat", Range(2, 4, 8), Range(2.1, 4.4, 9.7)),
]


def test_every_figure_stands_in_the_table():
    drawn = ranges(PAIRS, "learned", "Minutes", "min")
    assert drawn.tables[0].rows == (
        ("Rod holder", "35 (25–60)", "44 (30.5–90)"),
        ("Fish & <deck> cleat", "4 (2–8)", "4.4 (2.1–9.7)"),
    )


def test_a_label_is_written_as_text():
    assert "Fish &amp; &lt;deck&gt; cleat" in ranges(PAIRS, "learned", "Minutes", "min").svg


def test_before_is_hatched_and_after_is_solid():
    svg = ranges(PAIRS, "learned", "Minutes", "min").svg
    assert svg.count('class="d-hatch"') == svg.count('class="d-solid"') == 2


@pytest.mark.parametrize("count", [0, 1, 10])
def test_the_drawing_grows_with_its_rows(count):
    drawn = ranges(PAIRS[:1] * count, "learned", "Minutes", "min")
    assert drawn.height > 36 * count
    assert len(drawn.tables[0].rows) == count
