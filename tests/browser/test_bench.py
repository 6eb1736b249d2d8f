"""The bench on a phone: ticks by taps, reception cut in between, two phones on one ticket."""

import pytest

from builds import querysets
from builds.actions import lines, papers, signing, tickets
from builds.models import StepMark
from catalog.models import AccessoryType, HullType


@pytest.fixture
def job(shop):
    """An anchor trolley on the bench."""
    counter = shop["counter"]
    ticket = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title="Anchor")
    for code in ("anchor_trolley", "rod_holder_flush_tube"):
        lines.add_line(counter, ticket, AccessoryType.objects.get(code=code), mounting="rivet")
    tickets.set_operations(counter, ticket, quantities={"op_checkin_photos": 1, "op_leak_test": 1})
    quote = papers.issue_quote(counter, querysets.for_counter().get(pk=ticket.pk))
    given = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, ticket, given, way="paper")
    papers.issue_work_order(counter, querysets.for_counter().get(pk=ticket.pk))
    return ticket


def ticked():
    return list(StepMark.objects.filter(done=True).values_list("n", flat=True))


def test_steps_are_ticked_by_taps_alone(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/", "tech", width=390)
    page.get_by_text("Go on: step 1").tap()
    for n in (1, 2, 3):
        page.wait_for_url(f"**/step/{n}/")
        button = page.locator("[data-tick] button")
        assert button.bounding_box()["height"] >= 120
        button.tap()
    page.wait_for_url("**/step/4/")
    assert ticked() == [1, 2, 3]


def test_without_scripts_the_same(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390, scripts=False)
    page.locator("[data-tick] button").tap()
    page.wait_for_url("**/step/2/")
    assert ticked() == [1]


def test_a_tick_without_reception_waits_says_so_and_is_sent_once(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390)
    page.wait_for_load_state()
    page.context.set_offline(True)
    page.locator("[data-tick] button").tap()
    page.wait_for_selector("text=Not saved yet, 1 waiting")
    assert ticked() == []
    page.context.set_offline(False)
    page.wait_for_function("document.querySelector('[data-unsaved]').hidden || location.pathname.includes('/step/2/')")
    page.wait_for_timeout(300)
    assert ticked() == [1]


def test_an_answer_that_is_lost_on_its_way_back_doubles_nothing(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390)
    page.wait_for_load_state()
    lost = []

    def lose_the_first(route):
        if lost:
            return route.continue_()
        lost.append(route.fetch().status)
        return route.abort()

    page.route("**/tick/", lose_the_first)
    page.locator("[data-tick] button").tap()
    page.wait_for_selector("text=Not saved yet, 1 waiting")
    assert (lost, ticked()) == ([200], [1])
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.wait_for_function("document.querySelector('[data-unsaved]').hidden")
    assert StepMark.objects.count() == 1


def test_two_phones_tick_one_ticket_and_each_sees_the_others(job, open_page):
    one = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390)
    other = open_page(f"/bench/ticket/{job.number}/step/2/", "owner", width=390)
    one.locator("[data-tick] button").tap()
    one.wait_for_url("**/step/2/")
    other.locator("[data-tick] button").tap()
    other.wait_for_url("**/step/3/")
    one.reload()
    assert "Ticked by O" in one.content()
    assert ticked() == [1, 2]


def test_a_shut_gate_is_said_and_nothing_is_ticked(job, open_page):
    from builds import bench

    locked = next(step for step in bench.steps_of(job) if step.locked)
    page = open_page(f"/bench/ticket/{job.number}/step/{locked.n}/", "tech", width=390)
    assert "Not before the cure" in page.content()
    page.locator("[data-tick] button").tap()
    page.wait_for_selector("[data-unsaved]:not([hidden]) >> text=Not before the cure")
    assert ticked() == []
