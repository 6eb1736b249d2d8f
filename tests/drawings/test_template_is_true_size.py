"""The drilling template at true size: measured in the PDF that the print chain makes, by a general PDF library."""

import io
import json
from itertools import pairwise
from pathlib import Path

import pdfplumber
import pytest
from weasyprint import HTML

from builds.drawings.pattern import Cut, Pattern, pattern_drawing
from builds.drawings.template import MOST_SHEETS, OVERLAP_MM, template, tiling_of
from tests.drawings.reading import points_of, read, shrunk

MM_PT = 72 / 25.4
TYPES = Path(__file__).parents[2] / "fixtures" / "catalogue" / "accessories.json"
ROD_TUBE = Pattern(
    name="flush tube rod holder",
    cuts=(
        Cut(diameter_mm=54, purpose="tube", letter="X"),
        Cut(dx_mm=38, dy_mm=0, diameter_mm=5.2, letter="U"),
        Cut(dx_mm=-19, dy_mm=32.9, diameter_mm=5.2, letter="Y"),
        Cut(dx_mm=-19, dy_mm=-32.9, diameter_mm=5.2, letter="AA"),
    ),
    side="starboard",
)
PANEL = Pattern(
    name="switch panel",
    cuts=(
        Cut(shape="rectangle", width_mm=95, height_mm=60, corner_mm=5, letter="C"),
        *(Cut(dx_mm=x, dy_mm=y, diameter_mm=4.2) for x in (-57, 57) for y in (-38, 38)),
    ),
)
TRACK = Pattern(
    name="gear track 300 mm",
    cuts=tuple(
        Cut(dx_mm=x, diameter_mm=5.2, letter=letter) for x, letter in zip((-130, -43.3, 43.3, 130), "KMOQ", strict=True)
    ),
)


def printed(pattern):
    """The pages of the template as PDF, A4 with margins of 14 mm."""
    css = "@page { size: A4; margin: 14mm } body { margin: 0 } svg { display: block } div { break-after: page }"
    pages = "".join(f"<div>{sheet.svg}</div>" for sheet in template(pattern, "t"))
    pdf = HTML(string=f"<meta charset=utf-8><style>{css}</style>{pages}").write_pdf()
    return pdfplumber.open(io.BytesIO(pdf)).pages


def level_lines(page, least_mm=60):
    return [
        line for line in page.lines if abs(line["top"] - line["bottom"]) < 0.01 and line["width"] > least_mm * MM_PT
    ]


@pytest.fixture(scope="module")
def rod_tube():
    return printed(ROD_TUBE)[0]


def test_the_100_mm_line_is_100_mm_long_on_paper(rod_tube):
    longest = [line["width"] / MM_PT for line in level_lines(rod_tube) if line["linewidth"] > 1.2]
    assert longest == [pytest.approx(100.0, abs=0.2)]


def test_the_line_says_what_to_do_with_it(rod_tube):
    words = rod_tube.extract_text()
    assert "measure this line: 100 mm" in words and "Not 100 mm: do not cut." in words


def test_circles_and_their_distances_are_true_on_paper(rod_tube):
    # The library's box is that of a curve's points; those of a circle lie on its level diameter.
    circles = [curve for curve in rod_tube.curves if curve["width"] > 3 * MM_PT]
    sizes = sorted(round(curve["width"] / MM_PT, 1) for curve in circles)
    assert sizes == [5.2, 5.2, 5.2, 54.0]
    (tube,) = [c for c in circles if c["width"] > 50 * MM_PT]
    aft = max(circles, key=lambda c: c["x1"])
    between = (aft["x0"] + aft["x1"] - tube["x0"] - tube["x1"]) / 2 / MM_PT
    assert between == pytest.approx(38.0, abs=0.05)


def test_a_cut_out_is_true_on_paper():
    page = printed(PANEL)[0]
    (cut,) = [curve for curve in page.curves if curve["width"] > 80 * MM_PT]
    assert (cut["width"] / MM_PT, cut["height"] / MM_PT) == pytest.approx((95, 60), abs=0.05)


def test_a_pattern_larger_than_the_paper_is_parted_and_every_sheet_has_the_line():
    pages = printed(TRACK)
    assert len(pages) == 2
    for number, page in enumerate(pages, start=1):
        words = page.extract_text()
        assert "measure this line: 100 mm" in words and f"sheet {number} of 2" in words
        assert "Lay the crosses of two sheets on each other." in words


def test_sheets_laid_on_their_crosses_give_the_pattern_back():
    first, second = (read(sheet.svg) for sheet in template(TRACK, "t"))
    crosses = [
        sorted({(a[0] + b[0]) / 2 for a, b in points_of(s.all("path", "d-thin")[-1].get("d"))}) for s in (first, second)
    ]
    shift = crosses[0][-1] - crosses[1][0]
    centres = [[(float(x), 0) for x in centre_xs(s)] for s in (first, second)]
    seen = sorted({round(x, 1) for x, _ in centres[0]} | {round(x + shift, 1) for x, _ in centres[1]})
    gaps = [b - a for a, b in pairwise(seen)]
    assert gaps == pytest.approx([86.7, 86.6, 86.7], abs=0.11)


def centre_xs(sheet):
    """The middles of the holes of a sheet, those outside its window too."""
    return [float(g[0].get("d")[1:].split()[0]) + 2.6 for g in sheet.all("g", "d-hole")]


def test_what_a_sheet_shows_ends_at_its_window():
    first = read(template(TRACK, "t")[0].svg)
    (window,) = first.all("clipPath")
    assert any(g.get("clip-path") == f"url(#{window.get('id')})" for g in first.all("g"))


def test_sheets_overlap_by_15_mm():
    tiling = tiling_of(TRACK)
    assert tiling.across * (tiling.wide_mm - OVERLAP_MM) + OVERLAP_MM >= 260 + 5.2 + 52


def test_a_pattern_of_more_than_six_sheets_is_left_to_the_tape():
    trolley = Pattern(name="trolley", cuts=tuple(Cut(dx_mm=x, diameter_mm=4.9) for x in range(-900, 901, 100)))
    assert tiling_of(trolley).count > MOST_SHEETS
    assert template(trolley, "t") == ()


def test_without_openings_there_is_no_template():
    assert template(Pattern(name="screen on a track", cuts=()), "t") == ()


def where(pattern, index):
    """Where an opening is drawn from the crossing of the centre lines: right and down [mm]."""
    sheet = read(template(pattern, "t")[0].svg)
    across, upright = points_of(sheet.all("path", "d-chain")[0].get("d"))
    start = sheet.all("g", "d-hole")[index][0].get("d")[1:].split("a")[0].split()
    radius = (pattern.cuts[index].diameter_mm or 0) / 2
    return float(start[0]) + radius - upright[0][0], float(start[1]) - across[0][1]


def test_on_deck_aft_is_right_and_starboard_is_up():
    assert where(ROD_TUBE, 2) == pytest.approx((-19, -32.9), abs=0.02)


def test_the_starboard_side_seen_from_outside_has_her_bow_to_the_right():
    cuts = (Cut(dx_mm=30, dy_mm=10, diameter_mm=5),)
    assert where(Pattern(name="p", cuts=cuts, surface="side", side="starboard"), 0) == pytest.approx(
        (-30, -10), abs=0.02
    )
    assert where(Pattern(name="p", cuts=cuts, surface="side", side="port"), 0) == pytest.approx((30, -10), abs=0.02)


def test_the_bottom_is_seen_from_below():
    cuts = (Cut(dx_mm=30, dy_mm=10, diameter_mm=5),)
    assert where(Pattern(name="p", cuts=cuts, surface="bottom", side="starboard"), 0) == pytest.approx(
        (30, 10), abs=0.02
    )


@pytest.mark.parametrize(
    ("surface", "side", "bow_left", "mark"),
    [
        ("deck", "starboard", True, ("outboard", 1)),
        ("deck", "port", True, ("outboard", -1)),
        ("deck", "", True, ("starboard", 1)),
        ("side", "starboard", False, ("gunwale", 1)),
        ("side", "port", True, ("gunwale", 1)),
        ("bottom", "starboard", True, ("outboard", -1)),
        ("bottom", "port", True, ("outboard", 1)),
    ],
)
def test_the_arrows_point_to_the_bow_and_outboard(surface, side, bow_left, mark):
    pattern = Pattern(name="p", cuts=ROD_TUBE.cuts, surface=surface, side=side)
    assert pattern.bow_left is bow_left and pattern.mark == mark
    picture = read(template(pattern, "t")[0].svg)
    bow = next(e for e in picture.all("text") if e.text == "bow")
    assert (float(bow.get("x")) < picture.width / 2) is bow_left
    assert any(e.text == mark[0] for e in picture.all("text"))


def test_every_opening_is_named_by_letter_and_size():
    words = [text for text, _ in read(template(ROD_TUBE, "t")[0].svg).texts]
    assert {"X  54\u202fmm", "U  5.2\u202fmm", "Y  5.2\u202fmm", "AA  5.2\u202fmm"} <= set(words)


def test_the_pattern_of_a_type_shows_its_sizes_and_distances():
    words = [text for text, _ in read(pattern_drawing(PANEL, "p").svg).texts]
    assert {"95", "60", "114", "76", "4 × 4.2"} <= set(words)
    assert pattern_drawing(PANEL, "p").tables[0].rows[0] == ("C", "", "95 × 60 mm", "0", "0", "")


def shipped_patterns():
    for record in json.loads(TYPES.read_text()):
        if record["openings"]:
            keys = ("shape", "dx_mm", "dy_mm", "diameter_mm", "width_mm", "height_mm", "purpose")
            cuts = [
                {key: hole.get(key) for key in keys} | {"corner_mm": hole.get("corner_mm") or 0.0}
                for hole in record["openings"]
            ]
            yield Pattern(name=record["name"], cuts=tuple(Cut(**cut) for cut in cuts))


def test_the_pattern_of_every_shipped_type_stays_inside_its_drawing():
    count = 0
    for pattern in shipped_patterns():
        picture = read(pattern_drawing(pattern, "p").svg)
        for _, box in picture.texts:
            assert box.left >= 0 and box.right <= picture.width and box.top >= 0 and box.bottom <= picture.height, (
                pattern.name
            )
        count += 1
    assert count > 50


def test_the_template_of_every_shipped_type_that_fits_keeps_its_lettering_apart():
    for pattern in shipped_patterns():
        sheets = template(pattern, "t")
        for sheet in sheets if len(sheets) == 1 else ():
            boxes = sorted(shrunk(box, 0.05) for box in read(sheet.svg).text_boxes)
            for i, box in enumerate(boxes):
                assert not any(box.meets(other) for other in boxes[i + 1 :] if other.left < box.right), pattern.name
