"""The order of work (method, section 5): what comes before what, and when the boat may float."""

import pytest

from builds.estimator.drilled import for_mounting
from builds.estimator.estimate import estimate
from builds.estimator.specs import Unusable
from tests.estimator.builders import estimated, job, jobs, part, step

ROD = [step("mark", 0.2), step("drill", 0.3), step("bed", 0.2), step("mount", 0.3)]
HOLES = {"openings": [{"shape": "round", "diameter_mm": 5.2, "purpose": "fastener", "fastener": "M5"}]}


def places_of(found, phase):
    return [step.n for step in found.order.steps if step.phase == phase]


@pytest.mark.parametrize("name", jobs())
def test_every_check_and_mark_before_a_drill_comes_before_the_first_drill_of_all(name):
    found = estimate(job(name))
    drills = places_of(found, "drill")
    for line in found.fitted:
        own = [step for step in found.order.steps if step.line == line.id]
        cut = next((i for i, one in enumerate(own) if one.phase == "drill"), len(own))
        for one in own[:cut]:
            if one.phase in ("check", "mark") and drills:
                assert one.n < drills[0]


@pytest.mark.parametrize("name", jobs())
def test_each_part_keeps_the_order_of_its_own_steps(name):
    found = estimate(job(name))
    for line in found.fitted:
        texts = [one.text for one in found.order.steps if one.line == line.id]
        own = [for_mounting(one.text, line) for one in line.kind.steps]
        assert [text for text in texts if text in own] == own


@pytest.mark.parametrize("name", jobs())
def test_the_minutes_of_all_steps_add_to_the_bench_minutes(name):
    found = estimate(job(name))
    assert sum(step.minutes for step in found.order.steps) == pytest.approx(found.labour.mean_min)
    assert found.order.bench_min == pytest.approx(found.labour.mean_min)


def test_a_track_is_mounted_before_what_hangs_on_it():
    track = {**part(10, 20, 30, ROD), "category": "tracks_and_bases", "provides": ["track_slot"]}
    needs = [{"any_of": ["tag:track_slot"], "strength": "must", "why": "a track"}]
    holder = {**part(5, 5, 5, [step("mount", 1.0)]), "requires": needs}
    found = estimated({"holder": holder, "track": track})
    by_line = {
        line: [s.n for s in found.order.steps if s.line == line and s.phase == "mount"] for line in ("holder", "track")
    }
    assert by_line["track"][-1] < by_line["holder"][0]


def test_cables_run_before_the_gland_over_them_is_closed():
    gland = {**part(10, 20, 30, ROD), "provides": ["sealed_way"]}
    lamp = part(10, 20, 30, [step("route", 0.5), step("mount", 0.5)])
    found = estimated({"gland": gland, "lamp": lamp})
    assert places_of(found, "route")[0] < places_of(found, "bed")[0]


def test_a_bed_cures_while_cables_are_run_and_is_mounted_at_once():
    found = estimated({"rod": part(10, 20, 30, ROD), "lamp": part(10, 20, 30, [step("route", 1.0)])})
    bed, mount, route = (places_of(found, phase)[0] for phase in ("bed", "mount", "route"))
    assert (mount, route) == (bed + 1, bed + 2)


def test_bases_that_sit_on_one_another_in_a_circle_are_named():
    def base(own, other):
        needs = [{"any_of": [f"{other}_type"], "strength": "must", "why": "a base"}]
        return {**part(5, 5, 5), "category": "tracks_and_bases", "requires": needs}

    with pytest.raises(Unusable) as refused:
        estimated({"a": base("a", "b"), "b": base("b", "a")})
    assert refused.value.problems[0].path == "lines"
    assert "a, b" in refused.value.problems[0].message


def operation(name, phase, minutes):
    labour = {"low_min": minutes, "likely_min": minutes, "high_min": minutes}
    return {"id": name, "name": name, "labour": labour, "phase": phase, "billable": True}


LEAK = {"op_leak_test": operation("op_leak_test", "test", 30), "op_handover": operation("op_handover", "finish", 30)}
ROWS = [{"operation": "op_handover"}, {"operation": "op_leak_test"}]


def test_a_leak_test_waits_for_the_cure_and_the_hand_over_comes_last():
    # mark, drill and bed take 12 + 18 + 12 = 42 min; then 24 h of cure, 0.5 h of leak test, 0.5 h of hand-over
    rod = {**part(60, 60, 60, ROD), "seal": {"kind": "bead", "bead_mm": 5}, "cure_h": 24.0, **HOLES}
    found = estimated({"rod": rod}, shop_operations=LEAK, operations=ROWS)
    assert [step.line for step in found.order.steps][-2:] == ["op_leak_test", "op_handover"]
    assert found.order.ready_h == pytest.approx(42 / 60 + 24 + 0.5 + 0.5)


def test_without_a_leak_test_the_boat_still_waits_for_the_cure_before_it_floats():
    rod = {**part(60, 60, 60, ROD), "seal": {"kind": "bead", "bead_mm": 5}, "cure_h": 24.0, **HOLES}
    assert estimated({"rod": rod}).order.ready_h == pytest.approx(42 / 60 + 24)


def test_without_a_bed_the_boat_is_ready_when_the_bench_is():
    assert estimated({"rod": part(60, 60, 60)}).order.ready_h == pytest.approx(1.0)


def test_the_same_sheet_gives_the_same_order():
    first, second = estimate(job("night_lights")), estimate(job("night_lights"))
    assert first.order == second.order
