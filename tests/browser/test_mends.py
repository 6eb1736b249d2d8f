"""Each caution with a mend clears by pressing it: the ten jobs, on the ticket page, in a real browser."""

import datetime

from tests.builds.job_tickets import JOBS, open_job

TODAY = datetime.datetime(2026, 11, 25, 12, 0, tzinfo=datetime.UTC)


def sentences(page):
    """What the cautions and stops say, each once."""
    return set(
        page.locator(".gate li > p, .caus > li > div").evaluate_all(
            "all => all.map(one => one.firstChild.textContent.trim())"
        )
    )


def mendable(page):
    """The sentences of the cautions and stops that have a button."""
    script = """all => all.filter(one => one.querySelector('form button'))
      .map(one => (one.querySelector('p') || one.querySelector('div')).firstChild.textContent.trim())"""
    return page.locator(".gate li, .caus > li").evaluate_all(script)


def press_first_mend(page, sentence):
    page.evaluate("document.querySelector('#ticket').dataset.stale = 'yes'")
    page.locator(".gate li, .caus > li").filter(has_text=sentence).first.locator("form button").first.click()
    page.wait_for_selector("#ticket:not([data-stale])")


def test_each_caution_with_a_mend_clears_by_pressing_it_over_the_ten_jobs(open_page, shop):
    pressed = 0
    page = None
    for name in JOBS:
        number = open_job(name, TODAY).number
        page = page or open_page(f"/counter/ticket/{number}/")
        page.goto(page.url.rsplit("/", 2)[0] + f"/{number}/")
        for sentence in mendable(page):
            press_first_mend(page, sentence)
            assert sentence not in sentences(page), (name, sentence)
            pressed += 1
            page.evaluate("document.querySelector('#ticket').dataset.stale = 'yes'")
            page.keyboard.press("Alt+z")
            page.wait_for_selector("#ticket:not([data-stale])")
            assert sentence in sentences(page), (name, sentence)
    assert len(JOBS) == 10
    assert pressed >= 3
