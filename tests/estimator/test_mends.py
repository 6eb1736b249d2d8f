"""Mends (method, section 9): what is offered clears its caution when it is done; what would not is not offered."""

import pytest

from builds.estimator import mends
from builds.estimator.cautions import Caution
from builds.estimator.estimate import estimate
from tests.estimator.builders import estimated, job, jobs, part
from tests.estimator.electrics import HULL, battery, block, load, sheet_of


def cleared(sheet, caution, mend):
    after = estimate(mends.apply(sheet, mend))
    return mends.mark_of(caution) not in {mends.mark_of(other) for other in after.cautions}


@pytest.mark.parametrize("name", jobs())
def test_every_mend_of_the_ten_jobs_clears_its_caution_in_a_whole_new_estimate(name):
    found = estimate(job(name))
    for caution in found.cautions:
        for mend in caution.mends:
            assert cleared(found.sheet, caution, mend), (caution.code, mend)


def test_every_mend_of_a_ticket_that_lacks_everything_clears_its_caution():
    lines = [{"id": "screen", "accessory": "display_7in"}, {"id": "cell", "accessory": "battery_lfp_12v_20ah"}]
    found = estimate(job("first_fishing_rig", lines=lines, day_plan=[]))
    tried = [(caution, mend) for caution in found.cautions for mend in caution.mends]
    assert len([caution for caution, _ in tried if caution.code == "missing_part"]) >= 4
    assert all(cleared(found.sheet, caution, mend) for caution, mend in tried)


def test_a_mend_that_would_not_clear_its_caution_is_not_offered():
    sheet = sheet_of({"lamp": load(5.0), "cell": battery(2.0, 100.0), "block": block()})
    useless = {"do": "replace", "line": "cell", "accessory": "cell_type"}
    caution = Caution("energy_short", "caution", "The day takes more.", mends=(useless,), line="cell")
    assert mends.offered(sheet, [caution])[0].mends == ()


@pytest.mark.parametrize(
    "mend",
    [
        {"do": "sink"},
        {"do": "remove", "line": "nothing"},
        {"do": "replace", "line": "lamp", "accessory": "nothing"},
        {"do": "add", "accessory": "nothing"},
    ],
)
def test_a_mend_that_cannot_be_done_is_not_offered(mend):
    sheet = sheet_of({"lamp": load(5.0)})
    caution = Caution("craft_mismatch", "caution", "Not made for it.", mends=(mend,), line="lamp")
    assert mends.offered(sheet, [caution])[0].mends == ()


def test_weight_comes_off_the_gear_first_and_then_off_the_people():
    people, gear = [{"name": "paddler", "mass_kg": 80}], [{"name": "kit", "mass_kg": 10}]
    sheet = estimated({}, people=people, gear=gear, hull=HULL).sheet
    lighter = mends.apply(sheet, {"do": "remove_mass", "mass_kg": 12.0})
    assert (lighter.gear[0].mass_kg, lighter.people[0].mass_kg) == (0.0, 78.0)


def test_what_an_added_part_needs_is_added_with_it():
    sheet = sheet_of({"a": part(5, 5, 5)}, offered={"b": part(5, 5, 5), "c": part(5, 5, 5)})
    added = mends.apply(sheet, {"do": "add", "accessory": "b", "brings": ["c"]})
    assert [line.accessory for line in added.lines] == ["a_type", "c", "b"]
    assert len({line.id for line in added.lines}) == 3


def test_on_a_very_long_ticket_few_mends_are_tried_so_that_its_estimate_stays_quick(monkeypatch):
    tried = []
    monkeypatch.setattr(mends, "clears", lambda sheet, caution, mend, stops: tried.append(mend) or True)
    sheet = sheet_of({f"p{i}": part(5, 5, 5) for i in range(1000)})
    caution = Caution("craft_mismatch", "caution", "Not made for it.", mends=({"do": "remove", "line": "p0"},))
    offered = mends.offered(sheet, [caution] * 50)
    assert len(tried) == mends.LINES_TRIED // 1000 == 3
    assert [len(one.mends) for one in offered] == [1] * 3 + [0] * 47
