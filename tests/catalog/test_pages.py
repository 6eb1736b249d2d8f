"""The catalogue's pages: who sees what, what is found, and how few queries it takes."""

import re
from decimal import Decimal

import pytest

from catalog import models
from shop import roles
from tests.catalog.factories import AccessoryTypeFactory, ConflictFactory, RequirementFactory, ShopRatesFactory

HOME = "/office/catalogue/"
READ = [HOME, f"{HOME}types/display_7in/", f"{HOME}hulls/", f"{HOME}hulls/sot_3_0_budget/"]
OWNERS = [
    f"{HOME}types/new/",
    f"{HOME}types/display_7in/change/",
    *(f"{HOME}types/display_7in/change/{part}/" for part in ("openings", "steps", "consumables", "needs", "ratings")),
    f"{HOME}hulls/new/",
    f"{HOME}hulls/sot_3_0_budget/change/",
    f"{HOME}hulls/sot_3_0_budget/stations/",
    f"{HOME}operations/",
    f"{HOME}operations/new/",
    f"{HOME}operations/op_leak_test/change/",
    f"{HOME}consumables/",
    f"{HOME}consumables/new/",
    f"{HOME}consumables/marine_sealant/change/",
    f"{HOME}bundles/",
    f"{HOME}bundles/new/",
    f"{HOME}bundles/night_lights/",
    f"{HOME}bundles/night_lights/change/",
    f"{HOME}rates/",
    f"{HOME}rates/new/",
    f"{HOME}rates/2025-01-01/",
    f"{HOME}rates/2025-01-01/change/",
]


def statuses(client_of, cast, url):
    return {role: client_of(person).get(url).status_code for role, person in cast.items()}


def test_counter_and_owner_read_types_and_hulls_and_the_tech_does_not(loaded, client_of, cast):
    for url in READ:
        assert statuses(client_of, cast, url) == {roles.COUNTER: 200, roles.OWNER: 200, roles.TECH: 403}, url


def test_only_the_owner_changes_the_catalogue_or_reads_costs(loaded, client_of, cast):
    for url in OWNERS:
        assert statuses(client_of, cast, url) == {roles.COUNTER: 403, roles.OWNER: 200, roles.TECH: 403}, url
        for role in (roles.COUNTER, roles.TECH):
            # 405 where nothing is ever sent to the page.
            assert client_of(cast[role]).post(url, {}).status_code in (403, 405), url


def test_whoever_is_not_signed_in_is_sent_to_the_door(db, client):
    for url in [*READ, *OWNERS]:
        assert client.get(url).status_code == 302, url


def test_the_counter_never_receives_a_cost_or_a_margin(db, client_of, counter, owner):
    AccessoryTypeFactory(code="dear_part", price=Decimal("200.00"), cost=Decimal("77.31"))
    for url in (HOME, f"{HOME}types/dear_part/"):
        seen = client_of(owner).get(url).content.decode()
        assert "77.31" in seen
        assert "61" in seen, "margin (200 - 77.31) / 200 is 61 %"
        hidden = client_of(counter).get(url).content.decode()
        assert "200.00" in hidden
        assert "77.31" not in hidden
        assert "argin" not in hidden
        assert "Cost" not in hidden


def codes(answer):
    return [row["code"] for row in answer.context["types"]]


def test_types_are_found_by_any_words_without_accents(db, client_of, counter):
    AccessoryTypeFactory(code="ancre", name="Ancre à voile déployée", category="anchoring")
    AccessoryTypeFactory(code="other", name="Other part")
    client = client_of(counter)
    for words in ("voile ancre", "DEPLOYEE", "  anchoring   voile "):
        assert codes(client.get(HOME, {"q": words})) == ["ancre"], words
    assert codes(client.get(HOME, {"q": "voile other"})) == []
    assert "Take a word or a filter away" in client.get(HOME, {"q": "voile other"}).content.decode()


def test_a_search_takes_a_percent_sign_and_an_underscore_as_they_are(db, client_of, counter):
    AccessoryTypeFactory(code="cup_100", name="Cup 100% dry")
    AccessoryTypeFactory(code="cup_200", name="Cup 200 dry")
    assert codes(client_of(counter).get(HOME, {"q": "100%"})) == ["cup_100"]
    assert codes(client_of(counter).get(HOME, {"q": "cup_100"})) == ["cup_100"]


def test_filters_ask_for_a_craft_that_a_type_suits_or_does_not(db, client_of, counter):
    AccessoryTypeFactory(code="for_canoe", craft=["canoe"], category="lights")
    AccessoryTypeFactory(code="for_kayak", craft=["sit_inside_kayak", "touring_kayak"], category="power")
    AccessoryTypeFactory(code="gone", craft=["canoe"], withdrawn=True)
    client = client_of(counter)
    assert codes(client.get(HOME, {"craft": "canoe"})) == ["for_canoe"]
    assert codes(client.get(HOME, {"craft": "canoe", "suits": "not"})) == ["for_kayak"]
    assert codes(client.get(HOME, {"category": "lights"})) == ["for_canoe"]
    assert set(codes(client.get(HOME, {"craft": "canoe", "withdrawn": "on"}))) == {"for_canoe", "gone"}


@pytest.mark.parametrize("asked", [{"craft": "raft"}, {"category": "x" * 500}, {"page": "9999"}, {"q": "x" * 5000}])
def test_nonsense_in_the_address_is_no_server_error(asked, loaded, client_of, counter):
    assert client_of(counter).get(HOME, asked).status_code == 200


def test_the_list_takes_the_same_queries_for_three_types_as_for_all(
    loaded, client_of, owner, django_assert_num_queries
):
    client = client_of(owner)
    client.get(HOME)
    for asked in ({}, {"q": "rod holder"}):
        # Session, user, categories, count, types.
        with django_assert_num_queries(5):
            assert client.get(HOME, asked).status_code == 200


@pytest.mark.parametrize("code", ["battery_tray_and_strap", "anchor_trolley", "display_7in", "rudder_kit"])
def test_a_type_takes_the_same_queries_whatever_belongs_to_it(
    code, loaded, client_of, owner, django_assert_max_num_queries
):
    client = client_of(owner)
    client.get(HOME)
    with django_assert_max_num_queries(11):
        assert client.get(f"{HOME}types/{code}/").status_code == 200


def test_a_hull_type_takes_four_queries(loaded, client_of, owner, django_assert_num_queries):
    client = client_of(owner)
    client.get(HOME)
    with django_assert_num_queries(4):
        assert client.get(f"{HOME}hulls/sot_3_0_budget/").status_code == 200


@pytest.mark.parametrize("code", ["display_7in", "live_bait_tank", "switch_panel_3_gang", "dcdc_24_to_12"])
def test_a_type_shows_its_openings_steps_needs_and_where_they_come_from(code, loaded, client_of, owner, shipped):
    record = next(record for record in shipped["accessories"] if record["id"] == code)
    page = client_of(owner).get(f"{HOME}types/{code}/").content.decode()
    for step in record["steps"]:
        assert step["text"].replace("'", "&#x27;") in page
    for need in record["requires"]:
        assert need["why"].replace("'", "&#x27;") in page
    for opening in record["openings"]:
        assert opening["purpose"][1:] in page


def test_openings_alike_are_counted_together(loaded, client_of, owner):
    openings = client_of(owner).get(f"{HOME}types/switch_panel_3_gang/").context["openings"]
    assert [(opening["purpose"], opening["count"]) for opening in openings] == [("panel body", 1), ("fastener", 4)]


def test_a_conflict_listed_with_one_type_shows_on_both(db, client_of, counter):
    one, two = AccessoryTypeFactory(name="Part one"), AccessoryTypeFactory(name="Part two")
    ConflictFactory(accessory_type=one, other=two.code, why="Same place.")
    client = client_of(counter)
    assert client.get(one.get_absolute_url()).context["conflicts"][0]["name"] == "Part two"
    assert client.get(two.get_absolute_url()).context["conflicts"][0]["name"] == "Part one"


def test_a_type_names_those_whose_needs_it_meets_by_code_or_by_tag(db, client_of, counter):
    supply = AccessoryTypeFactory(provides=["12v_supply"])
    RequirementFactory(accessory_type__name="By tag", any_of=["tag:12v_supply"])
    RequirementFactory(accessory_type__name="By code", any_of=["something", supply.code])
    RequirementFactory(accessory_type__name="Neither", any_of=["tag:12v_supply_other"])
    shown = client_of(counter).get(supply.get_absolute_url()).context["asked_by"]
    assert [type["name"] for type in shown] == ["By code", "By tag"]


def test_an_unknown_type_hull_or_date_is_not_found(loaded, client_of, owner):
    client = client_of(owner)
    for place in (
        "types/nothing/",
        "hulls/nothing/",
        "bundles/nothing/",
        "bundles/nothing/change/",
        "types/display_7in/change/wings/",
        "rates/2020-02-02/",
    ):
        assert client.get(HOME + place).status_code == 404, place
    assert client.get(f"{HOME}rates/2026-02-30/").status_code == 404


def test_the_list_of_rates_says_which_hold_today(db, client_of, owner):
    past = ShopRatesFactory(holds_from="2025-01-01")
    ShopRatesFactory(holds_from="2999-01-01")
    page = client_of(owner).get(f"{HOME}rates/")
    assert page.context["holding"] == past
    assert "holds today" in page.content.decode()


def test_pages_carry_no_inline_style_or_script(loaded, client_of, owner):
    client = client_of(owner)
    for url in [*READ, *OWNERS]:
        page = client.get(url).content.decode()
        assert " style=" not in page, url
        assert "<style" not in page, url
        assert page.count("<script") == page.count("<script src=") + page.count("<script defer src="), url


def test_a_withdrawn_type_is_marked(db, client_of, counter):
    part = AccessoryTypeFactory(withdrawn=True)
    assert "withdrawn" in client_of(counter).get(part.get_absolute_url()).content.decode()
    assert models.AccessoryType.objects.offered().count() == 0


def test_every_element_that_is_opened_is_closed_for_each_role(loaded, client_of, counter, owner):
    for person, urls in ((counter, READ), (owner, [*READ, *OWNERS])):
        for url in urls:
            page = client_of(person).get(url).content.decode()
            for tag in ("dl", "div", "section", "table", "ul", "form", "fieldset"):
                assert len(re.findall(rf"<{tag}[ >]", page)) == page.count(f"</{tag}>"), (url, tag, person.role)
