"""The pages of parts: empty, one, three hundred; a fixed number of queries; costs for the owner at the office alone."""

import re
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds import stock
from builds.actions import missing, shelf
from builds.models import Movement, OwnPart, PartFound, PartMissing, PurchaseOrder, StockItem
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion
from shop.once import new_token
from tests.builds.shelf_of import accepted, counted, draft, item, kind, on_the_bench, standing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("catalogue", "blank_papers")]

MOST = 12
COST = Decimal("7331.17")


def page(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.fixture
def canary(catalogue):
    AccessoryType.objects.update(cost=COST)
    CatalogueVersion.move_on()


def bare(text):
    return re.sub(r"[\s,\u202f\u00a0\u2009]", "", text)


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("", "Nothing is counted, needed or on order yet."),
        ("waiting/", "No ticket waits for a part:"),
        ("order/", "Nothing is short:"),
        ("orders/", "Nothing was ordered yet."),
    ],
)
def test_an_empty_page_says_so(path, words, client, counter):
    client.force_login(counter)
    assert words in page(client, f"/counter/parts/{path}")


def three_hundred():
    """Three hundred types on the shelf, each short, one with a very long name."""
    first = kind("anchor_trolley")
    kinds = []
    for n in range(300):
        copy = AccessoryType.objects.get(pk=first.pk)
        copy.pk, copy.code, copy.name = (
            None,
            f"invented_{n}",
            f"Invented part {n} " + ("with a very long name " * 4 if n == 0 else ""),
        )
        copy.stock_minimum, copy.name = 2, copy.name[:120]
        kinds.append(copy)
    AccessoryType.objects.bulk_create(kinds)
    StockItem.objects.bulk_create(
        StockItem(accessory=one) for one in AccessoryType.objects.filter(code__startswith="invented_")
    )
    CatalogueVersion.move_on()
    stock.moved()


PATHS = ["parts/", "parts/count/", "parts/waiting/", "parts/order/", "parts/orders/", "parts/type/anchor_trolley/"]


def test_three_hundred_parts_take_as_many_queries_as_one_and_no_cost_is_at_the_counter(
    canary, client, counter, owner, tech
):
    counted(counter, anchor_trolley=1)
    ticket = on_the_bench(counter, ("anchor_trolley", 2), ("cart_scupper_posts", 1, "customer"))
    missing.miss_part(tech, ticket, line_key="L1", words="Empty bin", key=new_token())
    three_hundred()
    paths = [f"/counter/{path}" for path in [*PATHS, f"ticket/{ticket.number}/parts/", f"ticket/{ticket.number}/"]]
    bench = [
        f"/bench/{path}" for path in ["", *(f"ticket/{ticket.number}/{end}" for end in ("parts/", "parts/missing/"))]
    ]
    for person, door in (
        (counter, paths),
        (owner, paths),
        (tech, bench),
        (owner, ["/office/parts/", "/office/parts/order/"]),
    ):
        client.force_login(person)
        for path in door:
            client.get(path)
            with CaptureQueriesContext(connection) as caught:
                body = page(client, path)
            assert len(caught) <= MOST, path
            shown = any(bare(f"{many * COST}") in bare(body) for many in (1, 2))
            assert shown == path.startswith("/office/"), path


def test_the_list_on_paper_and_as_a_table_has_costs_at_the_office_alone(canary, client, owner, counter):
    accepted(counter, ("anchor_trolley", 2))
    client.force_login(owner)
    assert str(2 * COST) in client.get("/office/parts/order/list.csv").content.decode()
    assert str(2 * COST) not in client.get("/counter/parts/order/list.csv").content.decode()
    assert client.get("/counter/parts/order/list.pdf?paper=letter").status_code == 200


def form_of(body, **typed):
    """The hidden and filled fields of a page's forms, by name, with what is typed into fields by the end of theirs."""
    fields = dict(re.findall(r'name="([\w-]+)" value="([^"]*)"', body))
    prefix = fields.get("group", "")
    return fields | {f"{prefix}-{name}": value for name, value in typed.items()}


def test_a_shelf_is_counted_ordered_and_received_by_its_pages(client, counter):
    ticket = accepted(counter, ("anchor_trolley", 2))
    client.force_login(counter)
    key = f"type_{kind('anchor_trolley').pk}"
    assert client.post("/counter/parts/count/", {f"count_{key}": "1"}).status_code == 302
    assert item("anchor_trolley").on_hand == 1
    body = page(client, "/counter/parts/order/")
    sent = form_of(body, reference="SO 12", ordered_on="2026-11-25", expected_on="2026-12-04")
    answer = client.post("/counter/parts/order/", sent)
    made = PurchaseOrder.objects.get()
    assert answer.headers["Location"] == f"/counter/parts/orders/{made.number}/"
    assert (made.reference, made.lines.get().quantity) == ("SO 12", 1)
    line = made.lines.get()
    said = {f"came_{line.pk}": "1", f"opened_{line.pk}": "on", f"condition_{line.pk}": "good"}
    answer = client.post(f"/counter/parts/orders/{made.number}/receive/", said, follow=True)
    assert f"Received, for {ticket.number}. Parts here: {ticket.number}." in answer.content.decode()
    assert "Parts here" in page(client, f"/counter/ticket/{ticket.number}/")


def test_what_cannot_be_saved_is_shown_again_as_it_was_typed(client, counter):
    accepted(counter, ("anchor_trolley", 2))
    client.force_login(counter)
    key = f"type_{kind('anchor_trolley').pk}"
    answer = client.post("/counter/parts/count/", {f"count_{key}": "a few", "why": "New bins"})
    assert answer.status_code == 422
    assert all(word in answer.content.decode() for word in ("The count is a number", "a few", "New bins"))
    sent = form_of(page(client, "/counter/parts/order/"))
    answer = client.post(
        "/counter/parts/order/", form_of(page(client, "/counter/parts/order/"), reference="SO 12", expected_on="soon")
    )
    assert answer.status_code == 422
    assert all(word in answer.content.decode() for word in ("that is no day", "SO 12", "soon"))
    packs = next(name for name in sent if "packs_" in name)
    answer = client.post("/counter/parts/order/", sent | {packs: "0"})
    assert (answer.status_code, "No part is named" in answer.content.decode()) == (409, True)


def test_a_double_press_writes_one_order_and_one_count(client, counter):
    accepted(counter, ("anchor_trolley", 2))
    client.force_login(counter)
    sent = form_of(page(client, "/counter/parts/order/"), ordered_on="2026-11-25", expected_on="2026-12-04")
    key, token = f"type_{kind('anchor_trolley').pk}", new_token()
    for _ in range(2):
        client.post("/counter/parts/order/", sent)
        client.post("/counter/parts/count/", {f"count_{key}": "3", "once": token})
    assert (PurchaseOrder.objects.count(), Movement.objects.count()) == (1, 1)


def test_an_entry_is_taken_back_on_the_page_of_its_thing(client, counter):
    counted(counter, anchor_trolley=3)
    client.force_login(counter)
    path = "/counter/parts/type/anchor_trolley/"
    said = {"kind": "damaged", "quantity": "1", "why": "Crushed"}
    assert client.post(f"{path}write/", said).status_code == 302
    entry = Movement.objects.latest("id")
    assert client.post(f"/counter/parts/entries/{entry.pk}/take-back/").status_code == 302
    assert item("anchor_trolley").on_hand == 3
    assert "taken back" in page(client, path)
    answer = client.post(f"{path}write/", said | {"quantity": "9"})
    assert (answer.status_code, "the shelf has 3; 9 cannot go" in answer.content.decode()) == (409, True)
    answer = client.post(f"{path}count/", {f"count_type_{kind('anchor_trolley').pk}": "1"})
    assert (answer.status_code, "why the count differs" in answer.content.decode()) == (409, True)


def test_a_tech_misses_a_part_and_the_counter_sees_it_on_its_start_and_solves_it(client, counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1))
    client.force_login(tech)
    path = f"/bench/ticket/{ticket.number}/parts/missing/"
    body = page(client, f"{path}?step=2&line=L1")
    assert 'value="L1" selected' in body
    said = {"line": "L1", "quantity": "1", "words": "", "step": "2", "key": new_token()}
    answer = client.post(path, said)
    assert (answer.status_code, "A few words are missing" in answer.content.decode()) == (422, True)
    assert client.post(path, said | {"words": "The bin is empty"}).status_code == 302
    assert "Waits for" in page(client, f"/bench/ticket/{ticket.number}/")
    assert "Waits for" in page(client, "/bench/")
    client.force_login(counter)
    assert "The bin is empty" in page(client, "/counter/")
    assert "The bin is empty" in page(client, "/counter/parts/waiting/")
    found = PartMissing.objects.get()
    where = f"/counter/ticket/{ticket.number}/parts/found/{found.pk}/"
    assert client.post(where, {"how": "other"}).status_code == 409
    assert client.post(where, {"how": "other", "words": "Bought in the harbour"}).status_code == 302
    assert PartFound.objects.get().by == counter
    assert "The bin is empty" not in page(client, "/counter/")


def test_the_customers_own_part_is_written_down_at_the_counter_and_at_the_bench(client, counter, tech):
    ticket = on_the_bench(counter, ("anchor_trolley", 1, "customer"))
    client.force_login(counter)
    said = {"line": "L1", "condition": "good", "powered": "not_tried", "received_on": "2026-11-20"}
    assert client.post(f"/counter/ticket/{ticket.number}/parts/own/", said).status_code == 302
    client.force_login(tech)
    failed = said | {"powered": "failed", "reading": "0 A"}
    assert client.post(f"/bench/ticket/{ticket.number}/parts/own/", failed).status_code == 302
    assert OwnPart.objects.count() == 2
    body = page(client, f"/bench/ticket/{ticket.number}/parts/")
    assert "It cannot be fitted as it is" in body and "powered: failed, read 0 A" in body
    answer = client.post(f"/bench/ticket/{ticket.number}/parts/own/", said | {"received_on": "soon"})
    assert (answer.status_code, "soon" in answer.content.decode()) == (422, True)


def test_the_lines_of_a_ticket_say_how_their_parts_stand(client, counter):
    counted(counter, anchor_trolley=1)
    client.force_login(counter)
    ticket = draft(counter, ("anchor_trolley", 1))
    assert "on the shelf" in page(client, f"/counter/ticket/{ticket.number}/")
    ticket = accepted(counter, ("anchor_trolley", 1), ("reflective_tape_kit", 1))
    body = page(client, f"/counter/ticket/{ticket.number}/")
    assert ">held<" in body and ">to order<" in body
    assert standing("anchor_trolley").free == 0
    shelf.write(counter, item("anchor_trolley"), "damaged", Decimal(1), why="Crushed")
    assert ">held<" not in page(client, f"/counter/ticket/{ticket.number}/")
