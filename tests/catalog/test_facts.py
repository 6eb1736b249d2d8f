"""The shipped catalogue against facts of the trade that were published elsewhere."""

import csv
import re
from decimal import Decimal
from itertools import chain
from pathlib import Path

import pytest

from catalog.vocabulary import BenchTest, Mounting, Phase

REFERENCE = Path(__file__).parents[1] / "reference"


def table(name):
    """The rows of a published table; its first line names the source."""
    lines = (REFERENCE / f"{name}.csv").read_text().splitlines()
    assert lines[0].startswith("# source:")
    return list(csv.DictReader(lines[1:]))


def openings(shipped, fastener):
    found = [
        hole["diameter_mm"]
        for record in shipped["accessories"]
        for hole in record["openings"]
        if hole["fastener"] == fastener
    ]
    assert found, f"no opening for {fastener}"
    return found


def test_the_greatest_fuse_of_a_load_is_a_blade_rating_up_to_40_a(shipped):
    # ISO 8820-3 ratings as listed in tests/reference/blade_fuse_colours.csv; above 40 A other fuses begin.
    ratings = {float(row["rating_A"]) for row in table("blade_fuse_colours")}
    fuses = [record["load"]["max_fuse_a"] for record in shipped["accessories"] if record["load"]]
    small = [fuse for fuse in fuses if fuse is not None and fuse <= 40]
    assert len(small) > 20
    assert set(small) <= ratings


def test_a_pilot_for_a_tapping_screw_is_its_core_diameter(shipped):
    # ISO 1478, d2 max of ST4.2 is 3.10 mm (tests/reference/iso1478_tapping_thread.csv).
    [thread] = [row for row in table("iso1478_tapping_thread") if row["thread"] == "ST4.2"]
    assert set(openings(shipped, "ST4.2")) == {float(thread["d2_max_mm"])}


def test_a_rivet_of_4_8_mm_takes_the_hole_of_the_table(shipped):
    # tests/reference/rivet_and_wellnut_holes.csv, row 4.8 mm (4.9 to 5.0 mm, marked there as from memory).
    [rivet] = [row for row in table("rivet_and_wellnut_holes") if row["size"] == "4.8 mm"]
    assert set(openings(shipped, "rivet 4.8")) == {float(rivet["hole_mm"])}


@pytest.mark.parametrize("size", [4, 5, 6])
def test_a_bolt_passes_its_hole_with_two_tenths_to_spare(shipped, size):
    # Common practice, no source: clearance of 0.1 to 0.3 mm on small bolts in plastic.
    assert set(openings(shipped, f"M{size}")) == {size + 0.2}


def test_minutes_go_from_low_to_high_and_shares_add_to_one(shipped):
    for record in shipped["accessories"]:
        labour = record["labour"]
        assert labour["low_min"] <= labour["likely_min"] <= labour["high_min"], record["id"]
        assert sum(step["share"] for step in record["steps"]) == pytest.approx(1, abs=1e-9), record["id"]


def test_a_cost_is_never_above_its_price(shipped):
    for record in shipped["accessories"]:
        assert Decimal(record["cost"]) < Decimal(record["price"]), record["id"]
    for record in shipped["consumables"]:
        assert Decimal(record["unit_cost"]) < Decimal(record["unit_price"]), record["id"]


def test_every_need_can_be_met_by_a_type_or_by_the_hull(shipped):
    provided = set(chain.from_iterable(record["provides"] for record in shipped["accessories"]))
    by_hull = {
        *("brass_inserts_bow", "brass_inserts_seat", "brass_inserts_stern", "scupper_recess", "factory_track"),
        *("moulded_transducer_pocket", "hatch_bow", "hatch_tank", "hatch_centre", "tie_down_eyes", "drive_well"),
        "clampable_gunwale",
    }
    asked = {
        code.removeprefix("tag:")
        for record in shipped["accessories"]
        for need in record["requires"]
        for code in need["any_of"]
        if code.startswith("tag:")
    }
    assert asked <= provided | by_hull
    assert set(chain.from_iterable(hull["provides"] for hull in shipped["hull_types"])) <= by_hull


def test_the_words_are_those_of_the_estimator():
    from builds.estimator import accessory

    assert tuple(Phase.values) == accessory.PHASES
    assert set(Mounting.values) == set(accessory.MOUNTINGS)


def test_bench_tests_are_words_with_a_meaning(shipped):
    used = set(chain.from_iterable(record["bench_tests"] for record in shipped["accessories"]))
    assert used == set(BenchTest.values)


# Proper names that a generic catalogue may use: a physicist's effect and an open radio standard.
GENERIC_CAPITALS = {"Hall", "Bluetooth"}


def first_word(text):
    return re.split(r"[^A-Za-z]", text.strip() + " ")[0]


def test_no_record_carries_the_mark_of_a_brand(shipped):
    marks = re.compile(r"[®™©]|\b(inc|ltd|gmbh|llc|corp|co)\b\.?", re.IGNORECASE)
    for record in chain.from_iterable(shipped.values()):
        texts = [record["name"], *(step["text"] for step in record.get("steps", ()))]
        for text in texts:
            assert not marks.search(text), text
            # A generic name is lower case but for its first letter, abbreviations and units.
            words = re.findall(r"\b[A-Z][a-z]{2,}\b", text)
            assert set(words) <= GENERIC_CAPITALS | {first_word(text) for text in re.split(r"[.:;] ", text)}, text
