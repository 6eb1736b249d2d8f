"""The bench on a phone: ticks by taps, reception cut in between, two phones on one ticket."""

from contextlib import suppress

import pytest
from PIL import Image
from playwright.sync_api import Error

from builds import bench, querysets
from builds.actions import lines, papers, signing, tickets
from builds.models import BenchPhoto, BenchReading, Found, StepMark
from catalog.models import AccessoryType, HullType
from tests.builds.conftest import agreed_on_paper

TICK = "form[action$='/tick/'] button"


@pytest.fixture
def job(shop):
    """An anchor trolley on the bench."""
    counter = shop["counter"]
    ticket = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title="Anchor")
    for code in ("anchor_trolley", "rod_holder_flush_tube"):
        lines.add_line(counter, ticket, AccessoryType.objects.get(code=code), mounting="rivet")
    tickets.set_operations(counter, ticket, quantities={"op_checkin_photos": 1, "op_leak_test": 1})
    papers.issue_work_order(counter, agreed_on_paper(counter, ticket))
    return ticket


def ticked():
    return list(StepMark.objects.filter(done=True).values_list("n", flat=True))


def reception_is_back(page):
    """Tell the page, which may have noticed by itself and gone on to its next step."""
    page.context.set_offline(False)
    with suppress(Error):
        page.evaluate("window.dispatchEvent(new Event('online'))")


def test_steps_are_ticked_by_taps_alone(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/", "tech", width=390)
    page.get_by_text("Go on: step 1").tap()
    for n in (1, 2, 3):
        page.wait_for_url(f"**/step/{n}/")
        button = page.locator(TICK)
        assert button.bounding_box()["height"] >= 120
        button.tap()
    page.wait_for_url("**/step/4/")
    assert ticked() == [1, 2, 3]


def test_without_scripts_the_same(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390, scripts=False)
    page.locator(TICK).tap()
    page.wait_for_url("**/step/2/")
    assert ticked() == [1]


def test_a_tick_without_reception_waits_says_so_and_is_sent_once(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390)
    page.wait_for_load_state()
    page.context.set_offline(True)
    page.locator(TICK).tap()
    page.wait_for_selector("text=Not saved yet, 1 waiting")
    assert ticked() == []
    page.context.set_offline(False)
    page.wait_for_selector("[data-unsaved]", state="hidden")
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
    page.locator(TICK).tap()
    page.wait_for_selector("text=Not saved yet, 1 waiting")
    assert (lost, ticked()) == ([200], [1])
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.wait_for_selector("[data-unsaved]", state="hidden")
    assert StepMark.objects.count() == 1


def test_two_phones_tick_one_ticket_and_each_sees_the_others(job, open_page):
    one = open_page(f"/bench/ticket/{job.number}/step/1/", "tech", width=390)
    other = open_page(f"/bench/ticket/{job.number}/step/2/", "owner", width=390)
    one.locator(TICK).tap()
    one.wait_for_url("**/step/2/")
    other.locator(TICK).tap()
    other.wait_for_url("**/step/3/")
    one.reload()
    assert "Ticked by O" in one.content()
    assert ticked() == [1, 2]


def test_a_shut_gate_is_said_and_nothing_is_ticked(job, open_page):
    locked = next(step for step in bench.steps_of(job) if step.locked)
    page = open_page(f"/bench/ticket/{job.number}/step/{locked.n}/", "tech", width=390)
    assert "Not before the cure" in page.content()
    page.locator(TICK).tap()
    page.wait_for_selector("[data-unsaved]:not([hidden]) >> text=Not before the cure")
    assert ticked() == []


def photo_of(tmp_path, size=(3000, 2000)):
    path = tmp_path / "crack.jpg"
    Image.new("RGB", size, "teal").save(path, "JPEG")
    return path


def test_a_find_with_its_photo_waits_without_reception_and_reaches_the_counter_once(job, open_page, tmp_path):
    page = open_page(f"/bench/ticket/{job.number}/step/2/", "tech", width=390)
    page.wait_for_load_state()
    page.get_by_text("Found something").tap()
    page.get_by_label("What you found, for the counter").fill("Crack beside the rod holder, 3 cm")
    page.get_by_label("Photo, if it helps").set_input_files(photo_of(tmp_path))
    page.context.set_offline(True)
    page.get_by_role("button", name="Ask the counter").tap()
    page.wait_for_selector("text=Not saved yet, 1 waiting")
    assert not Found.objects.exists()
    reception_is_back(page)
    page.wait_for_selector("text=The counter has not answered yet")
    found = Found.objects.get()
    kept = BenchPhoto.objects.get(found=found)
    assert (found.n, kept.width_px) == (2, 1600)


def test_a_found_fault_becomes_an_agreed_change_order_and_its_work_order(job, open_page):
    tech = open_page(f"/bench/ticket/{job.number}/step/2/", "tech", width=390)
    tech.get_by_text("Found something").tap()
    tech.get_by_label("What you found, for the counter").fill("The net has nothing to stand in")
    tech.get_by_role("button", name="Ask the counter").tap()
    tech.wait_for_selector("text=The counter has not answered yet")
    counter = open_page("/counter/", "counter")
    counter.get_by_text("The net has nothing to stand in").click()
    counter.get_by_label("Answer to the bench").fill("She agrees to rivets")
    counter.get_by_role("button", name="Answer, and write a change order").click()
    counter.wait_for_url(f"**/counter/ticket/{job.number}/")
    now = querysets.for_counter().get(pk=job.pk)
    lines.add_line(
        now.counter,
        now,
        AccessoryType.objects.get(code="net_holder_tube"),
        mounting="rivet",
        station="rear_deck_starboard",
    )
    counter.goto(counter.url + "change/")
    counter.get_by_label("Why the work changes").fill("The net has nothing to stand in")
    counter.get_by_label("Who agreed").fill("Customer 0412")
    counter.get_by_label("Number called").fill("555-0142")
    for box in counter.get_by_label("Agreed to").all():
        box.check()
    counter.get_by_role("button", name="Record the consent").click()
    counter.wait_for_url("**/papers/")
    counter.get_by_role("button", name="Print the work order").click()
    counter.wait_for_selector("text=replaces version 1")
    tech.reload()
    assert "She agrees to rivets" in tech.content()


def test_a_reading_without_reception_waits_and_is_kept(job, open_page):
    page = open_page(f"/bench/ticket/{job.number}/tests/", "tech", width=390)
    page.wait_for_load_state()
    form = page.locator("form[action$='/tests/record/']").first
    form.locator("input[name=note]").fill("Not tried: no cradle")
    page.context.set_offline(True)
    form.get_by_role("button", name="Left out").tap()
    page.wait_for_selector("text=Not saved yet, 1 waiting")
    reception_is_back(page)
    page.wait_for_selector("text=Not tried: no cradle")
    assert BenchReading.objects.get().verdict == "skipped"


# A whole ticket: a crate and a tray, nothing that cures.


@pytest.fixture
def dry_job(shop):
    counter = shop["counter"]
    ticket = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title="Crate")
    for code in ("tackle_crate_strapped", "tackle_tray_hatch_insert"):
        lines.add_line(counter, ticket, AccessoryType.objects.get(code=code))
    tickets.set_operations(counter, ticket, quantities={"op_checkin_photos": 1})
    papers.issue_work_order(counter, agreed_on_paper(counter, ticket))
    return ticket


def test_a_whole_ticket_is_worked_by_taps_with_the_reception_cut_at_every_step(dry_job, open_page):
    page = open_page(f"/bench/ticket/{dry_job.number}/", "tech", width=390)
    page.get_by_role("button", name="Start my clock").tap()
    page.wait_for_selector("text=Stop my clock")
    page.get_by_text("Go on: step 1").tap()
    count = len(bench.steps_of(dry_job))
    for n in range(1, count + 1):
        page.wait_for_url(f"**/step/{n}/")
        page.wait_for_load_state()
        page.context.set_offline(True)
        page.locator(TICK).tap()
        page.wait_for_selector("text=Not saved yet, 1 waiting")
        assert ticked() == list(range(1, n))
        reception_is_back(page)
        page.wait_for_selector("[data-unsaved]", state="hidden")
    page.wait_for_selector("text=Ticked by")
    assert ticked() == list(range(1, count + 1))
    page.goto(page.url.split("/step/")[0] + "/")
    page.get_by_role("button", name="The boat is checked").tap()
    page.wait_for_url("**/bench/")
    dry_job.refresh_from_db()
    assert (dry_job.state, StepMark.objects.count()) == ("checked", count)


def test_a_reading_out_of_range_fails_whatever_the_tech_thinks(shop, open_page):
    counter = shop["counter"]
    ticket = tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title="Screen")
    for code in ("display_7in", "ball_base_25mm", "battery_lfp_12v_20ah"):
        lines.add_line(counter, ticket, AccessoryType.objects.get(code=code))
    why = "A test of the bench only."
    quote = papers.issue_quote(shop["owner"], querysets.for_counter().get(pk=ticket.pk), override_reason=why)
    given = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, querysets.for_counter().get(pk=ticket.pk), given, way="paper")
    papers.issue_work_order(counter, querysets.for_counter().get(pk=ticket.pk))
    page = open_page(f"/bench/ticket/{ticket.number}/tests/", "tech", width=390)
    row = page.get_by_label("Running current, ").first
    assert "about 0.9" in row.inner_text()
    row.get_by_label("Reading, A").fill("2.4")
    row.get_by_role("button", name="Write the reading down").tap()
    page.wait_for_selector("text=Failed, 2.4")
    assert BenchReading.objects.get().verdict == "failed"
