"""The owner's learning and what-if pages in a real browser: with scripts, without, at every width, nothing for axe."""

import pytest

import builds.documents
from builds.actions import lines, tickets
from builds.models import LearnedChange, Ticket
from catalog.models import AccessoryType, HullType
from tests.browser.page_rules import wrong_with
from tests.builds.conftest import blank_page
from tests.builds.handed_over import OTHERS, handed_over

SLOW = "rod_holder_flush_tube"


@pytest.fixture
def year(shop, monkeypatch):
    """Sixteen tickets handed over, one type at 1.8 times its minutes; slices of four tickets."""
    monkeypatch.setattr(builds.documents, "pdf", lambda html, paper: blank_page())
    monkeypatch.setattr("builds.reckonings.SLICE_TICKETS", 4)
    monkeypatch.setattr("builds.views.learning.LOOK_S", 0.01)
    counter = shop["counter"]
    rig = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title="Rods and anchor")
    for code in ("anchor_trolley", SLOW, "gear_track_300mm"):
        lines.add_line(counter, rig, AccessoryType.objects.get(code=code), mounting="rivet")
    return handed_over(Ticket.objects.get(pk=rig.pk), counter, shop["tech"], 16, {SLOW: 1.8, OTHERS: 1.1})


def test_with_scripts_the_page_goes_on_by_itself_and_a_change_is_taken_and_taken_back(open_page, year):
    page = open_page("/office/learning/", "owner")
    assert wrong_with(page) == []
    page.get_by_role("button", name="Learn from the timed work").click()
    page.get_by_role("heading", name="Worth a change").wait_for()
    name = AccessoryType.objects.get(code=SLOW).name
    assert wrong_with(page) == []
    page.get_by_label(f"Take {name}").check()
    page.get_by_role("button", name="Take what is ticked").first.click()
    page.get_by_role("heading", name="Taken so far").wait_for()
    assert wrong_with(page) == []
    page.get_by_role("button", name=f"Take back {name}").click()
    page.get_by_text("Taken back.").wait_for()
    assert LearnedChange.objects.count() == 2


def test_without_scripts_a_link_goes_on(open_page, year):
    page = open_page("/office/learning/", "owner", scripts=False)
    page.get_by_role("button", name="Learn from the timed work").click()
    page.get_by_text("of 16 tickets").wait_for()
    page.get_by_role("link", name="Go on").click()
    page.get_by_role("heading", name="Worth a change").wait_for()
    assert page.get_by_text("8 in 10 by held").is_visible()


def test_what_if_is_asked_and_answered(open_page, year):
    page = open_page("/office/what-if/", "owner")
    assert wrong_with(page) == []
    page.get_by_role("button", name="Work it out").click()
    page.get_by_text("Nothing is different yet").wait_for()
    page.get_by_label("Labour rate per hour").fill("120")
    page.get_by_role("button", name="Work it out").click()
    page.get_by_role("heading", name="All accepted").wait_for()
    assert page.get_by_text("17 tickets accepted in the year").is_visible()
    assert wrong_with(page) == []
