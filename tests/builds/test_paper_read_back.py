"""Papers read by machines: values to act on by a text recogniser, the code by a reader, the check line by its length.

The recogniser is Debian's tesseract, the reader of codes zxing-cpp; both know nothing of this project.
"""

import io
import re
import shutil
import subprocess

import pytest
import zxingcpp

from builds.documents import work_order_context
from tests.builds import hand_made
from tests.builds.printed import estimate_of, printed
from tests.machine import CI

TESSERACT = shutil.which("tesseract")
ACT_PT = 18
AROUND_PT = 3
MM_PER_PT = 25.4 / 72

needs_recogniser = pytest.mark.skipif(
    TESSERACT is None and not CI, reason="no text recogniser here; on Debian: apt install tesseract-ocr"
)


def one_bit(page, dpi: int):
    """Return a page as a printer with black and nothing else has it."""
    grey = page.to_image(resolution=dpi).original.convert("L")
    return grey.point(lambda value: 0 if value < 128 else 255)


def recognised(picture) -> str:
    """Return the one line of text in a picture, spaces left out."""
    data = io.BytesIO()
    picture.save(data, "PNG", dpi=(150, 150))
    command = [TESSERACT, "-", "-", "--psm", "7", "--dpi", "150"]
    done = subprocess.run(command, input=data.getvalue(), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True)
    return re.sub(r"\s", "", done.stdout.decode())


def values_on(page):
    """Yield the place of each value to act on: the words of 18 pt that stand in one line at the right of a step."""
    words = page.extract_words(extra_attrs=["size"])
    edge = max(word["x1"] for word in words)
    words = [word for word in words if round(word["size"]) == ACT_PT and word["x0"] > page.width / 2]
    lines: dict[int, list[dict]] = {}
    for word in words:
        lines.setdefault(round(word["bottom"]), []).append(word)
    for line in lines.values():
        text = "".join(word["text"] for word in sorted(line, key=lambda word: word["x0"]))
        box = [min(word["x0"] for word in line), min(word["top"] for word in line)]
        box += [max(word["x1"] for word in line), max(word["bottom"] for word in line)]
        if abs(box[2] - edge) < 2:
            yield text, box


@needs_recogniser
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_value_to_act_on_is_recognised_in_black_and_white_at_150_dpi(paper):
    read = []
    for page in printed("work_order", 2, paper).pages:
        picture, scale = None, 150 / 72
        for wanted, (left, top, right, bottom) in values_on(page):
            picture = picture or one_bit(page, 150)
            around = (left - AROUND_PT, top - AROUND_PT, right + AROUND_PT, bottom + AROUND_PT)
            read.append((wanted, recognised(picture.crop(tuple(round(at * scale) for at in around)))))
    context = work_order_context(hand_made.facts(), hand_made.sheet(2), estimate_of(2))
    asked = [value for phase in context["phases"] for step in phase.steps for value in step.values]
    assert len(read) == len(asked) >= 8
    assert [(wanted, found) for wanted, found in read if found != wanted] == []


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_code_is_read_back_at_100_dpi_in_black_and_white(paper):
    [code] = zxingcpp.read_barcodes(one_bit(printed("work_order", 1, paper).pages[0], 100))
    assert code.text == hand_made.facts().bench_url


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_check_line_of_every_template_is_100_mm_long_in_the_pdf(paper):
    """Within 0.2 mm: what a shop's ruler shows."""
    from tests.builds.test_hole_templates import printed as templates

    _, pdf = templates("first_fishing_rig", paper)
    for page in pdf.pages:
        [words] = page.search(r"measure this line: 100 mm")
        level = [line for line in page.lines if abs(line["top"] - line["bottom"]) < 0.1]
        near = [line for line in level if abs(line["top"] - words["bottom"]) < 40]
        lengths = [(line["x1"] - line["x0"]) * MM_PER_PT for line in near]
        assert any(abs(length - 100) <= 0.2 for length in lengths), lengths
