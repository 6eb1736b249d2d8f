"""Django's admin: the owner reads, searches and changes everything; nobody else enters."""

import re

from catalog import models, shelf
from shop import roles
from shop.models import JournalEntry
from tests.catalog.factories import AccessoryTypeFactory, ShopRatesFactory
from tests.catalog.typed import typed_in_admin

LISTS = ["accessorytype", "hulltype", "shopoperation", "consumable", "bundle", "shoprates"]


def test_only_the_owner_enters(db, client_of, cast):
    for kind in LISTS:
        for role, person in cast.items():
            answer = client_of(person).get(f"/admin/catalog/{kind}/")
            assert (answer.status_code == 200) == (role == roles.OWNER), (kind, role)


def test_a_list_takes_few_queries_however_long_it_is(loaded, client_of, owner, django_assert_max_num_queries):
    client = client_of(owner)
    for kind in LISTS:
        with django_assert_max_num_queries(12):
            assert client.get(f"/admin/catalog/{kind}/").status_code == 200


def test_the_list_is_searched_by_words_without_accents(loaded, client_of, owner):
    AccessoryTypeFactory(name="Ancre flottante à voile déployée")
    page = client_of(owner).get("/admin/catalog/accessorytype/", {"q": "DEPLOYEE voile"}).content.decode()
    assert "Ancre flottante" in page
    assert "1 Accessory type" in page.replace("accessory type", "Accessory type")


def test_every_kind_has_its_page(loaded, client_of, owner, django_assert_max_num_queries):
    client = client_of(owner)
    for model, queries in (
        (models.AccessoryType, 30),
        (models.HullType, 14),
        (models.Bundle, 30),
        (models.ShopRates, 10),
    ):
        url = f"/admin/catalog/{model._meta.model_name}/{model.objects.first().pk}/change/"
        with django_assert_max_num_queries(queries):
            assert client.get(url).status_code == 200


def test_a_change_in_the_admin_is_journalled_and_reaches_the_shelf(loaded, client_of, owner):
    display = models.AccessoryType.objects.get(code="display_7in")
    client = client_of(owner)
    url = f"/admin/catalog/accessorytype/{display.pk}/change/"
    assert shelf.records()["accessories"]["display_7in"]["labour"]["likely_min"] == 45
    answer = client.post(url, typed_in_admin(client.get(url), likely_min="50"))
    assert answer.status_code == 302, re.findall(r"errorlist.*?</ul>", answer.content.decode())
    assert shelf.records()["accessories"]["display_7in"]["labour"]["likely_min"] == 50
    entry = JournalEntry.objects.get()
    assert (entry.actor, entry.before["labour"]["likely_min"], entry.after["labour"]["likely_min"]) == (owner, 45, 50)
    assert set(entry.after) == {"labour"}


def test_steps_whose_shares_do_not_add_up_are_refused_in_the_admin(loaded, client_of, owner):
    display = models.AccessoryType.objects.get(code="display_7in")
    client = client_of(owner)
    url = f"/admin/catalog/accessorytype/{display.pk}/change/"
    answer = client.post(url, typed_in_admin(client.get(url), **{"steps-0-share": "0.9"}))
    assert answer.status_code == 200
    assert "The shares of all steps add to 1 (100 %); these add to 1.833." in answer.content.decode()
    assert not JournalEntry.objects.exists()


def test_rates_that_a_quote_used_are_only_read(db, client_of, owner):
    rates = ShopRatesFactory(first_quoted_on="2026-01-01")
    client = client_of(owner)
    url = f"/admin/catalog/shoprates/{rates.pk}/change/"
    page = client.get(url)
    assert page.status_code == 200
    assert 'name="_save"' not in page.content.decode()
    assert client.post(url, {"billing_step_min": "5"}).status_code == 403
