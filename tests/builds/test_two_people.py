"""Two people at one ticket, and a form that is sent twice: nothing is lost, nothing is done twice."""

import re

import pytest

from builds.actions import lines
from builds.models import MoneyEntry, Quote, Ticket
from shop.once import new_token
from tests.builds.at_once import all_at_once
from tests.builds.conftest import fresh

pytestmark = pytest.mark.usefixtures("blank_papers")

FORMS = {
    "about": ({"title": "Mine"}, "Mine"),
    "afloat": (
        {
            "water": "sea",
            "air_temp": "7 °C",
            "a-TOTAL_FORMS": "1",
            "a-INITIAL_FORMS": "0",
            "a-0-name": "Mine",
            "a-0-mass": "70 kg",
            "d-TOTAL_FORMS": "0",
            "d-INITIAL_FORMS": "0",
        },
        "Mine",
    ),
    "operations": ({"op_handover": "7"}, 'value="7"'),
    "charges": ({"fee_name_1": "Mine", "fee_amount_1": "12.00"}, "Mine"),
}


@pytest.mark.parametrize("form", FORMS)
def test_the_later_save_is_refused_with_both_versions_and_can_be_put_over_theirs(form, rig, counter, owner, client):
    said, mine = FORMS[form]
    shown = fresh(rig).revision
    client.force_login(owner)
    theirs = {"title": "Theirs", "op_handover": "3", "fee_name_1": "Theirs", "fee_amount_1": "9.00"}
    assert client.post(address(rig, form), {**said, **pick(theirs, said), "revision": shown}).status_code == 302
    client.force_login(counter)
    answer = client.post(address(rig, form), {**said, "revision": shown})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert f"{owner} changed this ticket" in page
    assert mine in page
    if form != "afloat":
        assert "saved now" in page
    revision = re.search(r'name="revision" value="(\d+)"', page)[1]
    assert client.post(address(rig, form), {**said, "revision": revision}).status_code == 302


def pick(theirs, said):
    return {name: value for name, value in theirs.items() if name in said}


def address(ticket, rest):
    return f"/counter/ticket/{ticket.number}/{rest}/"


def test_a_line_that_both_open_shows_both_versions(rig, counter, owner, client):
    shown = fresh(rig).revision
    lines.change_line(owner, rig, "L1", quantity=5)
    client.force_login(counter)
    said = {"part": "", "quantity": "2", "station": "console", "supplied_by": "shop", "revision": shown, "line": "L1"}
    answer = client.post(address(rig, "lines/L1"), said)
    page = answer.content.decode()
    assert (answer.status_code, "saved now: <b>5</b>" in page, 'value="2"' in page) == (409, True, True)
    assert fresh(rig).lines.get(key="L1").quantity == 5


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("lines", {"part": "anchor_trolley", "quantity": "1"}),
        ("bundles/anchor_outfit", {}),
        ("papers/quote", {}),
        ("alternatives/copy", {"name": "leaner"}),
    ],
)
def test_a_double_press_does_its_work_once(path, said, rig, counter, client):
    client.force_login(counter)
    token = new_token()
    for _ in range(3):
        assert client.post(address(rig, path), {**said, "once": token}).status_code in (302, 303)
    ticket = fresh(rig)
    counts = (ticket.lines.filter(accessory__code="anchor_trolley").count(), Quote.objects.count())
    assert max(counts) <= 1
    assert ticket.alternatives.count() in (0, 2)


def test_a_new_ticket_sent_twice_is_one_ticket_and_both_lead_to_it(catalogue, counter, client):
    client.force_login(counter)
    said = {"hull_type": "sot_3_4", "once": new_token()}
    first, second = (client.post("/counter/new/", said) for _ in range(2))
    assert Ticket.objects.count() == 1
    assert first.headers["Location"] == second.headers["Location"]


@pytest.mark.django_db(transaction=True)
def test_a_form_sent_by_two_browsers_at_once_does_its_work_once(rig, counter, client):
    from django.test import Client

    token = new_token()

    def send():
        browser = Client()
        browser.force_login(counter)
        return browser.post(address(rig, "lines"), {"part": "anchor_trolley", "quantity": "1", "once": token})

    found = all_at_once([send] * 4)
    assert sorted(answer.status_code for answer in found) == [302, 303, 303, 303]
    assert fresh(rig).lines.filter(accessory__code="anchor_trolley").count() == 1
    assert not MoneyEntry.objects.exists()
