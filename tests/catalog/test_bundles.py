"""Bundles of the shop's own: what a file may say, what the counter is offered, and the owner's pages."""

import copy
import json

import pytest
from django.db.models import ProtectedError

from catalog import models, store
from catalog.forms.bundles import BundleForm, line_formset
from catalog.records import Unusable
from shop.models import JournalEntry
from tests.catalog.factories import AccessoryTypeFactory, BundleFactory, BundleLineFactory
from tests.catalog.typed import typed, typed_in_admin, typed_on_page

HOME = "/office/catalogue/bundles/"


def text(record):
    return json.dumps(record, sort_keys=True)


def lights(shipped):
    return copy.deepcopy(next(record for record in shipped["bundles"] if record["id"] == "night_lights"))


@pytest.fixture
def two(db, shipped):
    """Two shipped bundles with the types they name, and no more."""
    bundles = [record for record in shipped["bundles"] if record["id"] in ("night_lights", "anchor_outfit")]
    named = {line["accessory"] for record in bundles for line in record["lines"]}
    store.store(models.AccessoryType, [record for record in shipped["accessories"] if record["id"] in named])
    return store.store(models.Bundle, bundles)


@pytest.mark.parametrize(
    ("line", "key", "value", "sentence"),
    [
        (0, "accessory", "no_such_type", "lines[0].accessory: “no_such_type” is no accessory type of the catalogue."),
        (0, "accessory", None, "lines[0].accessory: may not be null."),
        (0, "accessory", 7, "lines[0].accessory: a text is needed."),
        (1, "mounting", "strap", "lines[1].mounting: “strap” is no mounting of Bow bi-colour sidelight, wired."),
        (1, "mounting", "glue", "lines[1].mounting: “glue” is not known here. Known are through_bolt, rivet"),
        (1, "quantity", 0, "lines[1].quantity: The figure lies between 1 and 99."),
        (1, "place", "The Bow", "lines[1].place: A word has small letters, digits and underscores only."),
        (1, "drive", True, "lines[1].drive: Bow bi-colour sidelight, wired is no battery"),
        (1, "colour", "red", "lines[1].colour: is not known; known are accessory, quantity, mounting, place, drive."),
    ],
)
def test_a_line_that_the_catalogue_cannot_keep_is_refused_with_its_path(two, shipped, line, key, value, sentence):
    before = models.Bundle.objects.get(code="night_lights")
    record = lights(shipped) | {"name": "Changed"}
    record["lines"][line][key] = value
    with pytest.raises(Unusable) as refused:
        store.store(models.Bundle, [record], "bundles")
    assert str(refused.value).startswith(f"bundles[0].{sentence}")
    assert models.Bundle.objects.get(code="night_lights").name == before.name


@pytest.mark.parametrize("lines", [[], None])
def test_a_bundle_without_a_line_is_refused(two, shipped, lines):
    with pytest.raises(Unusable) as refused:
        store.store(models.Bundle, [lights(shipped) | {"lines": lines}], "bundles")
    assert str(refused.value) == "bundles[0]: A bundle has at least one line."


def test_craft_and_uses_are_words_of_the_trade(two, shipped):
    with pytest.raises(Unusable) as refused:
        store.store(models.Bundle, [lights(shipped) | {"craft": ["raft"], "uses": ["racing"]}], "bundles")
    assert [problem.path for problem in refused.value.problems] == ["bundles[0].craft", "bundles[0].uses"]


def test_a_change_of_a_bundle_moves_the_catalogue_on(two, shipped):
    version = models.CatalogueVersion.current()
    store.store_bundle(lights(shipped) | {"note": "Another note."})
    assert models.CatalogueVersion.current() != version


def test_a_bundle_that_names_no_craft_suits_every_one():
    for_all, for_canoes = models.Bundle(craft=[]), models.Bundle(craft=["canoe"])
    assert for_all.suits("canoe")
    assert for_all.suits("touring_kayak")
    assert for_canoes.suits("canoe")
    assert not for_canoes.suits("touring_kayak")


def test_bundles_are_offered_in_the_shops_order_with_all_that_a_press_needs_in_two_queries(
    loaded, shipped, django_assert_num_queries
):
    models.Bundle.objects.filter(code="first_fishing_rig").update(withdrawn=True)
    models.Bundle.objects.filter(code="whitewater_outfit").update(place=0)
    with django_assert_num_queries(2):
        offered = list(models.Bundle.objects.offered())
        named = [line.accessory.name for bundle in offered for line in bundle.lines.all()]
    assert len(named) == sum(len(record["lines"]) for record in shipped["bundles"][1:])
    in_file = [record["id"] for record in shipped["bundles"]]
    assert [bundle.code for bundle in offered] == ["whitewater_outfit", *in_file[1:-1]]


def test_bundles_are_found_by_words_without_accents(db):
    BundleFactory(code="ancre", name="Ancre à voile", note="Pour le lac.")
    BundleFactory(code="other")
    for words in ("VOILE ancre", "lac"):
        assert [bundle.code for bundle in models.Bundle.objects.matching(words)] == ["ancre"], words


def test_a_type_that_a_bundle_names_is_not_removed(db):
    line = BundleLineFactory()
    with pytest.raises(ProtectedError):
        line.accessory.delete()


# The owner's pages. Who may not see them is asked with all pages of the catalogue.


def test_saving_a_bundles_page_untouched_changes_nothing_for_every_shipped_bundle(loaded):
    for bundle in models.Bundle.objects.whole():
        before = text(bundle.ledger_record())
        head = BundleForm(typed(BundleForm(instance=bundle)), instance=bundle)
        lines = line_formset(bundle, typed(line_formset(bundle)))
        assert head.is_valid(), (bundle, head.errors)
        assert lines.is_valid(), (bundle, lines.errors, lines.non_form_errors())
        assert text(head.record() | {"lines": lines.records()}) == before


def test_a_new_bundle_starts_with_its_lines_at_the_end_of_the_list(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}new/"
    head = {"code": "quiet_dawn", "name": "Quiet dawn", "uses": ["fishing", "family"]}
    lines = {"lines-0-accessory": "rod_holder_track_mount", "lines-0-quantity": "2", "lines-0-place_word": "side_deck"}
    lines |= {"lines-1-accessory": "gear_track_300mm", "lines-1-mounting": "rivet"}
    answer = client.post(url, typed_on_page(client.get(url), **head | lines))
    assert answer.status_code == 302
    bundle = models.Bundle.objects.get(code="quiet_dawn")
    assert bundle.place == 11
    assert bundle.record() == {
        "id": "quiet_dawn",
        "name": "Quiet dawn",
        "craft": [],
        "uses": ["fishing", "family"],
        "note": "",
        "lines": [
            {
                "accessory": "rod_holder_track_mount",
                "quantity": 2,
                "mounting": None,
                "place": "side_deck",
                "drive": False,
            },
            {"accessory": "gear_track_300mm", "quantity": 1, "mounting": "rivet", "place": None, "drive": False},
        ],
    }
    entry = JournalEntry.objects.get()
    assert (entry.actor, entry.action) == (owner, "added to the catalogue")


def test_lines_are_changed_moved_and_taken_away_and_journalled(two, client_of, owner):
    client, url = client_of(owner), f"{HOME}anchor_outfit/change/"
    changes = {"lines-0-ORDER": "2", "lines-1-ORDER": "1", "lines-1-quantity": "3"}
    assert client.post(url, typed_on_page(client.get(url), **changes)).status_code == 302
    lines = models.Bundle.objects.get(code="anchor_outfit").record()["lines"]
    assert [(line["accessory"], line["quantity"]) for line in lines] == [("anchor_cleat", 3), ("anchor_trolley", 1)]
    assert set(JournalEntry.objects.get().after) == {"lines"}
    assert client.post(url, typed_on_page(client.get(url), **{"lines-0-DELETE": "on"})).status_code == 302
    assert len(models.Bundle.objects.get(code="anchor_outfit").record()["lines"]) == 1


def test_a_bundle_saved_untouched_writes_no_journal_entry(two, client_of, owner):
    client, url = client_of(owner), f"{HOME}night_lights/change/"
    assert client.post(url, typed_on_page(client.get(url))).status_code == 302
    assert not JournalEntry.objects.exists()


def test_a_withdrawn_bundle_is_kept_and_offered_no_more(two, client_of, owner):
    client, url = client_of(owner), f"{HOME}night_lights/change/"
    assert client.post(url, typed_on_page(client.get(url), withdrawn="on")).status_code == 302
    assert "night_lights" not in [bundle.code for bundle in models.Bundle.objects.offered()]
    assert "withdrawn" in client.get(HOME).content.decode()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"lines-0-mounting": "strap"}, "“strap” is no mounting of Anchor trolley"),
        ({"lines-0-drive": "on"}, "is no battery, so it is no drive battery."),
        ({"lines-0-quantity": "many"}, "Enter a whole number."),
        ({"lines-0-place_word": "The Bow"}, "A word has small letters, digits and underscores only."),
        ({"lines-0-DELETE": "on", "lines-1-DELETE": "on"}, "A bundle has at least one line."),
        ({"lines-0-accessory": "no_such_type"}, "Select a valid choice."),
        ({"name": ""}, "This field is required."),
        ({"uses": ["racing"]}, "racing is not one of the available choices."),
    ],
)
def test_a_bundle_with_a_mistake_is_shown_again_as_typed(two, client_of, owner, changes, sentence):
    client, url = client_of(owner), f"{HOME}anchor_outfit/change/"
    before = text(models.Bundle.objects.get(code="anchor_outfit").ledger_record())
    answer = client.post(url, typed_on_page(client.get(url), **{"note": "Kept note"} | changes))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert 'value="Kept note"' in page
    for name, value in changes.items():
        if name.startswith("lines-0") and value != "on":
            assert answer.context["formsets"][0][0][name.removeprefix("lines-0-")].value() == value
    assert text(models.Bundle.objects.get(code="anchor_outfit").ledger_record()) == before


def test_two_people_who_change_one_bundle_notice_each_other(two, client_of, owner):
    client, url = client_of(owner), f"{HOME}anchor_outfit/change/"
    first, second = (typed_on_page(client.get(url), name=name) for name in ("First name", "Second name"))
    assert client.post(url, first).status_code == 302
    answer = client.post(url, second)
    assert answer.status_code == 422
    assert "Someone else changed this record" in answer.content.decode()
    assert 'value="Second name"' in answer.content.decode()


def test_a_bundle_says_which_of_its_types_are_offered_no_more(db, client_of, owner):
    gone = AccessoryTypeFactory(name="Gone part", withdrawn=True)
    bundle = BundleFactory(with_line=False)
    BundleLineFactory(bundle=bundle, accessory=gone)
    client = client_of(owner)
    for url in (HOME, bundle.get_absolute_url()):
        assert "No longer offered: Gone part." in client.get(url).content.decode()
    # It stays in the choice of this bundle and in no other's.
    assert f'value="{gone.code}"' in client.get(f"{bundle.get_absolute_url()}change/").content.decode()
    assert f'value="{gone.code}"' not in client.get(f"{HOME}new/").content.decode()


def test_an_empty_list_says_how_it_begins(db, client_of, owner):
    client = client_of(owner)
    assert "None yet." in client.get(HOME).content.decode()
    BundleFactory()
    assert "No bundle has all of these words." in client.get(HOME, {"q": "nothing such"}).content.decode()


def test_pages_of_bundles_take_the_same_queries_however_many_lines_there_are(
    loaded, client_of, owner, django_assert_num_queries
):
    client = client_of(owner)
    client.get(HOME)
    # Session, user, bundles, lines with their types.
    for url in (HOME, f"{HOME}first_fishing_rig/", f"{HOME}seen_in_the_dark/"):
        with django_assert_num_queries(4):
            assert client.get(url).status_code == 200


def test_a_mounting_that_a_type_lacks_is_refused_in_the_admin_too(two, client_of, owner):
    client = client_of(owner)
    url = f"/admin/catalog/bundle/{models.Bundle.objects.get(code='anchor_outfit').pk}/change/"
    assert client.post(url, typed_in_admin(client.get(url), note="Another.")).status_code == 302
    assert set(JournalEntry.objects.get().after) == {"note"}
    answer = client.post(url, typed_in_admin(client.get(url), **{"lines-0-mounting": "strap"}))
    assert "“strap” is no mounting of Anchor trolley" in answer.content.decode()
