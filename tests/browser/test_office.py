"""The office's pages with a boat that left, one in work and one that came back: to read, to print, on a phone."""

import pytest

import builds.documents
from builds.actions import coming_back, handing, lines, papers, tickets, work
from catalog.models import AccessoryType, HullType
from tests.browser.page_rules import wrong_on
from tests.builds.conftest import agreed_on_paper, blank_page, whole

PAGES = [
    "/office/",
    "/office/?as=print",
    "/office/?from=soon",
    "/office/by/accessory/",
    "/office/by/accessory/?as=print",
    "/office/by/phase/",
    "/office/tickets/?by=tech&key=0",
    "/office/tickets/",
    "/office/ticket/T-0001/",
    "/office/ticket/T-0001/?as=print",
    "/office/now/",
    "/office/quotes/",
]


@pytest.fixture
def boats(shop, monkeypatch):
    """T-0001 left and came back, T-0002 is on the bench."""
    monkeypatch.setattr(builds.documents, "pdf", lambda html, paper: blank_page())
    counter, tech, owner = (shop[role] for role in ("counter", "tech", "owner"))
    found = []
    for title in ("Anchor and a long name of a job to be done", "Rod holders"):
        ticket = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title=title)
        for code in ("anchor_trolley", "rod_holder_flush_tube"):
            lines.add_line(counter, ticket, AccessoryType.objects.get(code=code), mounting="rivet")
        papers.issue_work_order(counter, agreed_on_paper(counter, ticket))
        for phase, minutes in (("drill", 70.0), ("mount", 12.0)):
            work.record_work(tech, ticket, phase=phase, minutes=minutes, line_key="L1", accessory_code="anchor_trolley")
        found.append(ticket)
    gone = found[0]
    work.check(tech, gone, why="Ticked on paper.")
    handing.hand_over(owner, whole(gone), why="Tested on paper.", unpaid="On account")
    back = coming_back.open_come_back(counter, gone, cause="leak", words="Wet inside")
    coming_back.work_on(tech, back, minutes=25.0)
    return gone


def test_no_page_of_the_office_scrolls_sideways_or_fails_axe_or_has_anything_inline(open_page, boats, live_server):
    assert wrong_on(open_page(PAGES[0], "owner"), live_server, PAGES) == {}


def test_the_pictures_stand_in_black_and_white_with_words_and_numbers_beside_them(open_page, boats):
    """Each picture has a sentence and a table; its strokes and faces carry black, white or nothing of themselves."""
    page = open_page("/office/ticket/T-0001/?as=print", "owner")
    pictures = page.locator("main svg[role=img]")
    assert pictures.count() == 2
    for place in range(pictures.count()):
        section = pictures.nth(place).locator("xpath=ancestor::section")
        assert len(section.locator(".say").inner_text()) > 20
        assert section.locator("table tbody tr").count() >= 2
    colours = page.evaluate(
        "() => [...new Set([...document.querySelectorAll('main svg[role=img] *')]"
        ".flatMap(e => [e.getAttribute('fill'), e.getAttribute('stroke')]).filter(c => c && c !== 'none'))]"
    )
    assert {colour.lower() for colour in colours} <= {"#000", "#fff", "black", "white", "#000000", "#ffffff"}
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"


def test_the_evening_is_read_without_scripts_and_a_figure_opens(open_page, boats):
    page = open_page("/office/", "owner", width=390, scripts=False)
    page.get_by_role("link", name="T-0001").first.click()
    assert page.get_by_role("heading", level=1).inner_text().startswith("T-0001")
    assert "came back" in page.locator("main").inner_text()
    page.get_by_text("Every step").click()
    assert page.get_by_role("rowheader", name="L1 Anchor trolley").first.is_visible()
