"""Every page: no sideways scroll from 320 to 1366 pixels, no violation found by axe-core, nothing inline."""

import datetime
from decimal import Decimal

import pytest

import builds.documents
from builds import querysets
from builds.actions import alternatives, changes, lines, missing, money, ordering, papers, shelf, signing, tickets
from builds.actions.ordering import Came, Ordered
from catalog.models import AccessoryType, CatalogueVersion, HullType, WaitingFile
from shop import clock
from shop.once import new_token
from tests.browser.page_rules import wrong_on
from tests.builds.conftest import blank_page

PAGES = {
    "the counter": (
        "counter",
        [
            "/counter/",
            "/counter/?q=3.7",
            "/counter/new/",
            "/counter/tickets/",
            "/me/",
            "/me/password/",
            "/invitation/none/",
            "/help/serve/",
        ],
    ),
    "a ticket being quoted": (
        "counter",
        [
            "/counter/ticket/T-0001/",
            "/counter/ticket/T-0001/?line=L1",
            "/counter/ticket/T-0001/about/",
            "/counter/ticket/T-0001/boat/",
            "/counter/ticket/T-0001/afloat/",
            "/counter/ticket/T-0001/operations/",
            "/counter/ticket/T-0001/charges/",
            "/counter/ticket/T-0001/papers/",
            "/counter/ticket/T-0001/questions/",
            "/counter/ticket/T-0001/history/",
            "/counter/ticket/T-0001/alternatives/",
            "/counter/ticket/T-0001/money/",
            "/counter/ticket/T-0003/papers/",
            "/counter/ticket/T-0003/papers/sign/",
            "/counter/ticket/T-0003/papers/differences/",
        ],
    ),
    "an agreed ticket at the counter": (
        "counter",
        [
            "/counter/ticket/T-0002/change/",
            "/counter/ticket/T-0002/money/",
            "/counter/ticket/T-0002/",
            "/counter/ticket/T-0002/papers/",
            "/counter/ticket/T-0002/parts/",
            "/counter/ticket/T-0002/consumables/",
        ],
    ),
    "the bench": (
        "tech",
        [
            "/bench/",
            "/bench/week/",
            "/bench/ticket/T-0002/",
            "/bench/ticket/T-0002/step/5/",
            "/bench/ticket/T-0002/tests/",
            "/bench/ticket/T-0002/parts/",
            "/bench/ticket/T-0002/parts/missing/?step=5&line=L1",
            "/bench/ticket/T-0002/consumables/",
            "/help/",
        ],
    ),
    "the owner": (
        "owner",
        [
            "/bench/hours/",
            "/office/",
            "/office/people/",
            "/office/people/sign-ins/",
            "/office/customers/",
            "/me/second-factor/",
            "/counter/ticket/T-0099/",
            "/office/running/",
        ],
    ),
    "the owner's catalogue and parts": (
        "owner",
        [
            "/office/catalogue/",
            "/office/catalogue/types/display_7in/",
            "/office/catalogue/bundles/",
            "/office/catalogue/bundles/night_lights/",
            "/office/parts/",
            "/office/parts/order/",
            "/office/price-lists/1/",
            "/office/price-lists/",
            "/office/catalogue/old-prices/",
            "/office/consumables/",
        ],
    ),
    "parts at the counter": (
        "counter",
        [
            "/counter/parts/",
            "/counter/parts/count/?q=anchor",
            "/counter/parts/waiting/",
            "/counter/parts/order/",
            "/counter/parts/orders/",
            "/counter/parts/orders/P-0001/",
            "/counter/parts/type/anchor_trolley/",
        ],
    ),
}


@pytest.fixture
def tickets_of_the_day(shop, monkeypatch):
    """A draft with a rig, and a ticket on the bench with its quote and work order (their paper is tested elsewhere)."""
    monkeypatch.setattr(builds.documents, "pdf", lambda html, paper: blank_page())
    counter, hull_type = shop["counter"], HullType.objects.get(code="sot_3_7_angler")
    first = tickets.open_ticket(counter, hull_type=hull_type, title="Dawn rig")
    for code in ("display_7in", "battery_lfp_12v_20ah", "rod_holder_flush_tube", "led_strip_pair"):
        lines.add_line(counter, first, AccessoryType.objects.get(code=code))
    second = tickets.open_ticket(counter, hull_type=hull_type, title="Anchor and a long name of a job to be done")
    for code in ("anchor_trolley", "rod_holder_flush_tube"):
        lines.add_line(counter, second, AccessoryType.objects.get(code=code), mounting="rivet")
    quote = papers.issue_quote(counter, querysets.for_counter().get(number=second.number))
    yes = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, second, yes, way="paper")
    papers.issue_work_order(counter, querysets.for_counter().get(number=second.number))
    on_the_shelf(shop, second)
    money.take_money(counter, second, kind="deposit", way="cash", amount=quote.deposit)
    changes.begin_change(counter, second)
    lines.add_line(counter, second, AccessoryType.objects.get(code="gear_track_300mm"))
    alternatives.copy_current(counter, first, "leaner")
    lines.remove_line(counter, first, "L4")
    third = tickets.open_ticket(counter, hull_type=hull_type, title="Twice quoted")
    for code in ("anchor_trolley", "rod_holder_flush_tube"):
        lines.add_line(counter, third, AccessoryType.objects.get(code=code), mounting="rivet")
        papers.issue_quote(counter, querysets.for_counter().get(number=third.number))


def on_the_shelf(shop, ticket):
    """One part counted with a very long name, one on order and partly here, one missing at the bench."""
    long = AccessoryType.objects.get(code="anchor_trolley")
    AccessoryType.objects.filter(pk=long.pk).update(name=f"{long.name} {'with a very long name ' * 4}"[:120])
    other = AccessoryType.objects.get(code="rod_holder_flush_tube")
    shelf.count(shop["counter"], {shelf.item_of(kind).pk: (Decimal(3), None) for kind in (long, other)})
    shelf.write(shop["counter"], shelf.item_of(other), "damaged", Decimal(1), why="Crushed in the box")
    today = clock.today()
    wanted = [Ordered(shelf.item_of(kind).pk, 2) for kind in (long, other)]
    made = ordering.order(shop["counter"], wanted, supplier="Sample Supply", ordered_on=today, expected_on=today)
    came = Came(made.lines.first().pk, Decimal(1), True, "damaged", "The box was wet")
    ordering.receive(shop["counter"], made, [came])
    AccessoryType.objects.filter(code="hatch_light").update(stock_minimum=2)
    priced(shop["owner"], long, other)
    CatalogueVersion.move_on()
    missing.miss_part(shop["tech"], ticket, line_key="L1", words="The bin is empty", key=new_token())


def priced(owner, changed, lacking):
    """Old prices, and a price list that changes a cost, names a stranger and lacks a type."""
    AccessoryType.objects.update(priced_on=datetime.date(2020, 3, 1))
    for n, kind in enumerate((changed, lacking)):
        AccessoryType.objects.filter(pk=kind.pk).update(supplier="Sample Supply", part_number=f"AN-{n}", price=None)
    WaitingFile.objects.create(
        pk=1,
        kind="price_list",
        supplier="Sample Supply",
        name="a-price-list-with-a-long-name-of-its-file.csv",
        text="part,cost,from,note\r\nAN-0,88.00,,x\r\nZZ-0,1.00,,y\r\n",
        by=owner,
        at=clock.now(),
    )


@pytest.mark.parametrize("pages", PAGES)
def test_no_page_scrolls_sideways_or_fails_axe_or_has_anything_inline(
    pages, open_page, live_server, tickets_of_the_day
):
    role, paths = PAGES[pages]
    page = open_page(paths[0], role)
    assert wrong_on(page, live_server, paths) == {}
