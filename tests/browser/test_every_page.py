"""Every page: no sideways scroll from 320 to 1366 pixels, no violation found by axe-core, nothing inline."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from builds.actions import lines, tickets
from builds.models import Ticket
from catalog.models import AccessoryType, HullType

PAGES = [
    ("counter", "/counter/"),
    ("counter", "/counter/?q=3.7"),
    ("counter", "/counter/new/"),
    ("counter", "/counter/tickets/"),
    ("counter", "/counter/ticket/T-0001/"),
    ("counter", "/counter/ticket/T-0001/?line=L1"),
    ("counter", "/counter/ticket/T-0001/about/"),
    ("counter", "/counter/ticket/T-0001/boat/"),
    ("counter", "/counter/ticket/T-0001/afloat/"),
    ("counter", "/counter/ticket/T-0001/operations/"),
    ("counter", "/counter/ticket/T-0001/charges/"),
    ("counter", "/counter/ticket/T-0001/papers/"),
    ("tech", "/bench/"),
    ("tech", "/bench/ticket/T-0002/"),
    ("owner", "/office/"),
    ("owner", "/office/catalogue/"),
    ("owner", "/office/catalogue/types/display_7in/"),
    ("owner", "/counter/ticket/T-0099/"),
]
WIDTHS = (320, 390, 768, 1366)


@pytest.fixture
def tickets_of_the_day(shop):
    """A draft with a rig, and a ticket that is accepted."""
    counter, hull_type = shop["counter"], HullType.objects.get(code="sot_3_7_angler")
    first = tickets.open_ticket(counter, hull_type=hull_type, title="Dawn rig")
    for code in ("display_7in", "battery_lfp_12v_20ah", "rod_holder_flush_tube", "led_strip_pair"):
        lines.add_line(counter, first, AccessoryType.objects.get(code=code))
    second = tickets.open_ticket(counter, hull_type=hull_type, title="Night lights")
    Ticket.objects.filter(pk=second.pk).update(state="accepted")


@pytest.mark.parametrize(("role", "path"), PAGES)
def test_no_page_scrolls_sideways_or_fails_axe_or_has_anything_inline(role, path, open_page, tickets_of_the_day):
    page = open_page(path, role)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{path} at {width}"
        if width in (390, 1366):
            found = Axe().run(page).response["violations"]
            assert [(v["id"], [n["html"][:160] for n in v["nodes"][:3]]) for v in found] == [], f"{path} at {width}"
    inline = page.evaluate(
        "() => [...document.querySelectorAll('[style], style, script:not([src]), [onclick], [onchange]')]"
        ".map(element => element.outerHTML.slice(0, 120))"
    )
    assert inline == []
