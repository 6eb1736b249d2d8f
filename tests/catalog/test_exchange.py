"""The shipped catalogue: loading it, loading it again, and refreshing it from trade data."""

import copy
import json
import time

import pytest
from django.core.management import CommandError, call_command

from catalog import exchange, models
from catalog.records import Unusable


def test_loading_writes_everything_once_and_then_nothing(db):
    first = {loaded.kind: (loaded.records, loaded.written) for loaded in exchange.load()}
    version = models.CatalogueVersion.current()
    second = {loaded.kind: (loaded.records, loaded.written) for loaded in exchange.load()}
    assert first == {
        "consumables": (78, 78),
        "operations": (14, 14),
        "hull_types": (12, 12),
        "accessories": (133, 133),
        "bundles": (10, 10),
        "rates": (1, 1),
    }
    assert second == {kind: (records, 0) for kind, (records, _) in first.items()}
    assert models.CatalogueVersion.current() == version


def test_loading_takes_less_than_three_seconds(db):
    started = time.monotonic()
    exchange.load()
    assert time.monotonic() - started < 3


def test_loading_again_brings_a_changed_record_back_and_leaves_the_shops_own_alone(loaded):
    models.AccessoryType.objects.filter(code="display_7in").update(likely_min=50, bin="A 3", lead_days=9)
    models.Bundle.objects.filter(code="night_lights").update(name="Lights", place=7, withdrawn=True)
    models.ShopRates.objects.update(billing_step_min=5)
    counts = {loaded.kind: loaded.written for loaded in exchange.load()}
    display = models.AccessoryType.objects.get(code="display_7in")
    assert {kind for kind, written in counts.items() if written} == {"accessories", "bundles"}
    assert (display.likely_min, display.bin, display.lead_days) == (45, "A 3", 9)
    lights = models.Bundle.objects.get(code="night_lights")
    assert (lights.name, lights.place, lights.withdrawn) == ("Night lights", 7, True)
    assert models.ShopRates.objects.get().billing_step_min == 5


def test_a_new_type_starts_with_the_lead_time_that_is_shipped_beside_the_trade_data(loaded):
    days = dict(models.AccessoryType.objects.exclude(lead_days=0).values_list("code", "lead_days"))
    assert days == exchange.read_file(exchange.CATALOGUE / "lead_days.json")
    assert days["spray_cover"] == 21
    assert "display_7in" not in days


@pytest.mark.parametrize(
    ("days", "sentence"),
    [
        ({"no_such_type": 3}, "lead_days.no_such_type: accessories lacks this type."),
        ({"display_7in": 366}, "lead_days: The figure lies between 0 and 365 days."),
        ({"display_7in": "soon"}, "lead_days: a whole number is needed."),
        ([3], "an object of days by accessory type is needed."),
    ],
)
def test_lead_times_that_make_no_sense_are_refused(db, source, days, sentence):
    (source / "lead_days.json").write_text(json.dumps(days))
    with pytest.raises(CommandError, match=sentence):
        call_command("load_catalogue", source)
    assert not models.AccessoryType.objects.exists()


@pytest.fixture
def source(tmp_path, shipped):
    """A folder of trade data, as it is delivered."""
    for name, records in shipped.items():
        (tmp_path / f"{name}.json").write_text(json.dumps(records))
    (tmp_path / "jobs").mkdir()
    for name in ("night_lights.json", "night_lights.expect.json"):
        (tmp_path / "jobs" / name).write_text((exchange.JOBS / name).read_text())
    return tmp_path


def test_refreshing_gives_each_record_its_one_spelling(source, tmp_path):
    exchange.refresh(source, tmp_path / "fixtures")
    for name in exchange.FILES:
        refreshed = (tmp_path / "fixtures" / "catalogue" / f"{name}.json").read_text()
        assert refreshed == (exchange.CATALOGUE / f"{name}.json").read_text()
    refreshed = (tmp_path / "fixtures" / "jobs" / "night_lights.json").read_text()
    assert refreshed == (exchange.JOBS / "night_lights.json").read_text()


def test_whole_numbers_and_prices_are_spelled_alike_whatever_the_source_wrote(source, tmp_path):
    records = json.loads((source / "consumables.json").read_text())
    records[0] |= {"pack_quantity": 300.0, "unit_price": "0.080"}
    (source / "consumables.json").write_text(json.dumps(records))
    exchange.refresh(source, tmp_path / "fixtures")
    refreshed = (tmp_path / "fixtures" / "catalogue" / "consumables.json").read_text()
    assert refreshed == (exchange.CATALOGUE / "consumables.json").read_text()


def test_trade_data_with_problems_writes_no_file_and_names_each_problem(source, tmp_path):
    accessories = json.loads((source / "accessories.json").read_text())
    accessories[0]["conflicts"] = [{"with": "no_such_type", "why": "invented"}]
    accessories[1]["consumables"] = [{"item": "no_such_item", "quantity": 1}]
    accessories[2]["requires"] = [{"any_of": ["tag:anything", "no_such_type"], "strength": "must", "why": "invented"}]
    (source / "accessories.json").write_text(json.dumps(accessories))
    hulls = json.loads((source / "hull_types.json").read_text())
    hulls[4]["length_m"] = 40
    (source / "hull_types.json").write_text(json.dumps(hulls))
    with pytest.raises(Unusable) as refused:
        exchange.refresh(source, tmp_path / "fixtures")
    assert [problem.path for problem in refused.value.problems] == [
        "hull_types[4].length_m",
        "accessories[0].conflicts",
        "accessories[1].consumables",
        "accessories[2].requires",
    ]
    assert not (tmp_path / "fixtures").exists()


def test_trade_data_without_bundles_leaves_the_shipped_ones_and_checks_them(source, tmp_path, shipped):
    exchange.refresh(source, tmp_path / "fixtures")
    (source / "bundles.json").unlink()
    exchange.refresh(source, tmp_path / "fixtures")
    kept = (tmp_path / "fixtures" / "catalogue" / "bundles.json").read_text()
    assert kept == (exchange.CATALOGUE / "bundles.json").read_text()
    accessories = [record for record in shipped["accessories"] if record["id"] != "reflective_tape_kit"]
    (source / "accessories.json").write_text(json.dumps(accessories))
    with pytest.raises(Unusable) as refused:
        exchange.refresh(source, tmp_path / "fixtures")
    [at] = [i for i, record in enumerate(shipped["bundles"]) if record["id"] == "seen_in_the_dark"]
    assert str(refused.value) == (
        f"bundles[{at}].lines[1].accessory: “reflective_tape_kit” is no accessory type of the catalogue."
    )


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[1, 2", "this is not JSON"),
        ("[NaN]", "NaN is not a number"),
        ("[" * 100_000, "this is not JSON"),
        ("{}", "a list of records is needed"),
        ("[5]", "an object is needed here"),
    ],
)
def test_a_file_that_is_no_list_of_records_is_refused_and_nothing_is_loaded(db, source, text, sentence):
    (source / "accessories.json").write_text(text)
    with pytest.raises(CommandError, match=sentence):
        call_command("load_catalogue", source)
    assert not models.Consumable.objects.exists()


def test_the_shipped_files_hold_together(shipped):
    known = {name: {record["id"]: record for record in records} for name, records in shipped.items()}
    assert exchange.dangling("accessories", shipped["accessories"], known) == []
    broken = copy.deepcopy(shipped["accessories"])
    broken[0]["conflicts"] = [{"with": "nothing", "why": "invented"}]
    assert len(exchange.dangling("accessories", broken, known)) == 1


def test_every_job_names_only_what_the_catalogue_has(shipped):
    accessories = {record["id"] for record in shipped["accessories"]}
    operations = {record["id"] for record in shipped["operations"]}
    jobs = [path for path in exchange.JOBS.glob("*.json") if not path.name.endswith(".expect.json")]
    assert len(jobs) == 10
    for path in jobs:
        job = json.loads(path.read_text())
        assert {line["accessory"] for line in job["lines"]} <= accessories
        assert {entry["operation"] for entry in job["operations"]} <= operations
        assert path.with_suffix(".expect.json").exists()
