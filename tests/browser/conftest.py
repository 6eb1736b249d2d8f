"""A real Chromium on a real server; signed in by the session's cookie."""

import os
import shutil
import threading

import pytest
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.utils import timezone

from shop import roles
from shop.accounts.sessions import CONFIRMED, SessionStore
from shop.models import User
from tests.shipped import put_catalogue

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser" in str(item.fspath):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium():
    if CHROMIUM is None and not os.environ.get("CI"):
        pytest.skip("no Chromium; on Debian: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    # The browser's driver keeps an event loop in this thread; Django would refuse its database beside one.
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def shop(transactional_db):
    """The shipped catalogue and one person a role."""
    put_catalogue()
    people = (
        ("cora", "Cora Counter", roles.COUNTER),
        ("tam", "Tam Tech", roles.TECH),
        ("olga", "Olga Owner", roles.OWNER),
    )
    return {role: User.objects.create_user(name, name=full, initials=full[0], role=role) for name, full, role in people}


def cookie_of(user):
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session[CONFIRMED] = timezone.now().timestamp()
    session.save()
    return session.session_key


@pytest.fixture
def open_page(chromium, live_server, shop):
    """Open a page as a role, at a width, with scripts or without."""
    contexts = []

    def opened(path, role="counter", width=1366, scripts=True):
        context = chromium.new_context(
            viewport={"width": width, "height": 900}, java_script_enabled=scripts, has_touch=width < 500
        )
        context.add_cookies([{"name": "sessionid", "value": cookie_of(shop[role]), "url": live_server.url}])
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.goto(live_server.url + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    answers_under_way_end()


def answers_under_way_end():
    """Wait for the server's threads of requests: one that still reads would meet the tables that are emptied next."""
    for thread in threading.enumerate():
        if "process_request_thread" in thread.name:
            thread.join(timeout=10)
