"""Who may do what. Facts of the trade: common practice, no source."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse

from shop.models import User
from shop.roles import COUNTER, MAY, OWNER, ROLES, TECH, allow, may


def person(role, **fields):
    return User(username=role, role=role, **fields)


def test_the_owner_may_do_everything_but_sign_for_the_customer():
    assert [action for action in MAY if not may(person(OWNER), action)] == ["sign_quote"]


def test_the_tech_never_sees_a_price_or_a_cost():
    assert not may(person(TECH), "see_prices")
    assert not may(person(TECH), "see_costs")


def test_the_counter_sees_prices_but_no_costs_since_the_customer_looks_on():
    assert may(person(COUNTER), "see_prices")
    assert not may(person(COUNTER), "see_costs")


def test_only_the_owner_overrides_a_stop():
    assert [role for role in ROLES if may(person(role), "override_stop")] == [OWNER]


def test_one_who_left_may_do_nothing():
    left = person(OWNER, is_active=False)
    assert [action for action in MAY if may(left, action)] == []


def test_a_stranger_may_do_nothing():
    assert [action for action in MAY if may(AnonymousUser(), action)] == []


def test_an_action_nobody_wrote_down_is_a_mistake_and_not_a_no():
    with pytest.raises(KeyError):
        may(person(OWNER), "raise_the_capacity_rating")


@pytest.mark.parametrize(("role", "status"), [(COUNTER, 200), (OWNER, 200), (TECH, 403)])
def test_a_view_of_the_counter_lets_in_counter_and_owner(rf, role, status):
    @allow(COUNTER)
    def quote(request):
        return HttpResponse()

    request = rf.get("/")
    request.user = person(role)
    if status == 200:
        assert quote(request).status_code == 200
    else:
        with pytest.raises(PermissionDenied):
            quote(request)
    assert quote.allowed_roles == {COUNTER, OWNER}


def test_a_role_that_does_not_exist_is_refused_when_the_program_starts():
    with pytest.raises(ValueError, match="unknown role"):
        allow("manager")
