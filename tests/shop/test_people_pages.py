"""The office's pages of people: only the owner's, and no last owner leaves."""

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from shop import people
from shop.accounts.models import Invitation, OpenSession
from shop.models import JournalEntry, User
from tests.shop.accounts_at_work import RIGHT, sign_in, with_password

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(owner):
    with_password(owner)
    client = Client()
    sign_in(client, "olga")
    return client


def test_people_are_for_the_owner_alone(cast, client_of, tech):
    paths = ["/office/people/", "/office/people/sign-ins/", f"/office/people/{tech.pk}/"]
    posts = ["leave", "come-back", "password-link", "sessions/end", "second-factor/off"]
    for role in ("counter", "tech"):
        client = client_of(cast[role])
        assert {client.get(path).status_code for path in paths} == {403}
        assert {client.post(f"/office/people/{tech.pk}/{post}/").status_code for post in posts} == {403}
    tech.refresh_from_db()
    assert tech.is_active


def test_the_owner_changes_name_initials_and_role_each_change_journalled(office, tech):
    page = f"/office/people/{tech.pk}/"
    assert office.get(page).status_code == 200
    form = {"name": "Tam", "initials": "T", "email": "", "role": "counter"}
    assert office.post(page, form).url == page
    assert JournalEntry.objects.get().after == {"name": "Tam", "initials": "T", "role": "counter"}
    assert office.post(page, form | {"role": "captain"}).status_code == 422
    assert office.get("/office/people/99/").status_code == 404


def test_when_someone_leaves_every_session_and_link_ends_at_once(office, tech, owner):
    with_password(tech)
    phone = Client()
    sign_in(phone, "tam")
    office.post(f"/office/people/{tech.pk}/password-link/")
    assert office.post(f"/office/people/{tech.pk}/leave/").url == "/office/people/"
    assert phone.get("/bench/").status_code == 302
    assert sign_in(Client(), "tam").status_code == 422
    assert not OpenSession.objects.filter(user=tech).exists() and not Invitation.objects.exists()
    assert "no longer here" in office.get("/office/people/").content.decode()


def test_one_who_comes_back_sets_a_new_password(office, tech):
    with_password(tech)
    office.post(f"/office/people/{tech.pk}/leave/")
    link = office.post(f"/office/people/{tech.pk}/come-back/").context["link"]
    assert sign_in(Client(), "tam").status_code == 422
    new = {"password": "eleven-wet-paddles", "again": "eleven-wet-paddles"}
    phone = Client()
    assert phone.post(link.removeprefix("http://testserver"), new).status_code == 302
    assert phone.get("/bench/").status_code == 200


def test_the_only_owner_neither_leaves_nor_becomes_something_else(office, owner, tech):
    gone = office.post(f"/office/people/{owner.pk}/leave/")
    assert "the only owner" in gone.content.decode()
    less = office.post(f"/office/people/{owner.pk}/", {"name": "Olga", "initials": "O", "role": "tech"})
    assert less.status_code == 422 and "the only owner" in less.content.decode()
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == ("owner", True)
    second = User.objects.create_user("oda", name="Oda", role="owner")
    owner.is_active = False
    people.save_person(second, owner)
    second.role = "tech"
    with pytest.raises(ValidationError, match="the only owner"):
        people.save_person(second, second)


def test_the_owner_signs_another_out_everywhere_and_stays_in(office, tech):
    with_password(tech)
    phone = Client()
    sign_in(phone, "tam")
    assert office.post(f"/office/people/{tech.pk}/sessions/end/").status_code == 302
    assert (phone.get("/bench/").status_code, office.get("/me/").status_code) == (302, 200)


def test_the_page_of_people_takes_no_more_queries_for_more_people(office, django_assert_max_num_queries):
    for n in range(30):
        User.objects.create_user(f"user{n}", name=f"Person {n}", password=RIGHT)
    with django_assert_max_num_queries(12):
        page = office.get("/office/people/").content.decode()
    assert page.count("Person ") >= 30
