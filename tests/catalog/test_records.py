"""A record of the build sheet becomes rows and the same record again."""

import copy
import json
from decimal import Decimal

import pytest

from catalog import exchange, models, store
from catalog.records import Unusable, plain, price_text

STORE = {
    "accessories": (store.store_accessory, 133),
    "hull_types": (store.store_hull_type, 12),
    "operations": (store.store_operation, 14),
    "consumables": (store.store_consumable, 78),
    "bundles": (store.store_bundle, 10),
}
KIND = list(STORE)
# A bundle points at types; the others stand by themselves.
ALONE = [kind for kind in KIND if kind != "bundles"]


def text(record):
    """JSON text tells 5 from 5.0 and keeps the order of keys, so it is stricter than =="""
    return json.dumps(record, ensure_ascii=False)


@pytest.mark.parametrize("kind", KIND)
def test_every_shipped_record_comes_back_from_the_database_as_it_was(kind, loaded, shipped):
    model = exchange.FILES[kind]
    rows = model.objects.whole() if hasattr(model.objects, "whole") else model.objects.all()
    held = {row.code: text(row.record()) for row in rows}
    assert len(held) == STORE[kind][1]
    assert held == {record["id"]: text(record) for record in shipped[kind]}


@pytest.mark.parametrize("kind", ALONE)
def test_a_record_stored_alone_comes_back_too(kind, db, shipped):
    record = shipped[kind][3]
    stored = STORE[kind][0](record)
    assert text(type(stored).objects.get(pk=stored.pk).record()) == text(record)


def test_storing_a_record_again_replaces_its_rows_and_keeps_the_key_that_tickets_point_at(db, shipped):
    record = copy.deepcopy(shipped["accessories"][0])
    first = store.store_accessory(record)
    record["openings"], record["name"] = record["openings"][:1], "Another name"
    record["conflicts"] = []
    second = store.store_accessory(record)
    assert (first.pk, models.AccessoryType.objects.count()) == (second.pk, 1)
    assert models.AccessoryType.objects.whole().get().record() == record


def test_what_a_record_leaves_out_takes_its_default(db):
    bare = {
        "id": "bare",
        "name": "Bare",
        "category": "lights",
        "craft": ["canoe"],
        "mass_kg": 1,
        "mass_in_use_kg": 1,
        "mountings": ["strap"],
        "labour": {"low_min": 0, "likely_min": 0, "high_min": 0},
        "cost": "1.00",
        "source": "invented",
    }
    record = store.store_accessory(bare).record()
    assert record["seal"] == {"kind": "none", "bead_mm": 0}
    assert record["labour"]["repeat_ratio"] == 1
    assert (record["price"], record["load"], record["distribution"], record["openings"]) == (None, None, None, [])


def test_an_opening_without_mountings_is_always_made_and_one_with_an_empty_list_never(db, shipped):
    record = copy.deepcopy(shipped["accessories"][0])
    del record["openings"][0]["mountings"]
    record["openings"][1]["mountings"] = []
    kept = models.AccessoryType.objects.whole().get(pk=store.store_accessory(record).pk).record()
    assert "mountings" not in kept["openings"][0]
    assert kept["openings"][1]["mountings"] == []


def test_a_price_per_unit_is_exact_in_the_database(db, shipped):
    # 0.045 has no exact float; 10,000 of them make 450.00 to the last digit.
    sealant = store.store_consumable(shipped["consumables"][0])
    sealant.refresh_from_db()
    assert sealant.unit_cost == Decimal("0.045")
    assert sealant.unit_cost * 10_000 == Decimal(450)


def test_numbers_have_one_spelling():
    assert [plain(24.0), plain(4.9)] == [24, 4.9]
    assert isinstance(plain(24.0), int)
    assert [price_text(Decimal(price)) for price in ("0.080", "0.0450", "12", "0.1234")] == [
        "0.08",
        "0.045",
        "12.00",
        "0.1234",
    ]


def changed(record, path, value):
    record = copy.deepcopy(record)
    place = record
    for key in path[:-1]:
        place = place[key]
    if value is KeyError:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return record


BROKEN = [
    (["mass_kg"], "1.0", "mass_kg: a number is needed."),
    (["mass_kg"], True, "mass_kg: a number is needed."),
    (["mass_kg"], float("nan"), "mass_kg: a number is needed."),
    (["mass_kg"], float("inf"), "mass_kg: a number is needed."),
    (["mass_kg"], 10**400, "mass_kg: a number is needed."),
    (["mass_kg"], -1, "mass_kg: The figure lies between 0 and 500 kg."),
    (["mass_kg"], KeyError, "mass_kg: is missing."),
    (["name"], None, "name: may not be null."),
    (["name"], 5, "name: a text is needed."),
    (["name"], "x" * 200, "name: Ensure this value has at most 120 characters (it has 200)."),
    (["craft"], "canoe", "craft: a list of words is needed."),
    (["craft"], ["raft"], "craft: “raft” is not known here. Known are"),
    (["craft"], [], "craft: At least one word is needed."),
    (["craft"], ["canoe", "canoe"], "craft: A word stands here twice."),
    (["price"], 90.0, 'price: an amount in quotes is needed, such as "129.50".'),
    (["price"], "1.234", "price: “1.234” has more decimals than USD has."),
    (["price"], "-1.00", "price: An amount below 0 is no price."),
    (["wings"], 2, "wings: is not known; known are id, name"),
    (["seal"], [], "seal: an object is needed here."),
    (["seal"], {"kind": "glue"}, "seal.kind: “glue” is not known here. Known are none, bead, gasket, insert."),
    (["seal", "bead_mm"], 0, "seal.bead_mm: A seal of the kind bead has a bead; its width in mm is missing."),
    (["labour", "likely_min"], 500, "labour.likely_min: Minutes go from low over likely to high; here they are"),
    (["steps"], {}, "steps: a list is needed here."),
    (["steps"], [], "A type that takes minutes has at least one step."),
    (["steps", 2], "drill", "steps[2]: an object is needed here."),
    (["steps", 2, "phase"], "paint", "steps[2].phase: “paint” is not known here. Known are check, mark,"),
    (["steps", 2, "share"], 0.5, "The shares of all steps add to 1 (100 %); these add to"),
    (["steps", 0, "phase"], "finish", "The phase “mark” comes before “finish” in the order of work;"),
    (["openings", 0, "diameter_mm"], KeyError, "openings[0].diameter_mm: A round opening needs its diameter in mm."),
    (["openings", 0, "fastener"], "a nail", "openings[0].fastener: A fastener is written as M5, rivet 4.8, ST4.2"),
    (["openings", 0, "mountings"], ["strap"], "An opening is for the mounting “strap”, which is not one of this type"),
    (["conflicts", 0, "with"], "rod_rack_rear_bar", "A type is not in conflict with itself;"),
    (["consumables"], [{"item": "a", "quantity": 1}] * 2, "The consumable “a” stands here twice; once is enough."),
]


@pytest.mark.parametrize(("path", "value", "sentence"), BROKEN)
def test_a_broken_record_is_refused_with_its_path_and_nothing_is_written(db, shipped, path, value, sentence):
    rack = next(record for record in shipped["accessories"] if record["id"] == "rod_rack_rear_bar")
    with pytest.raises(Unusable) as refused:
        store.store(models.AccessoryType, [shipped["accessories"][0], changed(rack, path, value)], "file")
    assert str(refused.value).removeprefix("file[1]").lstrip(".: ").startswith(sentence)
    assert not models.AccessoryType.objects.exists()


def test_all_problems_of_all_records_are_told_together(db, shipped):
    one, two = (copy.deepcopy(record) for record in shipped["hull_types"][:2])
    one["beam_m"], one["craft"], two["stations"][0]["x_m"] = "wide", "raft", None
    with pytest.raises(Unusable) as refused:
        store.store(models.HullType, [one, two], "hull_types")
    assert [problem.path for problem in refused.value.problems] == [
        "hull_types[0].beam_m",
        "hull_types[0].craft",
        "hull_types[1].stations[0].x_m",
    ]


def test_a_code_that_stands_twice_in_a_file_is_refused(db, shipped):
    with pytest.raises(Unusable, match="stands here twice"):
        store.store(models.ShopOperation, [shipped["operations"][0]] * 2, "operations")


def test_a_station_beyond_the_stern_or_named_twice_is_refused(db, shipped):
    hull = copy.deepcopy(shipped["hull_types"][0])
    hull["stations"][0]["x_m"] = 9.0
    with pytest.raises(Unusable, match=r"9 m aft of the bow tip, but the hull is 3 m long"):
        store.store_hull_type(hull)
    hull["stations"][0] = hull["stations"][1]
    with pytest.raises(Unusable, match="stands here twice"):
        store.store_hull_type(hull)
