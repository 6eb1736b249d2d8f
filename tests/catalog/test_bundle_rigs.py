"""The shipped bundles are whole rigs: nothing that a part must have is missing on any hull of their craft.

What must go with what is common practice, no source; each need is written with its reason at the accessory type.
"""

import json

import pytest

from builds.estimator.document import read_sheet
from builds.estimator.estimate import estimate
from builds.estimator.files import catalogue
from catalog import exchange
from catalog.models import Bundle

BUNDLES, HULLS = (json.loads((exchange.CATALOGUE / f"{name}.json").read_text()) for name in ("bundles", "hull_types"))
PAIRS = [
    pytest.param(bundle, hull, id=f"{bundle['id']}-{hull['id']}")
    for bundle in BUNDLES
    for hull in HULLS
    if Bundle(craft=bundle["craft"]).suits(hull["craft"])
]


def places(bundle, hull):
    """The station of each line: the first whose code starts with the line's word, or none."""
    keys = [station["id"] for station in hull["stations"]]
    return [next((key for key in keys if key.startswith(line["place"] or "?")), None) for line in bundle["lines"]]


def estimated(bundle, hull):
    """The estimate of a bundle alone on a hull, with one paddler aboard."""
    lines = [
        {
            "id": f"L{number}",
            "accessory": line["accessory"],
            "quantity": line["quantity"],
            "station": place,
            "role": "drive" if line["drive"] else "house",
            **({"mounting": line["mounting"]} if line["mounting"] else {}),
        }
        for number, (line, place) in enumerate(zip(bundle["lines"], places(bundle, hull), strict=True), 1)
    ]
    seat = next(station["id"] for station in hull["stations"] if station["id"].startswith("seat"))
    sheet = {
        "format": "hullbench-build-sheet/1",
        "ticket": {"number": "T-0001", "title": bundle["name"]},
        "hull": {key: value for key, value in hull.items() if key not in ("id", "source")},
        "people": [{"name": "paddler", "mass_kg": 90.0, "station": seat}],
        "lines": lines,
    }
    return estimate(read_sheet(sheet, catalogue()))


@pytest.mark.parametrize(("bundle", "hull"), PAIRS)
def test_a_bundle_leaves_nothing_missing_that_a_part_must_have(bundle, hull):
    assert [one.why for one in estimated(bundle, hull).missing if one.strength == "must"] == []


@pytest.mark.parametrize(("bundle", "hull"), [pair for pair in PAIRS if None not in places(*pair.values)])
def test_a_bundle_on_a_hull_that_has_its_places_can_be_quoted_at_once(bundle, hull):
    stops = [one.sentence for one in estimated(bundle, hull).cautions if one.severity == "stop"]
    assert stops == []


def test_a_part_taken_out_of_a_bundle_is_missed():
    """The two rules above can fail: lights without their fuses are told so."""
    lights = next(bundle for bundle in BUNDLES if bundle["id"] == "night_lights")
    hull = next(hull for hull in HULLS if hull["id"] == "sot_3_7_angler")
    fuses = ("fuse_block_with_negative_bus", "main_fuse_holder")
    bare = lights | {"lines": [line for line in lights["lines"] if line["accessory"] not in fuses]}
    assert [one for one in estimated(bare, hull).missing if one.strength == "must"]


@pytest.mark.parametrize("bundle", BUNDLES, ids=lambda bundle: bundle["id"])
def test_every_word_for_a_place_is_one_that_a_hull_of_the_craft_has(bundle):
    hulls = [hull for hull in HULLS if Bundle(craft=bundle["craft"]).suits(hull["craft"])]
    assert any(None not in places(bundle, hull) for hull in hulls)


@pytest.mark.parametrize("bundle", BUNDLES, ids=lambda bundle: bundle["id"])
def test_every_part_of_a_bundle_fits_each_of_its_craft(bundle):
    kinds = catalogue().accessory_records
    for line in bundle["lines"]:
        asked = bundle["craft"] or {hull["craft"] for hull in HULLS}
        assert set(asked) <= set(kinds[line["accessory"]]["craft"]), line["accessory"]
