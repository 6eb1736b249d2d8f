"""Quote, statement and work order, read back from their PDFs: what they say and what they leave out."""

from functools import cache

import pytest
import segno
import weasyprint

from builds import documents
from builds.documents import work_order_pdf
from shop import printer
from tests.builds import hand_made
from tests.builds.printed import PDFS, estimate_of, modules_of, one, printed, quick_texts


@cache
def three_hundred_steps() -> bytes:
    estimate = estimate_of(15)
    estimate["labour"]["order"] = hand_made.steps(15, each=5)
    assert len(estimate["labour"]["order"]) == 300
    return work_order_pdf(hand_made.facts(), hand_made.sheet(15), estimate, "letter")


# The quote


def test_a_quote_says_price_deposit_ready_date_and_until_when_it_is_good():
    first = printed("quote", 1, "a4").text(0)
    assert "1,033.92 USD" in first and "11.00 USD" in first
    assert "Tue 1 Dec 2026" in first and "Good until 9 Dec 2026" in first


def test_a_quote_lists_every_charge_with_the_tax_on_kinds_of_one_rate_together():
    """6 % of 22.00 and of 12.36: 1.32 and 0.74 (0.7416), 2.06 together; by hand."""
    text = printed("quote", 1, "a4").whole
    assert "Labour, 10 h 30 at 95.00 an hour 997.50" in text
    assert "Consumables, by use 12.36" in text
    assert "Tax, 6 % on parts and consumables 2.06" in text
    assert "Total, tax included, USD 1,033.92" in text


def test_a_discount_and_each_fee_are_charges_of_their_own():
    sheet = hand_made.sheet() | {
        "discount": {"fraction": "0.025"},
        "fees": [{"name": "Expedite", "amount": "40"}],
    }
    estimate = hand_made.estimate()
    estimate["price"] |= {"discount": "25.49", "fees": "40.00"}
    text = one("quote", sheet=sheet, estimate=estimate).whole
    assert "Discount, 2.5 % of parts and labour −25.49" in text
    assert "Expedite 40.00" in text


def test_parts_that_the_shop_does_not_sell_say_whose_they_are():
    sheet = hand_made.sheet(3)
    sheet["lines"][0]["supplied_by"] = "customer"
    sheet["lines"][1]["supplied_by"] = "already_fitted"
    estimate = hand_made.estimate(3)
    for line in estimate["price"]["lines"][:2]:
        line |= {"unit_price": None, "amount": "0.00"}
    text = one("quote", sheet=sheet, estimate=estimate).whole
    assert "your own" in text and "on the boat" in text
    assert text.count("22.00 22.00") == 1


def test_a_part_without_a_price_is_not_given_away():
    estimate = hand_made.estimate()
    estimate["price"]["lines"][0] |= {"unit_price": None, "amount": "0.00"}
    assert "no price yet" in one("quote", estimate=estimate).text(0)


def test_the_openings_are_counted_above_the_signature_and_each_place_lists_its_letters():
    paper = printed("quote", 1, "a4")
    page = next(text for text in paper.texts if "Number of openings" in text)
    assert "A–D" in page and "3 × 5.2 mm" in page and "1 × 54 mm" in page
    assert page.index("Number of openings: 4") < page.index("Signature")


def test_a_boat_without_openings_says_so_and_is_signed_all_the_same():
    text = one("quote", estimate=hand_made.estimate(openings=[])).whole
    assert "Number of openings: 0" in text and text.count("Signature") == 2
    assert "Initials" not in text


def test_an_estimate_that_knows_nothing_of_openings_does_not_say_that_there_are_none():
    text = one("quote", estimate=hand_made.estimate(openings=None)).whole
    assert "Number of openings" not in text
    assert "Each opening is shown to you" in text


def test_stop_caution_and_note_stand_as_words_and_the_owner_s_reason_with_them():
    cautions = [hand_made.caution("deck_awash", "stop", "The floor floods."), *hand_made.estimate()["cautions"]]
    facts = hand_made.facts(override_reason="The customer tows it empty.")
    for name in ("quote", "work_order"):
        text = one(name, facts=facts, estimate=hand_made.estimate(cautions=cautions)).whole
        assert (
            "STOP The floor floods." in text and "CAUTION Loaded with 122 kg" in text and "Note No float test" in text
        )
        assert "Reason: The customer tows it empty." in text.replace("\n", " ")
        assert "Basis: common practice." in text.replace("\n", " ")


# The statement


def test_the_statement_holds_what_the_ticket_calls_for_and_nothing_else():
    plain = one("disclaimer").whole
    assert "lithium" not in plain and "old plastic" not in plain and "Parts that I brought" not in plain
    cautions = [hand_made.caution("lithium_care", "caution", "Charge it ashore.")]
    sheet = hand_made.sheet(old=True, rated_load_kg=None)
    sheet["lines"][0]["supplied_by"] = "customer"
    text = one("disclaimer", sheet=sheet, estimate=hand_made.estimate(cautions=cautions)).whole.replace("\n", " ")
    assert "above 0 °C" in text and "old plastic may crack" in text and "Parts that I brought" in text
    assert "rated load is not known" in text


def test_the_statement_names_warranty_openings_capacity_law_workmanship_and_its_version():
    text = printed("disclaimer", 1, "a4").whole.replace("\n", " ")
    for words in (
        "may end or limit the hull maker's warranty",
        "There are 4 openings, at 1 place",
        "does not raise the hull maker's rated load of 172 kg",
        "paddler 95 kg, kit 18 kg",
        "The parts add 8.9 kg",
        "estimates without a float test",
        "under the law of the place",
        "for 90 days",
        "to be checked by a licensed adviser",
        "version 1",
    ):
        assert words in text


def test_the_quote_ends_with_the_same_statement():
    assert "What changes to the boat mean" in printed("quote", 1, "a4").texts[-1]


# The work order


def test_a_work_order_names_no_price():
    text = printed("work_order", 1, "a4").whole
    assert "22.00" not in text and "997.50" not in text and "USD" not in text and "1,033.92" not in text


def test_step_text_is_fourteen_points_and_the_values_to_act_on_eighteen_bold():
    paper = printed("work_order", 1, "a4")
    words = [word for at in range(len(paper.pages)) for word in paper.words(at)]
    begins = [word for word in words if word["text"].startswith("Begin")]
    assert len(begins) == 4 and {round(word["size"]) for word in begins} == {14}
    values = " ".join(word["text"] for word in words if round(word["size"]) == 18 and "Bold" in word["fontname"])
    assert all(value in values for value in ("54 mm", "5.2 mm", "5 mm", "24 h"))


@pytest.mark.parametrize(("lines", "paper"), [(1, "a4"), (30, "a4")])
def test_no_step_is_split_over_two_pages(lines, paper):
    """The caution before a step, its first and last words and the part that it is about are on one page."""
    texts = printed("work_order", lines, paper).texts
    for step in hand_made.steps(lines):
        page = next(text for text in texts if f"Begin{step['n']} " in text)
        assert f"end{step['n']}." in page.replace("\n", " ")
        if step["caution"]:
            before = page[: page.index(f"Begin{step['n']} ")]
            assert before.rstrip().endswith(str(step["n"])) and step["caution"] in "".join(before.splitlines()[-2:])


def test_none_of_three_hundred_steps_is_split_either():
    texts = quick_texts(three_hundred_steps())
    for n in range(1, 301):
        page = next(text for text in texts if f"Begin{n} " in text)
        assert f"end{n}." in page
    assert all(f"page {number} of {len(texts)}" in text for number, text in enumerate(texts, start=1))


def test_every_step_has_its_number_a_box_of_six_millimetres_and_its_minutes():
    paper = printed("work_order", 30, "a4")
    side = 6 * 72 / 25.4
    boxes = [
        rect
        for at in range(len(paper.pages))
        for rect in paper.pages[at].rects
        if abs(rect["width"] - side) < 1 and abs(rect["height"] - side) < 1
    ]
    picked, wires, checks = 30 + 2, 2, 60
    tests = 30 * 4 + 1
    assert len(boxes) >= len(hand_made.steps(30)) + checks + picked + wires + tests


def test_check_steps_alone_have_a_second_tick():
    assert printed("work_order", 1, "a4").whole.count("second tick") == 2


def test_the_stop_before_the_first_hole_says_how_the_initials_stand():
    none = one("work_order").whole.replace("\n", " ")
    assert "No initials are on record" in none
    some = one("work_order", facts=hand_made.facts(initialled=["A–D"])).whole.replace("\n", " ")
    assert "Initialled by Customer 0412 on 26 Nov 2026, 08:10: 1 of 1 place" in some
    drill = some.index("Drill and cut")
    assert "STOP Do not drill" in some[drill : some.index("Begin2")]


def test_each_hole_has_a_row_in_both_unit_systems_with_its_bit_and_height_above_water():
    """600 mm is 23.62 in, 23 5/8; 290 mm is 11.417 in, 11 13/32 to the nearest 1/32: 25.4 mm to the inch."""
    text = printed("work_order", 1, "a4").whole
    assert "600 mm" in text and "23 5/8 in" in text
    assert "290 mm P" in text and "11 13/32 in" in text
    assert "5.2 mm" in text and "no. 5" in text and "201 mm" in text


def test_fuses_conductors_and_the_cut_list_are_named_with_their_limits():
    """3 % of 12 V is 0.36 V; a length is cut to the centimetre above."""
    text = printed("work_order", 1, "a4").whole
    assert "Main fuse 10 A" in text and "7.5 A" in text and "brown" in text and "18 AWG" in text
    assert "at most 0.36 V" in text
    assert "1.51 m" in text and "1.50 m" in text


def test_readings_are_written_beside_what_is_expected():
    """One tube takes 0.9 A in use and 1.5 A at most, as its type says."""
    text = printed("work_order", 1, "a4").whole
    assert "about 0.9 A, at most 1.5 A" in text
    assert "about 0.19 V, at most 0.36 V" in text


def test_a_step_that_waits_for_the_cure_says_for_how_long():
    assert "Only after the cure: 24 h after the last bed." in printed("work_order", 1, "a4").whole


def test_bolts_in_brass_inserts_are_turned_by_hand():
    estimate = hand_made.estimate()
    estimate["labour"]["order"][2] |= {"phase": "mount", "text": "Tighten the bolts in cross order."}
    estimate["cautions"].append(hand_made.caution("insert_torque", "caution", "By hand.", lines=["L1"]))
    paper = one("work_order", estimate=estimate)
    page = next(at for at in range(len(paper.pages)) if "Tighten" in paper.text(at))
    assert "torque" in paper.text(page)
    assert {"by", "hand"} <= {word["text"] for word in paper.words(page) if round(word["size"]) == 18}


def test_parts_are_picked_bin_by_bin_and_a_customer_s_own_part_is_looked_over():
    sheet = hand_made.sheet(2)
    sheet["lines"][1]["supplied_by"] = "customer"
    text = one("work_order", sheet=sheet, estimate=hand_made.estimate(2)).text(0)
    assert "Bin A10" in text and "look it over" in text


def test_what_is_not_in_the_estimate_is_not_on_the_paper():
    text = one("work_order", estimate=hand_made.estimate(openings=[], power=None, cut_list=None)).whole
    assert (
        "Hole schedule" not in text and "Circuits" not in text and "cut list" not in text and "Do not drill" not in text
    )


def test_the_code_on_the_work_order_reads_back_at_a_hundred_dots_an_inch_in_one_bit():
    """Read module by module against segno's own matrix of the address (ISO/IEC 18004)."""
    matrix = [list(row) for row in segno.make(hand_made.facts().bench_url, error="m", micro=False).matrix]
    assert hand_made.facts().bench_url == "https://bench.example.test/bench/ticket/T-0412/"
    for paper in ("a4", "letter"):
        assert modules_of(printed("work_order", 1, paper).pages[0], len(matrix)) == matrix


def test_a_later_version_says_which_it_replaces():
    assert "Version 2 replaces 1." in printed("work_order", 1, "a4").whole
    assert "replaces" not in one("work_order", facts=hand_made.facts(version=1, replaces=None)).whole


@pytest.mark.parametrize("name", PDFS)
def test_what_a_printer_leaves_out_of_the_library_s_own_style_changes_no_paper(name, monkeypatch):
    pages = []
    monkeypatch.setattr(documents, "pdf", lambda html, paper: pages.append(html))
    PDFS[name](hand_made.facts(), hand_made.sheet(2), estimate_of(2), "letter")
    plain = printer.layout(pages[0], "letter")
    monkeypatch.setattr(printer, "page", lambda: weasyprint.HTML)
    assert printer.layout(pages[0], "letter") == plain
