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
        estimated(
            {"a": base("a", "b"), "b": base("b", "a"), "on_top": base("on_top", "a"), "under": base("under", "x")}
        )
    assert [(p.path, p.message) for p in refused.value.problems] == [
        ("lines", "sit on one another in a circle: a, b; accepted: no circle")
    ]


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


# --- what the mounting, the cure and two rows of one operation change

BOLTED = {
    "mountings": ["through_bolt", "rivet", "well_nut", "gear_track_t_bolt"],
    "openings": [
        {
            "shape": "round",
            "diameter_mm": 5.2,
            "purpose": "fastener",
            "fastener": "M5",
            "mountings": ["through_bolt", "rivet", "well_nut"],
        }
    ],
}


@pytest.mark.parametrize(
    ("mounting", "text", "bit"),
    [
        ("through_bolt", "Drill 3 holes of 5.2 mm.", "25 mm hole saw, then 5.2 mm"),
        ("rivet", "Drill 3 holes of 4.9 mm.", "25 mm hole saw, then 4.9 mm"),
        ("well_nut", "Drill 3 holes of 10 mm.", "25 mm hole saw, then 10 mm"),
        ("gear_track_t_bolt", "Drill 3 holes of 5.2 mm.", None),
    ],
)
def test_a_step_names_the_hole_of_the_mounting_and_no_bit_where_it_drills_nothing(mounting, text, bit):
    """A 4.8 mm rivet takes a 4.9 mm hole (from memory), an M5 well nut 10 mm (common practice)."""
    drill = step("drill", 1.0, "Drill 3 holes of 5.2 mm.", bit="25 mm hole saw, then 5.2 mm")
    found = estimated({"rod": {**part(5, 5, 5, [drill]), **BOLTED}}, {"rod": {"mounting": mounting}})
    assert [(one.text, one.bit) for one in found.order.steps] == [(text, bit)]


BEAD = {"seal": {"kind": "bead", "bead_mm": 5}, **HOLES}
HOSED = [step("bed", 0.5), step("test", 0.5, "Hose it for 1 minute after cure: dry inside.")]


def test_a_hose_test_after_cure_waits_for_it_and_holds_up_no_other_work():
    rod = {**part(60, 60, 60, HOSED), **BEAD, "cure_h": 24.0}
    lamp = part(60, 60, 60, [step("set", 0.5), step("test", 0.5, "Switch it on.")])
    found = estimated({"rod": rod, "lamp": lamp})
    assert [one.line for one in found.order.steps] == ["rod", "lamp", "lamp", "rod"]
    assert [one.waits_cure for one in found.order.steps] == [False, False, False, True]
    # half an hour to the bed, 24 h of cure in which the lamp is done, half an hour of hose
    assert found.order.ready_h == pytest.approx(0.5 + 24 + 0.5)


def test_a_leak_test_comes_after_the_hose_tests_and_before_any_finishing():
    rod = {**part(60, 60, 60, [*HOSED[:1], step("test", 0.3, HOSED[1]["text"]), step("finish", 0.2)]), **BEAD}
    found = estimated({"rod": {**rod, "cure_h": 24.0}}, shop_operations=LEAK, operations=ROWS)
    assert [(one.line, one.phase) for one in found.order.steps] == [
        ("rod", "bed"),
        ("rod", "test"),
        ("op_leak_test", "test"),
        ("rod", "finish"),
        ("op_handover", "finish"),
    ]


def test_what_is_bonded_without_a_bed_step_cures_from_its_mounting():
    pad = {**part(60, 60, 60, [step("mount", 1.0)]), "mountings": ["adhesive"], "cure_h": 48.0}
    assert estimated({"pad": pad}).order.ready_h == pytest.approx(1 + 48)


def test_the_longest_cure_begins_first_whatever_the_order_of_the_lines():
    # 1 h of bed each: 48 h begins after the first, 24 h after the second
    long, short = ({**part(60, 60, 60, [step("bed", 1.0)]), **BEAD, "cure_h": cure} for cure in (48.0, 24.0))
    for parts in ({"long": long, "short": short}, {"short": short, "long": long}):
        assert estimated(parts, shop={"setup_share_max": 0}).order.ready_h == pytest.approx(1 + 48)


def test_a_bracket_that_a_motor_needs_by_name_is_mounted_before_it():
    needs = [{"any_of": ["bracket_type"], "strength": "must", "why": "a bracket to hang it on"}]
    found = estimated({"motor": {**part(5, 5, 5), "requires": needs}, "bracket": part(5, 5, 5)})
    assert [one.line for one in found.order.steps] == ["bracket", "motor"]


def test_two_parts_that_only_go_together_have_no_order_between_them():
    def half(other):
        return {**part(5, 5, 5), "requires": [{"any_of": [other], "strength": "must", "why": "its other half"}]}

    found = estimated({"pole": half("box_type"), "box": half("pole_type")})
    assert [one.line for one in found.order.steps] == ["pole", "box"]


def test_a_battery_whose_feed_runs_through_its_own_box_makes_no_circle():
    box = {**part(10, 10, 10), "provides": ["sealed_way", "battery_hold_down"]}
    needs = [{"any_of": ["tag:battery_hold_down"], "strength": "must", "why": "a hold-down"}]
    cell = {**part(10, 10, 10, [step("route", 0.5), step("mount", 0.5)]), "requires": needs}
    found = estimated({"cell": cell, "box": box})
    assert [(one.line, one.phase) for one in found.order.steps] == [
        ("cell", "route"),
        ("box", "mount"),
        ("cell", "mount"),
    ]


def test_an_operation_listed_twice_keeps_the_minutes_of_each_row():
    rows = [{"operation": "op_handover", "quantity": 1}, {"operation": "op_handover", "quantity": 3}]
    found = estimated({}, shop_operations=LEAK, operations=rows)
    assert [one.minutes for one in found.order.steps] == [30, 90]
    assert found.order.bench_min == found.labour.mean_min == 120


def test_a_part_that_is_mostly_no_work_still_has_its_expected_minutes_on_the_bench():
    # low 0, likely 0, high 12: mean (0 + 0 + 12) / 6 = 2 a unit
    found = estimated({"rod": part(0, 0, 12, [step("mount", 1.0)])}, {"rod": {"quantity": 2}})
    assert found.labour.mean_min == pytest.approx(4)
    assert found.labour.plain_sum_min == pytest.approx(4)
    assert found.order.bench_min == pytest.approx(4)
