"""The lock of the shared PC: over the page, what was typed beneath it, and the server closed meanwhile."""

from shop.accounts.models import OpenSession
from shop.models import User

PASSWORD = "seven-dry-hatches"


def at_settings(open_page, shop, **more):
    """The counter's own settings, one of them changed and not saved yet."""
    shop["counter"].set_password(PASSWORD)
    shop["counter"].save()
    page = open_page("/me/", **more)
    page.get_by_label("Units").select_option("us")
    return page


def test_a_key_locks_and_the_password_opens_with_what_was_typed_still_there(open_page, shop):
    page = at_settings(open_page, shop)
    page.keyboard.press("Alt+l")
    dialog = page.get_by_role("dialog")
    dialog.wait_for()
    page.wait_for_function("document.activeElement.id === 'lock_password'")
    assert page.locator("main").is_hidden()
    page.keyboard.press("Escape")
    page.keyboard.press("Escape")
    assert dialog.is_visible()
    status = page.evaluate("fetch('/counter/', {headers: {Accept: 'application/json'}}).then(a => a.status)")
    assert status == 401
    page.keyboard.type("a guess")
    page.keyboard.press("Enter")
    page.get_by_text("not the password of the one who is signed in").wait_for()
    page.locator("#lock_password").fill(PASSWORD)
    page.keyboard.press("Enter")
    dialog.wait_for(state="hidden")
    assert page.get_by_label("Units").input_value() == "us"
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved.").wait_for()
    assert User.objects.get(role="counter").units == "us"


def test_a_second_window_is_locked_and_opened_with_the_first(open_page, shop):
    page = at_settings(open_page, shop)
    other = page.context.new_page()
    other.goto(page.url)
    page.keyboard.press("Alt+l")
    other.get_by_role("dialog").wait_for()
    assert other.locator("main").is_hidden()
    page.locator("#lock_password").fill(PASSWORD)
    page.keyboard.press("Enter")
    other.get_by_role("dialog").wait_for(state="hidden")
    assert other.locator("main").is_visible()


def test_without_scripts_the_lock_leads_back_and_a_late_form_comes_back_whole(open_page, shop):
    page = at_settings(open_page, shop, scripts=False)
    store = OpenSession.objects.get()
    kept = OpenSession.get_session_store_class()(store.session_key)
    kept["locked"] = True
    kept.save()
    page.get_by_role("button", name="Save").click()
    page.get_by_text("What was typed is kept").wait_for()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Unlock").click()
    page.get_by_role("button", name="Send what I typed").click()
    page.get_by_text("Saved.").wait_for()
    assert User.objects.get(role="counter").units == "us"
