"""What a mend costs: exactly what a whole new estimate of the mended sheet says, at a fraction of the work."""

from decimal import Decimal

import pytest

from builds.estimator import mends
from builds.estimator.estimate import estimate
from builds.estimator.gains import Gain, gain_of
from tests.estimator.builders import estimated, job, jobs, part
from tests.estimator.electrics import battery, block, load

ASKED = {"hours_dark": 3, "holes": "none"}


def in_full(found, mend):
    """The change of total and mean labour by estimating the mended sheet from end to end."""
    after = estimate(mends.apply(found.sheet, mend))
    return Gain(after.price.total - found.price.total, after.labour.mean_min - found.labour.mean_min)


def without(sheet, line):
    return mends.apply(sheet, {"do": "remove", "line": line})


def gains_of(sheet):
    """Every mend that is offered on a sheet, what it is said to cost and what a whole new estimate says."""
    found = estimate(sheet)
    return [
        (mend, gain_of(sheet, found, mend), in_full(found, mend))
        for caution in found.cautions
        for mend in caution.mends
    ]


def test_the_gain_of_every_mend_of_the_ten_jobs_is_that_of_a_whole_new_estimate():
    told = [gain for name in jobs() for gain in gains_of(job(name, asked=ASKED))]
    assert [mend for mend, gain, full in told if gain != full] == []
    assert {"add", "remount", "move"} <= {mend["do"] for mend, _, _ in told}


@pytest.mark.parametrize("name", ["night_lights", "bow_motor_and_screen"])
def test_the_gain_of_every_mend_is_exact_where_a_line_of_a_job_is_lacking(name):
    """Each line taken off in turn leaves parts that others need: added batteries, blocks and tracks are priced."""
    sheet = job(name)
    told = [gain for line in sheet.lines for gain in gains_of(without(sheet, line.id))]
    assert [mend for mend, gain, full in told if gain != full] == []
    assert len(told) > 40


def test_a_part_added_costs_its_price_its_labour_and_the_tax_on_both():
    """90 for the part and 10 % tax on it; 30 min at 120 an hour is 60, untaxed: 159 and 30 min."""
    shop = {"labour_rate_per_h": "120.00", "billing_step_min": 15, "minimum_charge_min": 0, "setup_share_max": 0}
    shop["tax"] = {"parts": "0.10"}
    found = estimated({"a": part(30, 30, 30, price="10.00")}, offered={"b": part(30, 30, 30, price="90.00")}, shop=shop)
    assert gain_of(found.sheet, found, {"do": "add", "accessory": "b"}) == Gain(Decimal("159.00"), 30.0)


def test_what_is_taken_off_gives_back_and_weight_taken_off_costs_nothing():
    found = estimated({"a": part(30, 30, 30, price="10.00"), "b": part(60, 60, 60, price="25.00")})
    off = gain_of(found.sheet, found, {"do": "remove", "line": "b"})
    assert off.price < -25 and off.minutes < 0
    assert gain_of(found.sheet, found, {"do": "remove_mass", "mass_kg": 5.0}) == Gain(Decimal("0.00"), 0.0)


def test_a_part_moved_farther_off_is_charged_its_longer_conductors_and_route():
    """The block from beside the battery to 1 m off: the feed grows by 1.15 m one way, 2.30 m of wire at 10 each.

    Runs as in the method, section 4: 1.15 m for each metre. Its labour has 2 m of run included and changes nothing.
    """
    gauges = {f"wire_{awg}_awg": {"unit_price": "10.00", "unit_cost": "5.00"} for awg in (18, 16, 14, 12, 10, 8, 6)}
    parts = {"lamp": load(1.0), "cell": battery(20.0), "block": block()}
    found = estimated(parts, {"lamp": {"direct": True}}, shop={"consumables": gauges})
    moved = {"do": "move", "line": "block", "station": "x1"}
    assert gain_of(found.sheet, found, moved) == in_full(found, moved) == Gain(Decimal("23.00"), 0.0)


def test_a_mend_that_cannot_be_done_has_no_gain():
    found = estimated({"a": part(5, 5, 5)})
    with pytest.raises(mends.Undoable):
        gain_of(found.sheet, found, {"do": "remove", "line": "nothing"})
