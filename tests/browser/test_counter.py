"""The counter with the keyboard only: a walk-in, twelve lines, the price after each; the same without scripts."""

import re
import statistics
import time
from decimal import Decimal

import pytest

from builds import bridge, querysets
from builds.models import Ticket

# What counter staff type: words or a code, a place or nothing, how many.
TYPED = [
    ("display_7in", "", "1"),
    ("scupper transducer", "", "1"),
    ("gear_track_300mm", "side deck port", "1"),
    ("flush-mount tube", "rear port", "2"),
    ("battery_lfp_12v_20ah", "", "1"),
    ("sealed_battery_box", "centre hatch inside", "1"),
    ("cable_gland_deck", "console", "2"),
    ("anchor_trolley", "", "1"),
    ("led_strip_pair", "console", "1"),
    ("switch_panel_3_gang", "console", "1"),
    ("all_round_light_pole_wired", "", "1"),
    ("rod_holder_track_mount", "side deck starboard", "2"),
]


def shown_price(page):
    figure = page.locator("[data-figure=total]")
    return figure.inner_text().replace("\n", " ").strip() if figure.count() else ""


def amount(text):
    return Decimal(re.sub(r"[^\d.]", "", text.split("USD")[0]))


def type_line(page, part, where, quantity):
    page.keyboard.type(part)
    page.keyboard.press("Tab")
    page.keyboard.type(where)
    page.keyboard.press("Tab")
    page.keyboard.press("Control+A")
    page.keyboard.type(quantity)
    page.keyboard.press("Enter")


def focused(page):
    return page.evaluate("document.activeElement && document.activeElement.id")


def wait_for_cursor(page, name):
    page.wait_for_function(
        "name => document.activeElement && document.activeElement.id === name", arg=name, timeout=10_000
    )


def estimated_total():
    return bridge.estimate_of(querysets.for_counter().get(number=Ticket.objects.get().number)).price.total


def begin(page):
    """From the start page to an empty ticket: a hull type's words, Tab to the first hit, Enter."""
    page.keyboard.type("3.7 angler")
    page.wait_for_selector(".hits >> text=3.7 m angler")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("#part")


def test_twelve_lines_by_keyboard_change_the_price_each_time_and_the_cursor_stays(open_page, capsys):
    page = open_page("/counter/")
    assert focused(page) == "who"
    begin(page)
    assert focused(page) == "part"
    page.evaluate("window.sameDocument = true")
    waits = []
    for count, (part, where, quantity) in enumerate(TYPED, start=1):
        before = shown_price(page)
        type_line(page, part, where, quantity)
        began = time.monotonic()
        page.wait_for_selector(f".lines .ballo >> nth={count - 1}", timeout=10_000)
        waits.append(time.monotonic() - began)
        assert shown_price(page) != before
        wait_for_cursor(page, "part")
    assert page.evaluate("window.sameDocument") is True
    assert amount(shown_price(page)) == estimated_total()
    with capsys.disabled():
        median_ms, most_ms = statistics.median(waits) * 1000, max(waits) * 1000
        print(f"\n12 lines: price after {median_ms:.0f} ms (median), {most_ms:.0f} ms (most)")


def test_the_same_twelve_lines_without_scripts(open_page):
    page = open_page("/counter/new/", scripts=False)
    page.get_by_role("button", name="3.7 m angler").press("Enter")
    for count, (part, where, quantity) in enumerate(TYPED, start=1):
        page.locator("#part").focus()
        type_line(page, part, where, quantity)
        page.wait_for_selector(f".lines .ballo >> nth={count - 1}")
    assert amount(shown_price(page)) == estimated_total()


def test_nothing_above_the_lines_moves_when_an_answer_changes(open_page):
    page = open_page("/counter/")
    begin(page)
    type_line(page, "display_7in", "", "1")
    page.wait_for_selector(".lines .ballo")

    def places():
        return [page.locator(one).bounding_box() for one in ("#part", "[data-figure=total]", "[data-figure=ready]")]

    before = places()
    wait_for_cursor(page, "part")
    type_line(page, "anchor_trolley", "", "1")
    page.wait_for_selector(".lines .ballo >> nth=1")
    assert [(box["x"], box["y"]) for box in places()] == [(box["x"], box["y"]) for box in before]


def test_on_a_phone_the_price_stays_in_view_while_a_line_is_typed_below_it(open_page):
    page = open_page("/counter/new/", width=390)
    page.get_by_role("button", name="3.7 m angler").tap()
    page.locator("#part").scroll_into_view_if_needed()
    before, field = shown_price(page), page.locator("#part").bounding_box()
    page.locator("#part").tap()
    page.keyboard.type("anchor_trolley")
    page.keyboard.press("Enter")
    page.wait_for_selector(".lines .ballo")
    price = page.locator("[data-figure=total]").bounding_box()
    assert shown_price(page) != before
    assert 0 <= price["y"] < price["y"] + price["height"] < field["y"] < 900, "the field is not under the price"


def test_on_a_phone_a_stop_stands_at_the_price_and_leads_to_its_mends(open_page):
    page = open_page("/counter/new/", width=390)
    page.get_by_role("button", name="3.7 m angler").tap()
    stop = page.locator(".price").get_by_role("link", name="Stop: cannot be quoted yet")
    assert stop.count() == 0
    page.locator("#part").fill("battery_lfp_12v_20ah")
    page.keyboard.press("Enter")
    stop.wait_for()
    stop.tap()
    mend = page.locator("#stops button").first
    price, first = page.locator(".price").bounding_box(), mend.bounding_box()
    assert price["y"] + price["height"] < first["y"] < 900


def test_a_slash_puts_the_cursor_into_search_and_alt_with_a_letter_presses(open_page):
    page = open_page("/counter/tickets/")
    page.keyboard.press("/")
    assert focused(page) == "find"
    page.goto(page.url.replace("tickets/", ""))
    page.keyboard.press("Alt+n")
    page.wait_for_url("**/counter/new/")


def test_words_for_several_parts_ask_and_the_first_choice_has_the_cursor(open_page):
    page = open_page("/counter/")
    begin(page)
    type_line(page, "gear track", "side deck port", "1")
    wait_for_cursor(page, "first_choice")
    page.keyboard.press("Enter")
    page.wait_for_selector(".lines .ballo")
    assert Ticket.objects.get().lines.get().station == "side_deck_port"


def test_a_mend_pressed_takes_its_stop_away(open_page):
    page = open_page("/counter/")
    begin(page)
    type_line(page, "battery_lfp_12v_20ah", "", "1")
    page.wait_for_selector(".gate")
    stops = page.locator(".gate li").count()
    page.locator(".gate .btn.main").press("Enter")
    page.wait_for_selector(".lines .ballo >> nth=1")
    assert page.locator(".gate li").count() < stops


def test_undo_by_key_takes_the_last_line_off(open_page):
    page = open_page("/counter/")
    begin(page)
    type_line(page, "display_7in", "", "1")
    page.wait_for_selector(".lines .ballo")
    page.keyboard.press("Alt+z")
    page.wait_for_selector("text=No lines yet")
    assert not Ticket.objects.get().lines.exists()


@pytest.mark.parametrize("scripts", [True, False])
def test_a_line_is_opened_changed_and_closed(open_page, scripts):
    page = open_page("/counter/new/", scripts=scripts)
    page.get_by_role("button", name="3.7 m angler").click()
    page.locator("#part").fill("display_7in")
    page.locator("#add_button").click()
    page.locator(".lines th a").first.click()
    page.locator("#id_quantity").fill("3")
    page.locator("#save_line").click()
    page.wait_for_selector(".lines .qty >> text=3")
    assert Ticket.objects.get().lines.get().quantity == 3


@pytest.mark.parametrize("scripts", [True, False])
def test_search_from_another_page_stands_on_the_first_hit_and_enter_opens_it(scripts, open_page):
    page = open_page("/counter/tickets/", scripts=scripts)
    page.locator("#find").focus()
    page.keyboard.type("3.7 angler")
    page.keyboard.press("Enter")
    page.wait_for_selector(".hits >> text=3.7 m angler")
    page.keyboard.press("Enter")
    page.wait_for_selector("#part")
    assert Ticket.objects.get().hull.name.startswith("3.7 m angler")
