"""Every address of the house belongs to someone."""

import pytest
from django.contrib import admin
from django.urls import URLPattern, get_resolver

from shop.roles import OWNER

# Open to one who has not signed in, and why.
PUBLIC = {
    "sign_in": "the way in",
    "sign_in_code": "the second step of the way in",
    "begin": "the first owner of a fresh shop, by a secret; no page afterwards",
    "by_invitation": "the way of a new person, by a secret",
    "sign_in_link": "the demo's way in; refused elsewhere",
    "sign_by_link": "the customer's way to one quote, by a secret",
    "quote_by_link": "the same quote as a file",
    "signed_by_link": "what was signed, for the one who signed",
    "bench_feed": "a person's calendar of the bench, by a secret, for calendar programs that cannot sign in",
    "health": "for whatever watches the server; it tells nothing",
}


OPEN_VIEWS = (
    "shop.views",
    "shop.accounts.views.coming_in",
    "shop.accounts.views.joining",
    "builds.views.signing",
    "builds.views.week",
)


def pages(resolver, inside=""):
    for pattern in resolver.url_patterns:
        route = inside + str(pattern.pattern)
        if isinstance(pattern, URLPattern):
            yield route, pattern
        elif pattern.app_name != "admin":
            yield from pages(pattern, route)


@pytest.mark.parametrize(("route", "page"), list(pages(get_resolver())), ids=lambda value: str(value))
def test_a_page_names_the_roles_it_belongs_to_or_is_on_the_public_list(route, page):
    allowed = getattr(page.callback, "allowed_roles", None)
    if page.name in PUBLIC and page.callback.__module__ in OPEN_VIEWS:
        assert allowed is None
        assert page.callback.login_required is False
    else:
        assert allowed, f"{route}: decorate the view with shop.roles.allow"
        assert OWNER in allowed
        assert getattr(page.callback, "login_required", True)


def test_the_walk_sees_pages_of_every_room():
    rooms = {page.callback.__module__.split(".")[0] for _, page in pages(get_resolver())}
    assert {"shop", "catalog", "builds"} <= rooms


def test_the_admin_is_the_one_that_only_the_owner_enters():
    assert type(admin.site._wrapped if hasattr(admin.site, "_wrapped") else admin.site).__name__ == "OfficeAdminSite"
