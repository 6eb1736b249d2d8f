"""The catalogue as the estimator takes it: plain records, kept in the process until something changes."""

import datetime

import pytest

from catalog import actions, exchange, models, shelf, store
from tests.catalog.factories import AccessoryTypeFactory, BundleFactory, OpeningFactory, ShopRatesFactory

NEW_YEAR = datetime.date(2026, 1, 1)


def test_the_shelf_holds_the_shipped_records(loaded, shipped):
    records = shelf.records()
    assert records["accessories"] == {record["id"]: record for record in shipped["accessories"]}
    assert records["shop_operations"] == {record["id"]: record for record in shipped["operations"]}
    assert records["consumables"] == {record["id"]: record for record in shipped["consumables"]}
    assert records["hull_types"] == {record["id"]: record for record in shipped["hull_types"]}


def test_the_whole_catalogue_takes_fourteen_queries_and_then_one(loaded, django_assert_num_queries):
    shelf._kept = None
    with django_assert_num_queries(14):
        first = shelf.records()
    with django_assert_num_queries(1):
        assert shelf.records() is first
    with django_assert_num_queries(1):
        shelf.shop_record(NEW_YEAR)


def test_a_version_is_one_query(loaded, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert shelf.version()


def test_a_change_is_seen_at_once(db):
    part = AccessoryTypeFactory(name="Before")
    assert shelf.records()["accessories"][part.code]["name"] == "Before"
    store.store_accessory(part.record() | {"name": "After"})
    assert shelf.records()["accessories"][part.code]["name"] == "After"


@pytest.mark.parametrize("name", ["left", "right"])
def test_a_change_that_was_rolled_back_leaves_nothing_on_the_shelf(db, name):
    # Both runs count to the same number; the mark tells their catalogues apart.
    AccessoryTypeFactory(code="same_code", name=name)
    assert shelf.records()["accessories"]["same_code"]["name"] == name


def test_the_shop_record_is_the_shipped_rates_with_the_demo_shops_tax_and_every_consumable(loaded, shipped):
    shop = shelf.shop_record(NEW_YEAR)
    rates = exchange.read_file(exchange.CATALOGUE / "rates.json")
    assert {**shop, "tax": None, "consumables": None} == {**rates, "tax": None, "consumables": None}
    assert shop["tax"] == {"parts": "0.06", "labour": "0", "consumables": "0.06", "fees": "0"}
    assert set(shop["consumables"]) == {record["id"] for record in shipped["consumables"]}
    assert shop["consumables"]["marine_sealant"]["unit_cost"] == "0.045"


def test_the_rules_of_a_day_are_the_latest_that_began_by_then(db):
    for month, step in ((1, 15.0), (3, 10.0), (6, 5.0)):
        ShopRatesFactory(holds_from=datetime.date(2026, month, 1), billing_step_min=step)
    steps = [
        shelf.shop_record(datetime.date(2026, *day))["billing_step_min"] for day in ((2, 28), (3, 1), (5, 31), (12, 31))
    ]
    assert steps == [15, 10, 10, 5]
    # Before the first date there is nothing better than the first rules.
    assert shelf.shop_record(datetime.date(2020, 1, 1))["billing_step_min"] == 15
    assert models.ShopRates.objects.holding_on(datetime.date(2026, 4, 1)).billing_step_min == 10


def test_a_shop_without_rules_is_told_so(db):
    with pytest.raises(LookupError, match="no rates and rules yet"):
        shelf.shop_record(NEW_YEAR)


def test_openings_added_to_a_type_reach_the_shelf(db):
    part = AccessoryTypeFactory()
    assert shelf.records()["accessories"][part.code]["openings"] == []
    OpeningFactory(accessory_type=part)
    assert shelf.records()["accessories"][part.code]["openings"][0]["fastener"] == "M5"


def test_the_estimator_reads_every_record_of_the_shelf(loaded):
    from builds.estimator.document import Catalogue

    records = shelf.records()
    catalogue = Catalogue(records["accessories"], records["shop_operations"], shelf.shop_record(NEW_YEAR))
    assert (len(catalogue.accessories), len(catalogue.operations)) == (133, 14)


def test_the_rates_of_a_day_are_those_that_the_shop_record_is_made_of(db):
    for month in (1, 3, 6):
        ShopRatesFactory(holds_from=datetime.date(2026, month, 1))
    for day in ((2020, 1, 1), (2026, 2, 28), (2026, 3, 1), (2026, 12, 31)):
        date = datetime.date(*day)
        assert shelf.rates_on(date) == models.ShopRates.objects.holding_on(date)


def test_a_shop_without_rates_has_none_on_any_day(db):
    with pytest.raises(LookupError, match="no rates and rules yet"):
        shelf.rates_on(NEW_YEAR)


def test_the_shelf_knows_how_long_a_type_is_waited_for(db):
    part = AccessoryTypeFactory(lead_days=12)
    AccessoryTypeFactory()
    assert shelf.waits() == {part.code: 12}


def test_the_shelf_holds_the_bundles_that_are_offered(db):
    BundleFactory(code="second", place=2)
    BundleFactory(code="gone", withdrawn=True)
    BundleFactory(code="first", place=1)
    assert [bundle.code for bundle in shelf.bundles()] == ["first", "second"]


def test_rates_marked_as_quoted_keep_the_first_date(db):
    ShopRatesFactory(holds_from=datetime.date(2026, 1, 1))
    actions.rates_quoted(datetime.date(2026, 2, 1))
    actions.rates_quoted(datetime.date(2026, 3, 1))
    assert models.ShopRates.objects.get().first_quoted_on == datetime.date(2026, 2, 1)


def test_a_withdrawn_type_stays_on_the_shelf_and_is_named_as_withdrawn(db):
    part = AccessoryTypeFactory(withdrawn=True)
    AccessoryTypeFactory()
    assert part.code in shelf.records()["accessories"]
    assert shelf.withdrawn() == {part.code}
