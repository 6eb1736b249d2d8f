"""Who may come in where, and that no cost, price or margin goes through a door where it does not belong."""

import re

import pytest
from django.urls import get_resolver

from builds.models import Ticket
from catalog.models import AccessoryType
from catalog.models.version import CatalogueVersion

PATHS = {
    "/counter/": {"counter", "owner"},
    "/counter/new/": {"counter", "owner"},
    "/counter/tickets/": {"counter", "owner"},
    "/counter/ticket/{number}/": {"counter", "owner"},
    "/counter/ticket/{number}/about/": {"counter", "owner"},
    "/counter/ticket/{number}/boat/": {"counter", "owner"},
    "/counter/ticket/{number}/afloat/": {"counter", "owner"},
    "/counter/ticket/{number}/operations/": {"counter", "owner"},
    "/counter/ticket/{number}/charges/": {"counter", "owner"},
    "/counter/ticket/{number}/papers/": {"counter", "owner"},
    "/bench/": {"tech", "owner"},
    "/bench/ticket/{number}/": {"tech", "owner"},
    "/office/": {"owner"},
    "/office/by/tech/": {"owner"},
    "/office/tickets/": {"owner"},
    "/office/ticket/{number}/": {"owner"},
    "/office/now/": {"owner"},
    "/office/quotes/": {"owner"},
    "/office/learning/": {"owner"},
    "/office/what-if/": {"owner"},
    "/counter/parts/": {"counter", "owner"},
    "/counter/parts/count/": {"counter", "owner"},
    "/counter/parts/waiting/": {"counter", "owner"},
    "/counter/parts/order/": {"counter", "owner"},
    "/counter/parts/orders/": {"counter", "owner"},
    "/counter/ticket/{number}/parts/": {"counter", "owner"},
    "/bench/ticket/{number}/parts/": {"tech", "owner"},
    "/bench/ticket/{number}/parts/missing/": {"tech", "owner"},
    "/office/parts/": {"owner"},
    "/office/parts/order/": {"owner"},
    "/office/parts/order/list.csv": {"owner"},
}


@pytest.mark.parametrize("path", PATHS)
def test_each_page_belongs_to_its_roles_and_to_nobody_who_is_not_signed_in(path, rig, cast, client):
    Ticket.objects.update(state="bench")
    path = path.format(number=rig.number)
    assert client.get(path).status_code == 302
    for role, person in cast.items():
        client.force_login(person)
        template = next(p for p in PATHS if p.format(number=rig.number) == path)
        assert client.get(path).status_code == (200 if role in PATHS[template] else 403), role


CANARY_COST, CANARY_PRICE = "7331.17", "8442.28"


@pytest.fixture
def canaries(rig):
    """Every part at a price and a cost that nothing else has."""
    AccessoryType.objects.update(cost=CANARY_COST, price=CANARY_PRICE)
    CatalogueVersion.move_on()
    rig.lines.update(unit_cost=CANARY_COST)
    return rig


def bare(text):
    return re.sub(r"[\s,\u202f\u00a0\u2009]", "", text)


def every_path(number):
    """Every address of the program that takes no more than a ticket's number, a line's key or a small number."""
    found = []
    for pattern in get_resolver().url_patterns:
        found += walk(pattern, "")
    fill = {
        "number": number,
        "key": "L1",
        "n": "1",
        "version": "1",
        "act": "cancel",
        "quote": f"Q-{number[2:]}-1",
        "code": "display_7in",
    }
    return ["/" + re.sub(r"<(?:\w+:)?(\w+)>", lambda m: fill.get(m[1], "1"), path) for path in found]


def walk(pattern, prefix):
    route = prefix + str(pattern.pattern)
    if hasattr(pattern, "url_patterns"):
        return [path for child in pattern.url_patterns for path in walk(child, route)]
    return [route] if "admin" not in route and "(" not in route else []


def test_a_tech_receives_no_cost_and_no_price_whatever_is_asked(canaries, tech, client):
    Ticket.objects.update(state="bench")
    client.force_login(tech)
    asked = 0
    for path in every_path(canaries.number):
        for answer in (client.get(path, follow=False), client.post(path, {})):
            if path.startswith(("/sign-out", "/lock")):
                client.force_login(tech)
                continue
            body = bare(
                b"".join(answer).decode("utf-8", "replace")
                if answer.streaming
                else answer.content.decode("utf-8", "replace")
            )
            assert bare(CANARY_COST) not in body, path
            assert bare(CANARY_PRICE) not in body, path
            assert "argin" not in body, path
            asked += 1
    assert asked > 40


def test_the_counter_sees_prices_but_no_cost_and_no_margin(canaries, counter, client):
    client.force_login(counter)
    body = bare(client.get(f"/counter/ticket/{canaries.number}/").content.decode())
    assert bare(CANARY_PRICE) in body
    assert bare(CANARY_COST) not in body
    for path in PATHS:
        answer = bare(client.get(path.format(number=canaries.number)).content.decode())
        assert bare(CANARY_COST) not in answer, path
        assert "argin" not in answer, path


def test_acts_take_a_post_and_nothing_else(rig, counter, client):
    client.force_login(counter)
    for act in ("lines", "undo", "mend", "close/cancel", "boat/change", "papers/quote", "papers/accept"):
        assert client.get(f"/counter/ticket/{rig.number}/{act}/").status_code == 405, act
