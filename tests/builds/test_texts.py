"""The owner words the statement and the hand-over anew; what was signed keeps its own version."""

import datetime
from dataclasses import replace

import pytest

from builds import querysets
from builds.actions import papers
from builds.documents.disclaimer import statement, statement_version
from builds.documents.hand_over import terms_of
from builds.documents.parts import parts_of
from builds.documents.places import openings_of
from catalog.forms.rates import RatesForm
from catalog.models import ShopRates
from tests.builds import hand_made

OURS = {
    "warranty": "Ask the hull maker about the warranty first.",
    "workmanship": "We answer for our work for {days}.",
    "own": "We keep old parts for a week.\nWe wash the boat.",
    "hand_over": "Come back within {days}.",
}


def facts(**texts):
    return replace(hand_made.facts(), texts=texts, texts_from=datetime.date(2026, 12, 1))


def clauses(about):
    sheet, estimate = hand_made.sheet(), hand_made.estimate()
    found = statement(about, sheet, estimate, openings_of(estimate, parts_of(sheet)))
    return [text for _, text in found.clauses]


def test_own_wording_stands_in_its_place_and_own_lines_before_the_rights_that_stay():
    usual, ours = clauses(hand_made.facts()), clauses(facts(**OURS))
    assert ours[0] == "Ask the hull maker about the warranty first."
    assert ours[-3:-1] == ["We keep old parts for a week.", "We wash the boat."]
    assert ours[-1] == usual[-1] and len(ours) == len(usual) + 2
    assert any(text.replace("\u202f", " ") == "We answer for our work for 90 days." for text in ours)


def test_a_line_that_the_ticket_does_not_call_for_stays_away_whatever_its_wording():
    assert not any("old boat" in text for text in clauses(facts(old_hull="This is an old boat.")))


def test_the_version_names_the_day_from_which_the_wording_holds():
    assert statement_version(hand_made.facts()) == "1"
    assert statement_version(facts(**OURS)) == "1/2026-12-01"


def test_the_hand_over_sheet_says_it_in_the_shops_words():
    assert terms_of(facts(**OURS)).replace("\u202f", " ") == "Come back within 90 days."


@pytest.mark.usefixtures("blank_papers")
def test_a_quote_keeps_the_version_that_it_was_made_with(rig, counter):
    rates = ShopRates.objects.get()
    ShopRates.objects.filter(pk=rates.pk).update(texts={"warranty": OURS["warranty"]})
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=rig.pk))
    assert quote.disclaimer_version == f"1/{rates.holds_from}"


def test_the_form_keeps_texts_and_leaves_out_the_empty_ones(catalogue):
    rates = ShopRates.objects.get()
    blank = RatesForm(instance=rates)
    data = {name: blank[name].value() for name in blank.fields}
    data |= {"texts__warranty": " Ask the hull maker. ", "texts__own": ""}
    form = RatesForm(data, instance=rates)
    assert form.is_valid(), form.errors
    assert form.record()["texts"] == {"warranty": "Ask the hull maker."}
    long = RatesForm({**data, "texts__own": "x" * 601}, instance=rates)
    assert "texts__own" in long.errors
