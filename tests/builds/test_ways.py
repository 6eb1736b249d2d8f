"""Alternatives of a ticket: up to three, one taken, the others kept."""

import pytest

from builds import bridge, querysets
from builds.actions import alternatives, lines, papers
from builds.actions.ground import Refused
from builds.alternatives import columns_of, compared
from tests.builds.conftest import fresh

pytestmark = pytest.mark.usefixtures("blank_papers")


def whole(ticket):
    return querysets.for_counter().get(pk=ticket.pk)


def codes(ticket):
    return [line["accessory"] for line in bridge.build_sheet(whole(ticket))["lines"]]


@pytest.fixture
def leaner(rig, counter):
    alternatives.copy_current(counter, rig, "leaner")
    lines.remove_line(counter, rig, "L7")
    return fresh(rig)


def test_a_copy_begins_as_the_same_and_is_the_one_to_go_on_with(rig, counter):
    before = codes(rig)
    alternatives.copy_current(counter, rig, "leaner")
    assert codes(rig) == before
    assert [(one.name, one.is_current) for one in rig.alternatives.all()] == [("as asked", False), ("leaner", True)]


def test_taking_another_brings_its_lines_back_and_keeps_those_of_the_first(leaner, counter):
    alternatives.take(counter, leaner, 0)
    assert "rod_holder_flush_tube" in codes(leaner)
    alternatives.take(counter, fresh(leaner), 1)
    assert "rod_holder_flush_tube" not in codes(leaner)


def test_a_ticket_has_three_at_most_each_with_a_name_of_its_own(leaner, counter):
    with pytest.raises(Refused, match="already"):
        alternatives.copy_current(counter, leaner, "leaner")
    alternatives.copy_current(counter, leaner, "")
    assert [one.name for one in leaner.alternatives.all()] == ["as asked", "leaner", "fuller"]
    with pytest.raises(Refused, match="at most 3"):
        alternatives.copy_current(counter, leaner, "a fourth")


def test_one_that_is_not_current_can_go_and_the_last_one_is_none(leaner, counter):
    with pytest.raises(Refused, match="Take another first"):
        alternatives.remove(counter, leaner, 1)
    alternatives.remove(counter, leaner, 0)
    assert not leaner.alternatives.exists()
    assert "rod_holder_flush_tube" not in codes(leaner)


def test_undo_takes_a_copy_and_a_switch_back(leaner, counter):
    alternatives.take(counter, leaner, 0)
    lines.undo(counter, leaner)
    assert "rod_holder_flush_tube" not in codes(leaner)
    assert leaner.alternatives.get(is_current=True).name == "leaner"


def test_side_by_side_only_what_differs_is_marked_and_by_how_much(leaner, counter):
    columns = columns_of(whole(leaner), lambda found: None)
    rows = compared(columns)
    asked, lean = (column.estimate for column in columns)
    price = next(row for row in rows["top"] if row.name == "Price with tax")
    assert price.cells[1].by == f"−{asked.price.total - lean.price.total:,}"
    [tube] = [row for row in rows["fitted"] if row.cells[1].differs]
    assert ("tube" in tube.name.lower(), tube.cells[1].text) == (True, "left out")
    assert not any(row.cells[0].differs for group in rows.values() for row in group)


def test_the_columns_are_the_estimates_of_the_alternatives_themselves(leaner, counter):
    columns = columns_of(whole(leaner), lambda found: None)
    alternatives.take(counter, leaner, 0)
    assert bridge.estimate_of(whole(leaner)).price.total == columns[0].estimate.price.total


def test_a_quote_says_which_way_it_is_for(leaner, counter):
    assert papers.issue_quote(counter, whole(leaner)).alternative == "leaner"


def test_the_page_copies_compares_and_quotes_one(rig, counter, client):
    client.force_login(counter)
    base = f"/counter/ticket/{rig.number}/alternatives/"
    assert "There is one way so far" in client.get(base).content.decode()
    assert client.post(f"{base}copy/", {"name": "fuller"}).status_code == 302
    client.post(f"/counter/ticket/{rig.number}/lines/", {"part": "anchor_trolley", "where": "", "quantity": "1"})
    page = client.get(base).content.decode()
    assert "differs" in page
    assert "Anchor trolley" in page
    answer = client.post(f"{base}0/take/", {"quote": "1"})
    assert answer.headers["Location"].endswith("/papers/")
    assert "anchor_trolley" not in codes(rig)


def test_of_the_cautions_only_those_that_differ_from_the_first_are_shown(rig, counter, kind):
    alternatives.copy_current(counter, rig, "fuller")
    lines.replace_accessory(counter, rig, "L1", kind("display_10in"))
    asked, fuller = columns_of(whole(rig), lambda found: None)
    assert asked.gone == []
    assert "base strong enough" in fuller.new[0].caution.sentence
    sentences = {one.caution.sentence for one in asked.warned}
    assert not sentences & {one.caution.sentence for one in fuller.new}
