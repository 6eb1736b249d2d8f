import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command

from shop import journal, people
from shop.management.commands import make_person
from shop.models import JournalEntry, User

pytestmark = pytest.mark.django_db

GOOD = "seven-dry-hatches"


def test_the_first_owner_is_made_at_the_command_line_and_may_sign_in(client, monkeypatch):
    monkeypatch.setattr(make_person, "getpass", lambda prompt: GOOD)
    call_command("make_person", "olga", name="Olga Owner")
    assert client.login(username="olga", password=GOOD)
    assert User.objects.get().role == "owner"


@pytest.mark.parametrize(
    ("password", "again", "told"),
    [(GOOD, "other", "differ"), ("12345", "12345", "too short"), ("password1", "password1", "too common")],
)
def test_a_weak_or_mistyped_password_is_refused_and_nothing_saved(monkeypatch, password, again, told):
    answers = iter([password, again])
    monkeypatch.setattr(make_person, "getpass", lambda prompt: next(answers))
    with pytest.raises(CommandError, match=told):
        call_command("make_person", "olga", name="Olga Owner")
    assert not User.objects.exists()


def test_a_taken_user_name_is_refused_in_words(owner):
    with pytest.raises(ValidationError, match="Someone has this user name already"):
        people.make_person(owner, username="olga", name="Another", role="tech", password=GOOD)


def test_the_journal_tells_who_made_and_changed_a_person_and_never_a_password(owner):
    person = people.make_person(owner, username="ulla", name="Ulla", role="tech", password=GOOD)
    person.role = "counter"
    person.set_password("another-seven-hatches")
    people.save_person(owner, person)
    people.save_person(owner, person)
    made, changed = JournalEntry.objects.all()
    assert (made.action, made.after["role"]) == ("make_person", "tech")
    assert changed.before == {"role": "tech", "password": "one"}
    assert changed.after == {"role": "counter", "password": "another"}
    assert GOOD not in made.after_json and person.password not in changed.after_json
    assert journal.verify() is None


def test_nobody_is_in_the_admin_and_the_journal_is_only_read(client_of, owner, tech):
    people.save_person(owner, User(username="x", name="X"))
    entry = JournalEntry.objects.get()
    client = client_of(owner)
    assert client.get(f"/admin/shop/user/{tech.pk}/change/").status_code == 404
    assert client.get("/admin/shop/journalentry/").status_code == 200
    assert client.get(f"/admin/shop/journalentry/{entry.pk}/change/").status_code == 200
    assert client.post(f"/admin/shop/journalentry/{entry.pk}/change/", {"why": "x"}).status_code == 403
    assert client.get("/admin/shop/journalentry/add/").status_code == 403


def test_only_the_owner_enters_the_admin_and_there_is_one_way_in(client, client_of, counter, tech, owner):
    assert client.get("/admin/", follow=True).redirect_chain[-1][0].startswith("/sign-in/?next=")
    for person in (counter, tech):
        assert client_of(person).get("/admin/", follow=True).status_code == 403
    assert client_of(owner).get("/admin/").status_code == 200
    assert client.get("/admin/password_change/").url == "/me/password/"


@pytest.mark.django_db
def test_each_sets_units_and_the_search_key_for_oneself_and_the_journal_knows(counter, client):
    """WCAG 2.2, criterion 2.1.4: a shortcut of a single character can be switched off."""
    client.force_login(counter)
    assert 'data-slash="on"' in client.get("/me/").content.decode()
    assert client.post("/me/", {"units": "us"}).status_code == 302
    counter.refresh_from_db()
    assert (counter.units, counter.slash_key) == ("us", False)
    assert 'data-slash="off"' in client.get("/me/").content.decode()
    assert journal.history(counter).last().after == {"units": "us", "slash_key": False}
    assert client.post("/me/", {"units": "cubits"}).status_code == 422
