"""Changing the catalogue on its own pages: what is typed becomes the record; what is wrong is said and kept."""

import datetime
import json

import pytest

from catalog import models
from catalog.forms.fields import ShareField, percent_text
from catalog.forms.parts import part_formset
from catalog.forms.rates import RatesForm
from catalog.forms.records import AccessoryTypeForm, ConsumableForm, HullTypeForm, OperationForm
from catalog.store import store_accessory
from catalog.views.types import SECTIONS
from shop.models import JournalEntry
from tests.catalog.factories import AccessoryTypeFactory, ShopRatesFactory
from tests.catalog.typed import typed, typed_on_page

HOME = "/office/catalogue/"
PART_MODELS = [model for _, part_models in SECTIONS.values() for model in part_models]


def text(record):
    return json.dumps(record, sort_keys=True)


@pytest.fixture
def rack(db, shipped):
    """One shipped type, alone."""
    return store_accessory(next(record for record in shipped["accessories"] if record["id"] == "rod_rack_rear_bar"))


def test_saving_a_types_pages_untouched_changes_nothing_for_every_shipped_type(loaded):
    for kind in models.AccessoryType.objects.whole():
        record = kind.record()
        for model in PART_MODELS:
            formset = part_formset(model, kind, typed(part_formset(model, kind)))
            assert formset.is_valid(), (kind.code, formset.errors, formset.non_form_errors())
            held = record[model.RELATED]
            held = held if isinstance(held, list) else [held] if held else []
            assert text(formset.records()) == text(held), (kind.code, model.RELATED)
        form = AccessoryTypeForm(typed(AccessoryTypeForm(instance=kind)), instance=kind)
        assert form.is_valid(), (kind.code, form.errors)
        assert text(form.record()) == text(kind.ledger_record() | {**record}), kind.code


@pytest.mark.parametrize(
    ("model", "form"),
    [(models.HullType, HullTypeForm), (models.ShopOperation, OperationForm), (models.Consumable, ConsumableForm)],
)
def test_saving_other_pages_untouched_changes_nothing_either(loaded, model, form):
    for row in model.objects.all():
        before = text(row.ledger_record())
        bound = form(typed(form(instance=row)), instance=row)
        assert bound.is_valid(), (row, bound.errors)
        assert text(bound.record()) == before


def test_saving_stations_untouched_changes_nothing(loaded):
    for hull in models.HullType.objects.whole():
        formset = part_formset(models.HullTypeStation, hull, typed(part_formset(models.HullTypeStation, hull)))
        assert formset.is_valid(), (hull, formset.errors, formset.non_form_errors())
        assert text(formset.records()) == text(hull.record()["stations"])


def test_saving_rates_untouched_changes_nothing(loaded):
    rates = models.ShopRates.objects.get()
    before = text(rates.ledger_record())
    form = RatesForm(typed(RatesForm(instance=rates)), instance=rates)
    assert form.is_valid(), form.errors
    assert text(form.record()) == before


def test_a_changed_price_is_journalled_and_dated(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}types/display_7in/change/"
    answer = client.post(url, typed_on_page(client.get(url), price="$ 1,702.50", mass_kg="2 lb 3 oz"))
    assert answer.status_code == 302
    display = models.AccessoryType.objects.get(code="display_7in")
    assert str(display.price) == "1702.50"
    # 2 lb 3 oz is 35 oz of 28.349523125 g, exact by the international pound.
    assert display.mass_kg == pytest.approx(35 * 0.028349523125)
    entry = JournalEntry.objects.get()
    assert (entry.actor, set(entry.after)) == (owner, {"price", "mass_kg", "priced_on"})
    assert display.priced_on == entry.at.date()


def test_saving_without_a_change_writes_no_journal_entry(loaded, client_of, owner):
    client = client_of(owner)
    for url in (f"{HOME}types/anchor_trolley/change/", f"{HOME}types/anchor_trolley/change/openings/"):
        assert client.post(url, typed_on_page(client.get(url))).status_code == 302
    assert not JournalEntry.objects.exists()


def test_what_was_typed_stays_with_a_sentence_for_each_mistake(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}types/display_7in/change/"
    changes = {"mass_kg": "heavy", "likely_min": "500", "price": "-3", "mountings": "glue", "name": "Kept name"}
    answer = client.post(url, typed_on_page(client.get(url), **changes))
    page = answer.content.decode()
    assert answer.status_code == 422
    for value in changes.values():
        assert f'value="{value}"' in page
    for sentence in (
        "“heavy” is not",
        "Minutes go from low over likely to high; here they are 30, 500 and 75.",
        "“glue” is not known here. Known are through_bolt",
        "“-3” is out of range.",
    ):
        assert sentence in page
    assert models.AccessoryType.objects.get(code="display_7in").likely_min == 45


def test_taking_away_a_mounting_that_an_opening_is_made_for_is_refused(rack, client_of, owner):
    client, url = client_of(owner), f"{HOME}types/rod_rack_rear_bar/change/"
    answer = client.post(url, typed_on_page(client.get(url), mountings="gear_track_t_bolt"))
    assert answer.status_code == 422
    assert "An opening is for the mounting “through_bolt”" in answer.content.decode()


def test_two_people_who_change_one_type_notice_each_other(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}types/display_7in/change/"
    first, second = (typed_on_page(client.get(url), name=name) for name in ("First name", "Second name"))
    assert client.post(url, first).status_code == 302
    answer = client.post(url, second)
    assert answer.status_code == 422
    assert "Someone else changed this record" in answer.content.decode()
    assert 'value="Second name"' in answer.content.decode()
    assert models.AccessoryType.objects.get(code="display_7in").name == "First name"
    # Told of it, the person may save all the same.
    assert client.post(url, typed_on_page(answer, name="Second name")).status_code == 302
    assert models.AccessoryType.objects.get(code="display_7in").name == "Second name"


def test_steps_are_added_moved_and_taken_away(db, client_of, owner):
    part = AccessoryTypeFactory()
    client, url = client_of(owner), f"{HOME}types/{part.code}/change/steps/"
    changes = {
        "steps-0-share": "40 %",
        "steps-1-phase": "drill",
        "steps-1-share": "0.5",
        "steps-1-text": "Drill it.",
        "steps-1-ORDER": "1",
        "steps-0-ORDER": "2",
        "steps-2-phase": "finish",
        "steps-2-share": "10%",
        "steps-2-text": "Wipe it.",
        "steps-2-second_tick": "on",
    }
    assert client.post(url, typed_on_page(client.get(url), **changes)).status_code == 302
    steps = models.AccessoryType.objects.get().record()["steps"]
    assert [(step["phase"], step["share"], step["check"]) for step in steps] == [
        ("drill", 0.5, False),
        ("mount", 0.4, False),
        ("finish", 0.1, True),
    ]
    changes = {"steps-1-DELETE": "on", "steps-0-share": "90 %"}
    assert client.post(url, typed_on_page(client.get(url), **changes)).status_code == 302
    assert [step["share"] for step in models.AccessoryType.objects.get().record()["steps"]] == [0.9, 0.1]


@pytest.mark.parametrize(
    ("section", "changes", "sentence"),
    [
        ("steps", {"steps-0-share": "50 %"}, "The shares of all steps add to 1 (100 %);"),
        ("steps", {"steps-0-share": "half"}, "“half” is no part of a whole. Accepted: 12 % or 0.12."),
        ("steps", {"steps-0-phase": "finish"}, "in the order of work; change the order of the steps."),
        ("steps", {"steps-0-text": ""}, "This field is required."),
        ("openings", {"openings-0-diameter_mm": ""}, "A round opening needs its diameter in mm."),
        ("openings", {"openings-0-diameter_mm": "wide"}, "“wide” is not"),
        ("openings", {"openings-0-mountings": "strap"}, "which is not one of this type&#x27;s mountings."),
        ("consumables", {"consumables-0-quantity": "0"}, "The figure lies between 0.001 and 10,000."),
        ("needs", {"conflicts-0-other": "rod_rack_rear_bar"}, "A type is not in conflict with itself;"),
        ("needs", {"requires-0-any_of": "tag:anything", "requires-0-why": ""}, "This field is required."),
        ("ratings", {"load-0-typical_a": "5 A", "load-0-max_a": "2 A", "load-0-voltage_v": "12"}, "is not above the"),
    ],
)
def test_rows_with_a_mistake_are_shown_again_as_typed(rack, client_of, owner, section, changes, sentence):
    client, url = client_of(owner), f"{HOME}types/rod_rack_rear_bar/change/{section}/"
    before = models.AccessoryType.objects.whole().get(code="rod_rack_rear_bar").record()
    answer = client.post(url, typed_on_page(client.get(url), **changes))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    for name, value in changes.items():
        form = next(form for forms in answer.context["formsets"] for form in forms if name.startswith(form.prefix))
        assert form[name.removeprefix(f"{form.prefix}-")].value() == value
    assert models.AccessoryType.objects.whole().get(code="rod_rack_rear_bar").record() == before


def test_a_load_is_added_and_taken_away_again(db, client_of, owner):
    part = AccessoryTypeFactory()
    client, url = client_of(owner), f"{HOME}types/{part.code}/change/ratings/"
    load = {"load-0-voltage_v": "12", "load-0-typical_a": "350 mA", "load-0-max_a": "1 A"}
    assert client.post(url, typed_on_page(client.get(url), **load)).status_code == 302
    assert models.AccessoryType.objects.get().record()["load"]["typical_a"] == pytest.approx(0.35)
    assert client.post(url, typed_on_page(client.get(url), **{"load-0-DELETE": "on"})).status_code == 302
    assert models.AccessoryType.objects.get().record()["load"] is None


def test_an_opening_typed_in_inches_is_kept_in_millimetres(db, client_of, owner):
    part = AccessoryTypeFactory()
    client, url = client_of(owner), f"{HOME}types/{part.code}/change/openings/"
    opening = {"openings-0-diameter_mm": "1 5/8 in", "openings-0-purpose": "tube"}
    assert client.post(url, typed_on_page(client.get(url), **opening)).status_code == 302
    [kept] = models.AccessoryType.objects.get().record()["openings"]
    assert kept["diameter_mm"] == pytest.approx(41.275)
    assert "mountings" not in kept


NEW_TYPE = {
    "code": "new_part",
    "name": "New part",
    "category": "lights",
    "craft": ["canoe"],
    "mountings": "rivet, well_nut",
    "cost": "12",
    "low_min": "10",
    "likely_min": "20 min",
    "high_min": "1 h",
    "mass_kg": "300 g",
    "mass_in_use_kg": "300 g",
    "source": "invented",
}


def test_a_new_type_starts_with_one_step_so_that_the_estimator_can_use_it(db, client_of, owner):
    client, url = client_of(owner), f"{HOME}types/new/"
    answer = client.post(url, typed_on_page(client.get(url), **NEW_TYPE))
    assert answer.status_code == 302, answer.context["form"].errors
    record = models.AccessoryType.objects.get().record()
    assert (record["mountings"], record["price"], record["labour"]["high_min"]) == (["rivet", "well_nut"], None, 60)
    assert [step["share"] for step in record["steps"]] == [1]
    assert JournalEntry.objects.get().action == "added to the catalogue"


def test_a_code_that_is_taken_or_unfit_is_refused(db, client_of, owner):
    AccessoryTypeFactory(code="new_part")
    client, url = client_of(owner), f"{HOME}types/new/"
    for code, sentence in (("new_part", "There is a record with this code already."), ("No Good", "small letters")):
        answer = client.post(url, typed_on_page(client.get(url), **NEW_TYPE | {"code": code}))
        assert answer.status_code == 422
        assert sentence in answer.content.decode()


def test_a_hull_types_station_is_changed(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}hulls/sot_3_0_budget/stations/"
    answer = client.post(url, typed_on_page(client.get(url), **{"stations-0-x_m": "6 in", "stations-1-DELETE": "on"}))
    assert answer.status_code == 302
    stations = models.HullType.objects.get(code="sot_3_0_budget").record()["stations"]
    assert stations[0]["x_m"] == pytest.approx(0.1524)
    assert "bow_well" not in [station["id"] for station in stations]
    answer = client.post(url, typed_on_page(client.get(url), **{"stations-0-key": "seat"}))
    assert "The station “seat” stands here twice; once is enough." in answer.content.decode()


def test_operations_and_consumables_are_added_and_changed(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}operations/op_leak_test/change/"
    assert client.post(url, typed_on_page(client.get(url), likely_min="30 min")).status_code == 302
    assert models.ShopOperation.objects.get(code="op_leak_test").likely_min == 30
    url = f"{HOME}consumables/marine_sealant/change/"
    assert client.post(url, typed_on_page(client.get(url), unit_price="0.0825")).status_code == 302
    assert models.Consumable.objects.get(code="marine_sealant").record()["unit_price"] == "0.0825"
    answer = client.post(url, typed_on_page(client.get(url), unit_price="0.08255"))
    assert answer.status_code == 422
    assert 'value="0.08255"' in answer.content.decode()


def test_new_rates_are_a_copy_with_a_date_of_their_own(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}rates/new/"
    page = client.get(url)
    changes = {"holds_from": "2027-01-01", "tax__parts": "7.25 %", "markup_scale": "Below 10: 2.0\n\nabove 1.5"}
    assert client.post(url, typed_on_page(page, **changes)).status_code == 302
    old, new = models.ShopRates.objects.order_by("holds_from")
    assert old.holds_from == datetime.date(2025, 1, 1)
    assert new.tax == {"parts": "0.0725", "labour": "0", "consumables": "0.06", "fees": "0"}
    assert new.markup_scale == [{"below": "10", "factor": "2.0"}, {"below": None, "factor": "1.5"}]
    changed = {"tax", "markup_scale", "holds_from"}
    assert {key for key, value in new.ledger_record().items() if old.ledger_record()[key] != value} == changed


def test_what_a_quote_promises_is_typed_in_the_rates_and_shown(loaded, client_of, owner):
    client, url = client_of(owner), f"{HOME}rates/new/"
    changes = {"quote_rule": "tolerance", "quote_tolerance": "15 %", "signature_link_days": "7"}
    changes |= {"holds_from": "2027-01-01", "mail_from": "quotes@paddle-outfitting.example"}
    assert client.post(url, typed_on_page(client.get(url), **changes)).status_code == 302
    rates = models.ShopRates.objects.get(holds_from="2027-01-01")
    assert (rates.quote_rule, rates.quote_tolerance, rates.signature_link_days) == ("tolerance", 0.15, 7)
    page = client.get(rates.get_absolute_url()).content.decode()
    for shown in ("up to a tolerance above", "15 %", "quotes@paddle-outfitting.example"):
        assert shown in page


def test_days_until_a_part_is_here_are_typed_and_shown(loaded, client_of, owner, counter):
    url = f"{HOME}types/display_7in/"
    assert "Here after" not in client_of(counter).get(url).content.decode()
    client = client_of(owner)
    assert client.post(f"{url}change/", typed_on_page(client.get(f"{url}change/"), lead_days="12")).status_code == 302
    assert set(JournalEntry.objects.get().after) == {"lead_days"}
    page = client_of(counter).get(url).content.decode()
    assert "Here after" in page
    assert "12 days" in page
    answer = client_of(owner).post(f"{url}change/", typed_on_page(client.get(f"{url}change/"), lead_days="366"))
    assert "The figure lies between 0 and 365 days." in answer.content.decode()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"holds_from": "2025-01-01"}, "There are rules from this date already."),
        ({"holds_from": ""}, "This field is required."),
        ({"tax__parts": "6"}, "“6” is no part of a whole. Accepted: 12 % or 0.12."),
        ({"markup_scale": "5 2.5\nabove"}, "“above” is no step."),
        ({"markup_scale": "25 2.0\n5 2.5\nabove 1.2"}, "The limits of a mark-up scale rise from step to step."),
        ({"phase_setup_min__drill": "a while"}, "“a while” is not"),
        ({"working_days": []}, "This field is required."),
        ({"capacity_caution": "90 %"}, "The caution comes no later than the strong caution."),
        ({"peukert__lfp": "9"}, "Between 0 and 2."),
        ({"quote_tolerance": "60 %"}, "The figure lies between 0 and 0.5."),
        ({"mail_from": "the counter"}, "Enter a valid email address."),
    ],
)
def test_rates_with_a_mistake_are_shown_again_as_typed(db, client_of, owner, changes, sentence):
    ShopRatesFactory(holds_from=datetime.date(2025, 1, 1))
    client, url = client_of(owner), f"{HOME}rates/new/"
    answer = client.post(url, typed_on_page(client.get(url), **{"holds_from": "2027-01-01"} | changes))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert models.ShopRates.objects.count() == 1


def test_rates_that_a_quote_used_are_shown_and_never_changed(db, client_of, owner):
    rates = ShopRatesFactory(holds_from="2026-01-01", first_quoted_on="2026-01-05")
    client, url = client_of(owner), f"{HOME}rates/2026-01-01/"
    assert "it stays as it is" in client.get(url).content.decode()
    assert client.get(f"{url}change/").status_code == 302
    assert client.post(f"{url}change/", {"billing_step_min": "5"}).status_code == 302
    assert client.post(f"{url}remove/").status_code == 302
    assert models.ShopRates.objects.get().billing_step_min == rates.billing_step_min


def test_rates_not_used_yet_are_changed_and_removed(loaded, client_of, owner):
    ShopRatesFactory(holds_from="2027-01-01")
    client, url = client_of(owner), f"{HOME}rates/2027-01-01/"
    assert (
        client.post(f"{url}change/", typed_on_page(client.get(f"{url}change/"), billing_step_min="6 min")).status_code
        == 302
    )
    assert models.ShopRates.objects.get(holds_from="2027-01-01").billing_step_min == 6
    assert client.post(f"{url}remove/").status_code == 302
    assert models.ShopRates.objects.count() == 1


@pytest.mark.parametrize(
    ("text", "share"), [("12 %", 0.12), ("0.12", 0.12), ("12.4%", 0.124), ("100 %", 1.0), ("0", 0.0), (" .5 ", 0.5)]
)
def test_a_share_is_typed_as_percent_or_as_a_part_of_one(text, share):
    assert ShareField().clean(text) == share


def test_a_share_is_shown_without_the_noise_of_a_float():
    assert [percent_text(share) for share in (0.124, 1 / 3, 0.07, 1.0, 0.0)] == [
        "12.4 %",
        "33.333333 %",
        "7 %",
        "100 %",
        "0 %",
    ]
