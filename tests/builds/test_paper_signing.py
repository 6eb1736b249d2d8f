"""The signed page: what was accepted, the initials place by place, the signature as it was drawn, the file's hash."""

import hashlib
import io
import subprocess

import pdfplumber
import pytest

from builds.documents import quote_pdf, signature_pdf
from shop.pdf import joined
from tests.builds import hand_made
from tests.builds.printed import Printed

MM = 72 / 25.4
CURL = ((100, 40), (300, 260), (600, 40), (900, 260))


def signed(lines: int = 1, paper: str = "a4", facts=None, estimate=None, **given) -> Printed:
    """Print the signed page of a ticket of so many lines, each one place."""
    signing = hand_made.signing(lines, **given)
    estimate = estimate or hand_made.estimate(lines)
    return Printed(signature_pdf(facts or hand_made.facts(), hand_made.sheet(lines), estimate, signing, paper))


def test_the_page_says_what_was_accepted_by_whom_when_and_in_which_way():
    text = signed().text(0)
    for words in (
        "Q-0412-2",
        "1,033.92 USD",
        "26 Nov 2026, 08:10",
        "Customer 0412",
        "By a link",
        "to sign electronically",
    ):
        assert words in text
    for words in ("customer@example.test", "Counter One", "text version 1", "T-0412", "H-0187"):
        assert words in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_full_ticket_of_eleven_places_is_signed_on_one_page(paper):
    """With a drawing, a note and the owner's reason for going on in spite of a stop."""
    page = signed(
        11, paper, drawing=(CURL,), note="Signed beside the boat.", override_reason="The customer tows it empty."
    )
    assert len(page.pages) == 1
    text = page.text(0)
    assert "Signed beside the boat." in text and "in spite of a stop" in text and "The customer tows it empty." in text
    assert "44 openings, at 11 places" in text
    for letters, what, where in hand_made.places(11):
        assert f"{letters} {what} – {where} S. T." in text


def test_a_place_without_initials_says_that_it_has_none():
    text = signed(2, initialled=("A–D",)).text(0)
    assert "Rear deck, port S. T." in text and "Rear deck, port none" in text


def test_initials_that_were_ticked_and_not_written_are_never_made_up():
    text = signed(way="on paper", initials="").text(0)
    assert "Rear deck, port given" in text and "S. T." not in text


def test_the_signature_is_drawn_as_the_customer_drew_it():
    """The pad's 1000 by 300 units on 84 by 25.2 mm: 100 units are 8.4 mm, and a corner stays a corner."""
    page = signed(drawing=(CURL,)).pages[0]
    (curve,) = [one for one in page.curves if len(one["pts"]) == len(CURL)]
    left, top = curve["pts"][0]
    moved = [((x - left) / MM, (y - top) / MM) for x, y in curve["pts"]]
    for (x, y), (x_pad, y_pad) in zip(moved, CURL, strict=True):
        assert (x, y) == pytest.approx(((x_pad - 100) * 0.084, (y_pad - 40) * 0.084), abs=0.01)
    assert curve["linewidth"] >= 0.8


def test_a_dot_leaves_a_mark_and_an_empty_stroke_does_not_matter():
    dot = signed(drawing=((), ((500, 150),))).pages[0]
    pen = [one for one in (*dot.lines, *dot.curves) if one["linewidth"] > 1.5]
    assert len(pen) == 1 and pen[0]["width"] < 0.5


def test_the_page_says_whether_the_name_was_drawn_typed_or_put_on_paper():
    assert "drawn by hand" in signed(drawing=(CURL,)).text(0)
    assert "drawn" not in signed().text(0) and "typed as the signature" in signed().text(0)
    assert "drawn" not in signed(drawing=((),)).text(0)
    on_paper = signed(way="on paper", agreed_electronically=False, sent_to="").text(0).replace("\n", " ")
    assert "signed on paper" in on_paper and "typed" not in on_paper and "electronically" not in on_paper
    assert "Link sent to" not in on_paper


def test_something_else_than_numbers_is_not_drawn():
    with pytest.raises(ValueError, match="format code"):
        signed(drawing=((("<script>", 1), (2, 3)),))


def test_the_hash_stands_in_eight_groups_of_eight_at_nine_points_or_more():
    page = signed()
    groups = [hand_made.SHA256[at : at + 8] for at in range(0, 64, 8)]
    found = [word for word in page.words(0) if word["text"] in groups]
    assert [word["text"] for word in found] == groups
    assert min(word["size"] for word in found) >= 9
    assert len({round(word["top"]) for word in found}) == 1


@pytest.mark.parametrize("widest", ["d" * 64, "8" * 64, "ab" * 32])
def test_no_hash_is_so_wide_that_its_groups_run_together(widest):
    for paper in ("a4", "letter"):
        words = [word["text"] for word in signed(paper=paper, quote_sha256=widest).words(0)]
        assert words.count(widest[:8]) == 8


def test_what_the_page_tells_to_do_proves_the_file(tmp_path):
    """The command that the page names, of GNU coreutils, on the quote's file, against what is printed on the page."""
    quote = quote_pdf(hand_made.facts(), hand_made.sheet(), hand_made.estimate(), "a4")
    page = signed(quote_sha256=hashlib.sha256(quote).hexdigest())
    assert "sha256sum of the quote's file gives this number" in page.text(0).replace("\n", " ")
    file = tmp_path / "Q-0412-2.pdf"
    file.write_bytes(quote)
    told = subprocess.run(["sha256sum", file], capture_output=True, text=True, check=True).stdout.split()[0]
    assert " ".join(told[at : at + 8] for at in range(0, 64, 8)) in page.text(0)


def test_the_signed_page_follows_the_quotes_own_pages():
    quote = quote_pdf(hand_made.facts(), hand_made.sheet(), hand_made.estimate(), "letter")
    signing = hand_made.signing()
    page = signature_pdf(hand_made.facts(), hand_made.sheet(), hand_made.estimate(), signing, "letter")
    with pdfplumber.open(io.BytesIO(joined(quote, page))) as both, pdfplumber.open(io.BytesIO(quote)) as alone:
        assert len(both.pages) == len(alone.pages) + 1
        assert [one.chars for one in both.pages[:-1]] == [one.chars for one in alone.pages]
        assert "Signed page of quote Q-0412-2" in both.pages[-1].extract_text()


def test_without_openings_the_page_says_what_is_known_of_them():
    none = signed(places=(), initialled=(), estimate=hand_made.estimate(openings=[])).text(0)
    assert "No opening is made in the boat" in none and "Initials" not in none
    unknown = signed(places=(), initialled=(), estimate=hand_made.estimate(openings=None)).text(0)
    assert "Each opening is shown before it is made" in unknown
