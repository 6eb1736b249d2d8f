"""Every printed paper, measured in its PDF: sizes, units, edges, colours, pages, and what must not be on any."""

import re

import pytest

from builds.documents import change_order_pdf, invoice_pdf, receipt_pdf, signature_pdf, work_order_pdf
from tests.builds import hand_made
from tests.builds.printed import PDFS, SMALLEST_PT, Printed, one, printed, quick_texts

HAIRLINE_PT = 0.5
# Each paper at one line, as many as a shop sees on a full ticket, and ten times that, on one paper or the other.
PRINTS = [
    ("quote", 1, "a4"),
    ("quote", 1, "letter"),
    ("quote", 30, "letter"),
    ("quote", 300, "a4"),
    ("later_quote", 30, "a4"),
    ("work_order", 1, "a4"),
    ("work_order", 1, "letter"),
    ("work_order", 30, "a4"),
    ("changed_work_order", 1, "letter"),
    ("disclaimer", 1, "a4"),
    ("disclaimer", 30, "letter"),
    ("signature", 1, "a4"),
    ("signature", 1, "letter"),
    ("signature", 60, "letter"),
    ("change_order", 1, "letter"),
    ("change_order", 30, "a4"),
    ("invoice", 1, "a4"),
    ("invoice", 60, "letter"),
    ("credit_note", 1, "letter"),
    ("credit_note", 60, "a4"),
    ("receipt", 1, "a4"),
    ("receipt", 1, "letter"),
    ("hand_over", 1, "a4"),
    ("hand_over", 1, "letter"),
    ("hand_over", 30, "letter"),
    ("end_labels", 10, "a4"),
    ("end_labels", 10, "letter"),
    ("test_sheet", 1, "letter"),
    ("test_sheet", 30, "a4"),
]
TO_BE_SIGNED = {"quote": 2, "later_quote": 2, "disclaimer": 1, "signature": 1, "hand_over": 1}
"""How many signatures a paper has."""
every_print = pytest.mark.parametrize(("name", "lines", "paper"), PRINTS)
every_document = pytest.mark.parametrize("name", PDFS)


@every_print
def test_every_page_names_its_ticket_and_says_which_page_of_how_many(name, lines, paper):
    texts = printed(name, lines, paper).texts
    for number, text in enumerate(texts, start=1):
        assert "0412" in text
        assert "T-0412" in text or "Q-0412-2" in text
        assert f"page {number} of {len(texts)}" in text


@every_print
def test_no_text_is_smaller_than_ten_and_a_half_points(name, lines, paper):
    paper = printed(name, lines, paper)
    assert min(min(paper.sizes(at)) for at in range(len(paper.pages))) >= SMALLEST_PT


@every_print
def test_no_text_reaches_into_the_outer_ten_millimetres(name, lines, paper):
    paper = printed(name, lines, paper)
    assert not [text for at in range(len(paper.pages)) for text in paper.outside(at)]


@every_print
def test_no_unit_is_parted_from_its_number(name, lines, paper):
    paper = printed(name, lines, paper)
    assert not [text for at in range(len(paper.pages)) for text in paper.parted(at)]


def test_a_sentence_full_of_figures_breaks_between_them_and_never_inside():
    words = "Drill 12 mm deep or 5 A or 24 h or 0.5 m or 7 Ah or 90 % of 2.5 kg, " * 12
    cautions = [hand_made.caution("capacity_high", severity, words) for severity in ("stop", "caution", "note")]
    estimate = hand_made.estimate(cautions=cautions)
    for step in estimate["labour"]["order"]:
        step["text"] = words[step["n"] :]
    for name in ("quote", "work_order"):
        for paper in ("a4", "letter"):
            print_ = one(name, estimate=estimate, paper=paper)
            assert not [text for at in range(len(print_.pages)) for text in print_.parted(at)]


@every_print
def test_only_black_and_white_are_printed_and_no_line_is_under_half_a_point(name, lines, paper):
    paper = printed(name, lines, paper)
    for at in range(len(paper.pages)):
        assert paper.colours(at) <= {0.0, 1.0}
        assert min(paper.strokes(at), default=1.0) >= HAIRLINE_PT - 0.01


@pytest.mark.parametrize(("name", "lines", "paper"), [one for one in PRINTS if one[0] in TO_BE_SIGNED])
def test_no_signature_stands_on_a_page_without_what_is_signed(name, lines, paper):
    """The last place of the list, or the last two lines of the statement, stay with the signature."""
    paper = printed(name, lines, paper)
    signed = [text for text in paper.texts if "Signature" in text]
    assert len(signed) == TO_BE_SIGNED[name]
    for text in signed:
        of_the_list = "I accept Q-0412-2" in text and hand_made.letter(min(lines, 10) * hand_made.HOLES_A_LINE) in text
        of_the_text = "I had time to ask" in text and "Nothing here takes away a right" in text
        of_the_page = name == "signature" and hand_made.places(lines)[-1][0] in text
        of_the_boat = name == "hand_over" and "We answer for our own work" in text.replace("\n", " ")
        assert of_the_list or of_the_text or of_the_page or of_the_boat


@pytest.mark.parametrize(("name", "paper"), [("later_quote", "a4"), ("change_order", "letter"), ("change_order", "a4")])
def test_no_sentence_of_a_long_list_is_split_over_two_pages(name, paper):
    texts = [" ".join(text.split()) for text in printed(name, 30, paper).texts]
    assert len([text for text in texts if "Begin" in text]) > 1, "the list is longer than a page"
    for n in range(1, 31):
        page = next(text for text in texts if f"Begin{n} " in text)
        assert f"end{n} " in page or page.endswith(f"end{n}")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_row_of_places_or_parts_is_split_over_two_pages(paper):
    """A name of several lines, at many places: the first and the last word of a row are on one page."""
    signing = hand_made.signing(places=tuple((f"P{n}", hand_made.marked(n), "") for n in range(1, 31)))
    signed = signature_pdf(hand_made.facts(), hand_made.sheet(), hand_made.estimate(), signing, paper)
    sheet = hand_made.sheet(30)
    for n, line in enumerate(sheet["lines"], start=1):
        line["accessory"] = f"part{n}"
        sheet["accessories"][f"part{n}"] = hand_made.ROD_TUBE | {"name": hand_made.marked(n)}
    billed = invoice_pdf(hand_made.facts(), sheet, hand_made.estimate(30), hand_made.invoice(), paper)
    for data in (signed, billed):
        texts = quick_texts(data)
        assert len([text for text in texts if "Begin" in text]) > 1
        for n in range(1, 31):
            assert f"end{n} " in next(text for text in texts if f"Begin{n} " in text)


@every_print
def test_no_cost_and_no_margin_is_on_any_paper(name, lines, paper):
    text = printed(name, lines, paper).whole
    assert "12.34" not in text and hand_made.COST not in text and "4,321.09" not in text
    assert "31.7" not in text and "327.91" not in text
    assert "margin" not in text.lower()


@every_document
def test_a_very_long_name_folds_and_stays_on_the_page(name):
    long = hand_made.LONG_NAME
    paper = one(
        name,
        facts=hand_made.facts(title=long[:120], hull_name=long[:120], customer="Q" * 90, shop_name=long[:120]),
        sheet=hand_made.sheet(3, name=long),
        estimate=hand_made.estimate(3),
        paper="letter",
    )
    for at in range(len(paper.pages)):
        assert not paper.outside(at)
        assert "H-0187" in paper.text(at) or at == 0 or name == "disclaimer"
    # A word that is longer than its box is broken, never cut off.
    assert paper.text(0).replace("\n", "").count("Q") >= 90


@every_document
def test_a_paper_is_printed_from_hardly_anything(name):
    """Without customer, dates, shop, openings, power, order of work, cautions and consumables."""
    facts = hand_made.facts(
        title="", hull_name="", hull_material="", customer="", shop_name="", shop_address="", number="",
        replaces=None, quote_number="", issued_at=None, valid_until=None, ready_on=None, accepted_at=None,
        accepted_by="", workmanship_days=0, base_url="", bins={},
    )  # fmt: skip
    sheet = hand_made.sheet(0) | {"people": [], "gear": []}
    price = hand_made.estimate(0)["price"] | {"parts": "0.00", "lines": []}
    estimate = {"price": price, "labour": {}, "weights": {}}
    text = one(name, facts=facts, sheet=sheet, estimate=estimate).whole
    assert "T-0412" in text
    assert "None" not in text and "{" not in text


ODD = "<b>Fish & Co</b> {{ 1 }}"


@every_document
def test_what_a_person_typed_is_printed_as_it_is_typed(name):
    assert ODD in one(name, facts=hand_made.facts(customer=ODD)).whole.replace("\n", " ")


def test_what_a_person_typed_into_the_later_papers_is_printed_as_it_is_typed():
    ticket = (hand_made.sheet(), hand_made.estimate())
    facts, place = hand_made.facts(), ("A–D", ODD, "")
    signing = hand_made.signing(name=ODD, note=ODD, override_reason=ODD, places=(place,), way=ODD)
    change = hand_made.change(what=[ODD], why=ODD, consent_name=ODD, recorded_by=ODD, new_places=[place])
    credit = hand_made.credit_note(why=ODD)
    for data, times in (
        (signature_pdf(facts, *ticket, signing, "a4"), 6),
        (change_order_pdf(facts, *ticket, change, "a4"), 5),
        (invoice_pdf(facts, *ticket, credit, "a4"), 1),
        (receipt_pdf(facts, hand_made.receipt(note=ODD, taken_by=ODD), "a4"), 2),
        (work_order_pdf(hand_made.facts(**hand_made.changed(changes=[ODD], consent=ODD)), *ticket, "a4"), 4),
    ):
        assert len(re.findall(r"<b>Fish\s*&\s*Co</b>\s*\{\{\s*1\s*\}\}", Printed(data).whole, re.IGNORECASE)) >= times
