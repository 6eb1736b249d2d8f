"""PDFs come from packaged files alone, and are the same every time."""

import builtins
import io
import os
import subprocess
import sys
from pathlib import Path

import pdfplumber
import pytest

from shop import printer
from shop.pdf import Refused, Unavailable, joined, pdf
from shop.printer import packaged

PAGE = "<html><body data-left='T-1' data-right='' data-foot=''><p>Depth 12\u202fmm, cure 24\u202fh</p></body></html>"
MM = 72 / 25.4


def opened(data: bytes):
    return pdfplumber.open(io.BytesIO(data))


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"),
    # ISO 216: A4 is 210 x 297 mm. US Letter is 8.5 x 11 in (ANSI/ASME Y14.1), 215.9 x 279.4 mm.
    [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)],
)
def test_a_page_has_the_size_of_its_paper(paper, width_mm, height_mm):
    with opened(pdf(PAGE, paper)) as document:
        page = document.pages[0]
    assert (page.width / MM, page.height / MM) == pytest.approx((width_mm, height_mm), abs=0.1)


def test_another_paper_is_refused_by_name():
    with pytest.raises(ValueError, match="no paper is called a5; accepted: a4, letter"):
        pdf(PAGE, "a5")


def test_the_same_page_gives_the_same_bytes_in_another_process_too():
    here = pdf(PAGE)
    assert pdf(PAGE) == here
    code = f"import sys; from shop.printer import layout; sys.stdout.buffer.write(layout({PAGE!r}, 'a4'))"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=Path(printer.__file__).parents[1],
        env=os.environ | {"PYTHONHASHSEED": "7"},
        capture_output=True,
        check=True,
    )
    assert done.stdout == here


def test_another_page_gives_other_bytes():
    assert pdf(PAGE) != pdf(PAGE.replace("12", "13"))


def test_the_packaged_font_sets_every_sign_of_the_trade():
    signs = "0O 1lI 5.2\u202fmm 60\u202f×\u202f95 −4 90° 2\u00a01/8\u00a0in A–D … ’ “ ” 120\u202fΩ 4\u202fµm"
    with opened(pdf(PAGE.replace("Depth", signs))) as document:
        fonts = {char["fontname"].split("+")[-1] for char in document.pages[0].chars}
    assert {name.replace("-", "").replace("_", "") for name in fonts} <= {"B612", "B612Bold", "B612Regular"}


@pytest.mark.parametrize(
    "asked",
    [
        "<img src='http://HERE/a.png'>",
        "<img src='file:///etc/passwd'>",
        "<img src='data:image/png;base64,iVBORw0KGgo='>",
        "<img src='a.png'>",
        "<link rel='stylesheet' href='http://HERE/a.css'>",
        "<link rel='attachment' href='http://HERE/a.txt'>",
        "<style>@import url(http://HERE/a.css);</style>",
        "<style>@import url(ftp://HERE/a.css);</style>",
        "<style>@font-face { font-family: x; src: url(http://HERE/a.otf) } p { font-family: x }</style>",
        "<p style='background: url(http://HERE/a.png)'>x</p>",
        "<object data='http://HERE/a.svg'></object>",
        "<svg viewBox='0 0 9 9'><image href='http://HERE/a.png' width='9' height='9'/></svg>",
        "<svg viewBox='0 0 9 9'><use href='http://HERE/a.svg#b'/></svg>",
    ],
)
def test_nothing_from_outside_gets_into_a_page(asked, listener):
    """Whatever the page asks for is refused or left alone: nobody calls, and no other file is read."""
    port, calls = listener
    try:
        data = pdf(PAGE.replace("</body>", f"{asked.replace('HERE', f'127.0.0.1:{port}')}</body>"))
    except Refused as error:
        assert "is not packaged with the program" in str(error) or "without a base URI" in str(error)
    else:
        with opened(data) as document:
            assert not document.pages[0].images
            assert not document.doc.catalog.get("Names")
    assert calls() == 0


def test_a_drawing_that_would_be_left_out_ends_the_pdf():
    turned = "<svg viewBox='0 0 9 9'><g transform='rotate(x)'><path d='M1 1 L2 2'/></g></svg>"
    with pytest.raises(Refused, match="Failed to render SVG"):
        pdf(PAGE.replace("</body>", f"{turned}</body>"))


def test_an_image_of_another_machine_ends_the_pdf():
    with pytest.raises(Refused, match=r"https://example.com/a.png is not packaged"):
        pdf(PAGE.replace("</body>", "<img src='https://example.com/a.png'></body>"))


@pytest.mark.parametrize(
    ("file", "served"),
    [
        ("print/print.css", True),
        ("fonts/B612-Bold.otf", True),
        ("print/../print/print.css", True),
        ("fonts/OFL.txt", False),
        ("shop/screen.css", False),
        ("print/absent.css", False),
        ("../settings.py", False),
        ("fonts/../../settings.py", False),
    ],
)
def test_only_print_sheets_and_fonts_are_served(file, served):
    assert (packaged(f"file://{printer.STATIC}/{file}") is not None) is served


def test_a_packaged_path_on_another_host_is_not_served():
    assert packaged(f"file://example.com{printer.STATIC}/print/print.css") is None
    assert packaged(f"http://localhost{printer.STATIC}/print/print.css") is None


def test_without_pango_the_message_names_the_debian_packages(monkeypatch):
    real = builtins.__import__

    def without_weasyprint(name, *args, **kwargs):
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without_weasyprint)
    printer.library.cache_clear()
    with pytest.raises(Unavailable, match=r"Pango library is missing.*libpango-1\.0-0, libpangoft2-1\.0-0"):
        printer.layout(PAGE, "a4")
    assert printer.answer(lambda: printer.layout(PAGE, "a4"))[0] == "unavailable"


# One file after another

DRAWN = PAGE.replace(
    "</p>", "</p><svg width='90' height='30'><path d='M1 1 L80 20' stroke='#000' stroke-width='2'/></svg>"
)


def what_is_on(page) -> tuple:
    """Return the text of a page, letter by letter with its place and font, and everything that is drawn on it."""
    letters = [(one["text"], one["x0"], one["top"], one["size"], one["fontname"]) for one in page.chars]
    drawn = [(one["pts"], one["linewidth"]) for one in (*page.lines, *page.curves)]
    return page.width, page.height, letters, drawn


def test_the_pages_of_one_file_follow_anothers_and_all_stay_as_they_were():
    first, second = pdf(DRAWN.replace("12", "13")), pdf(PAGE, "letter")
    with opened(first) as one, opened(second) as two, opened(joined(first, second, first)) as all_three:
        expected = [what_is_on(page) for page in (*one.pages, *two.pages, *one.pages)]
        assert expected[0][3], "the first page has a drawing"
        assert [what_is_on(page) for page in all_three.pages] == expected


def test_a_joined_file_keeps_the_title_of_the_first_and_is_the_same_every_time():
    first = pdf(PAGE.replace("<body", "<head><title>Quote Q-1</title></head><body"))
    second = pdf(PAGE)
    assert joined(first, second) == joined(first, second)
    with opened(joined(first, second)) as both:
        assert both.metadata["Title"] == "Quote Q-1"


def test_of_no_file_nothing_is_joined():
    with pytest.raises(ValueError, match="no PDF is given"):
        joined()
