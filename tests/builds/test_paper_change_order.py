"""Change orders, and what a quote and a work order say of what changed."""

from decimal import Decimal

import pytest

from builds.documents import change_order_pdf
from tests.builds import hand_made
from tests.builds.printed import MOST, Printed, one


def change_order(paper: str = "a4", facts=None, estimate=None, **given) -> Printed:
    estimate = estimate or hand_made.estimate(2)
    change = hand_made.change(**given)
    return Printed(change_order_pdf(facts or hand_made.facts(), hand_made.sheet(2), estimate, change, paper))


def flat(paper: Printed) -> str:
    return " ".join(paper.whole.split())


# The change order


def test_a_change_order_says_what_why_and_what_it_adds_and_the_sums_are_right():
    """By hand: 40.00 + 47.50 + 2.40 of tax is 89.90; 1,033.92 + 89.90 is 1,123.82."""
    text = change_order().whole
    assert "1 flush rod tube more" in text and "Why: A second rod tube was wished for." in text
    assert "Agreed by quote Q-0412-2 1,033.92" in text
    assert "Parts + 40.00" in text and "Labour, + 30 min + 47.50" in text
    assert "Consumables, fees, discount and tax + 2.40" in text
    assert "This change, tax included + 89.90" in text
    assert "New total, tax included, USD 1,123.82" in text
    assert "1,123.82 USD" in text and "Tue 1 Dec 2026" in text


def test_a_change_that_takes_away_is_shown_with_real_minus_signs():
    """By hand: −40.00 − 47.50 − 2.40 is −89.90; 1,033.92 − 89.90 is 944.02; 95 minutes are 1 h 35."""
    text = change_order(
        added_parts=Decimal("-40.00"), added_labour=Decimal("-47.50"), added_minutes=-95.0,
        added_total=Decimal("-89.90"), new_total=Decimal("944.02"), new_places=[],
    ).whole  # fmt: skip
    assert "Parts − 40.00" in text and "Labour, − 1 h 35 − 47.50" in text and "tax included − 89.90" in text
    assert "-40" not in text and "Openings that it adds" not in text


def test_what_has_no_part_in_the_change_is_left_out():
    text = change_order(
        added_parts=Decimal("10.00"), added_labour=Decimal("0.00"), added_minutes=0.2, added_total=Decimal("10.00")
    ).whole
    assert "Labour + 0.00" in text and "Consumables, fees" not in text


def test_the_consent_names_who_when_on_which_number_and_who_wrote_it_down():
    text = change_order().whole
    for words in (
        "Agreed by Customer 0412",
        "In which way by telephone",
        "Number called 555 0142",
        "When 27 Nov 2026, 10:05",
        "Written down by Counter One",
    ):
        assert words in text
    assert "Number called" not in change_order(consent_way="at the counter", number_called="").whole


def test_the_openings_that_it_adds_are_listed_with_the_letters_of_the_new_schedule():
    text = flat(change_order())
    assert "E–H Flush rod tube 2 – Rear deck, port" in text
    assert "letters are those of the new hole schedule" in text and "cannot be undone" in text


def test_every_page_says_which_paper_it_follows():
    paper = change_order(replaces="change order C-0412-1", number="C-0412-2", paper="letter")
    assert all("It follows change order C-0412-1." in text for text in paper.texts)


def test_a_stop_stands_before_what_changes_with_the_owner_s_reason_and_cautions_after_it():
    cautions = [hand_made.caution("deck_awash", "stop", "The floor floods."), *hand_made.estimate()["cautions"]]
    facts = hand_made.facts(override_reason="The customer tows it empty.")
    text = flat(change_order(facts=facts, estimate=hand_made.estimate(2, cautions=cautions)))
    stop, reason = text.index("STOP The floor floods."), text.index("Reason: The customer tows it empty.")
    assert stop < reason < text.index("What changes") < text.index("CAUTION Loaded with 122 kg")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_change_of_many_lines_takes_two_pages_at_most(paper):
    pages = change_order(paper, what=["A line is moved"] * 12, new_places=hand_made.places(9)).pages
    assert len(pages) <= 2


# The quote that replaces another, and what it promises


def test_a_quote_says_what_changed_since_the_version_that_it_replaces():
    facts = hand_made.facts(
        differences=["10 in screen instead of 7 in screen: + 850.00, + 10 min", "Stern light left out"]
    )
    text = one("quote", facts=facts).whole
    total, since = text.index("Total, tax included"), text.index("What changed since version 1")
    assert (
        total
        < since
        < text.index("10 in screen instead of 7 in screen: + 850.00, + 10 min")
        < text.index("Where it goes")
    )
    assert "What changed" not in one("quote").whole


def test_a_quote_that_is_not_exceeded_says_so_and_how_more_is_agreed():
    text = flat(one("quote", facts=hand_made.facts(rule="not_to_exceed", most=Decimal("1033.92"))))
    assert "If we find more to do, we ask first." in text
    assert "This price is not exceeded without a new yes from you, written down as a change order." in text
    assert "up to" not in text


@pytest.mark.parametrize("rule", ["tolerance", ""])
def test_a_quote_with_a_tolerance_names_the_most_that_the_same_work_may_come_to(rule):
    text = flat(one("quote", facts=hand_made.facts(rule=rule, most=MOST)))
    assert "Your yes covers the same work up to 1,137.31 USD, should it come to more; above that we ask first." in text
    assert "not exceeded" not in text


@pytest.mark.parametrize(
    ("rule", "most"),
    [("not_to_exceed", MOST), ("tolerance", None), ("tolerance", Decimal("1033.92")), ("", None)],
)
def test_without_a_tolerance_above_the_price_nothing_above_it_is_promised_away(rule, most):
    text = flat(one("quote", facts=hand_made.facts(rule=rule, most=most)))
    assert "not exceeded" in text and "1,137.31" not in text


# The work order after a change order


def work_order(**given) -> str:
    return flat(one("work_order", facts=hand_made.facts(**hand_made.changed(**given))))


def test_a_work_order_after_a_change_names_it_what_it_changed_who_agreed_and_who_may_approve_more():
    text = work_order()
    first_page = text[: text.index("Pick first")]
    assert "Changed by C-0412-1" in first_page and "1 flush rod tube more" in first_page
    assert "Customer 0412 agreed by telephone on 555 0142, 27 Nov 2026, 10:05." in first_page
    assert "May approve more" in first_page and "Customer 0412, 555 0142" in first_page
    assert "Changed by" not in one("work_order").whole and "May approve more" not in one("work_order").whole


def test_after_new_letters_only_this_list_holds_and_every_place_was_agreed_to():
    text = work_order()
    for at in (text.index("STOP"), text.index("STOP", text.index("Drill and cut"))):
        stop = text[at : text.index("1 of 1 place", at)]
        assert "Drill by this list only" in stop and "older lists and templates no longer hold" in stop
        assert "Customer 0412 agreed by telephone" in stop
        assert "Do not drill until every place on the list carries the customer's initials" in stop
        assert "Initialled or agreed one by one" in stop


def test_a_change_without_a_consent_on_record_sends_the_tech_to_the_counter():
    assert "No consent is on record: ask the counter." in work_order(consent="")


def test_a_change_on_a_boat_without_openings_stops_nothing():
    facts = hand_made.facts(**hand_made.changed())
    text = one("work_order", facts=facts, estimate=hand_made.estimate(openings=[])).whole
    assert "Do not drill" not in text and "Changed by C-0412-1" in text
