"""The hand-over sheet: what the boat leaves with, in words that are there when something goes wrong."""

import datetime

from tests.builds import hand_made
from tests.builds.printed import PDFS, Printed


def printed(**given):
    from builds.documents import hand_over_pdf

    facts = hand_made.facts(workmanship_days=90)
    estimate = hand_made.estimate(power=hand_made.power(1))
    return Printed(hand_over_pdf(facts, hand_made.sheet(), estimate, hand_made.handing(**given), "a4"))


def plain(paper):
    return " ".join(paper.whole.replace("\u202f", " ").replace("\u00a0", " ").split())


def test_the_boat_is_not_afloat_before_the_cure_ends_on_the_sheet_and_on_its_tag():
    text = plain(printed())
    assert text.count("Not afloat before Tuesday 1 Dec 2026, 18:30") == 2


def test_a_cured_boat_says_so_on_its_tag():
    text = plain(printed(afloat_from=datetime.datetime(2026, 11, 30, 8, 0)))
    assert "Not afloat" not in text
    assert "Cured. May go afloat." in text


def test_what_was_not_passed_and_the_owners_reason_are_printed():
    text = plain(printed())
    assert "What was not passed" in text
    assert "Leak, the whole boat: failed. A drop at the gland." in text
    assert "The owner's reason: The customer seals the gland himself." in text


def test_every_fuse_has_its_rating_and_a_spare_goes_along():
    text = plain(printed())
    assert "Fuses" in text
    assert "1 in the bag" in text


def test_the_terms_of_coming_back_name_the_days_of_the_shops_own_work():
    assert "We answer for our own work for 90 days" in plain(printed())


def test_it_is_among_the_papers_that_every_rule_of_paper_holds_for():
    assert "hand_over" in PDFS
