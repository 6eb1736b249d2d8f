"""A type's minutes are not taken for the person's, the day's or the hull's; a forgotten timer is not learned from."""

import math
import random

import numpy as np
import pytest

from builds.learning.apart import effects_of
from builds.learning.forgotten import without_forgotten
from builds.learning.learn import NOTHING, learn
from builds.learning.minutes import MOST_SD, Minutes, learned, rounded
from builds.learning.timed import PART_TIMED, RAN_ON, STARTED_LATE, Datum, Timed, gather

BOOK = {kind: Minutes(30, 40, 60) for kind in "abcdefgh"}


def datum(ticket, kind, log_ratio, tech="ann", **exposed):
    return Datum(str(ticket), kind, tech, 40.0, 40.0 * math.exp(log_ratio), 1, None, exposed)


def timed(ticket, kind, worked, tech="ann", phase="mount", planned=40.0, **changes):
    return Timed(
        ticket=str(ticket), kind=kind, phase=phase, planned_min=planned, worked_min=worked, tech=tech, **changes
    )


# --- one figure a ticket and type


def test_phases_and_lines_of_a_type_on_a_ticket_are_one_figure():
    rows = [timed(1, "a", 10, phase="drill", planned=8), timed(1, "a", 30, planned=12), timed(1, "b", 7, planned=7)]
    kept, left_out = gather(rows)
    assert [(one.kind, one.planned_min, one.worked_min) for one in kept] == [("a", 20, 40), ("b", 7, 7)]
    assert kept[0].log_ratio == pytest.approx(math.log(2))
    assert left_out == []


def test_a_factor_counts_with_the_share_of_the_minutes_that_it_lengthens():
    rows = [timed(1, "a", 10, phase="drill", planned=15, factors=("old_hull",)), timed(1, "a", 30, planned=5)]
    assert gather(rows)[0][0].exposed == {"old_hull": 0.75}


def test_a_line_that_was_timed_only_in_part_is_left_out_and_one_that_nobody_timed_is_not_missed():
    rows = [timed(1, "a", 10, phase="drill", planned=10), timed(1, "a", 0, planned=30), timed(2, "a", 0)]
    kept, left_out = gather(rows)
    assert kept == []
    assert [(one.datum.ticket, one.why) for one in left_out] == [("1", PART_TIMED)]


def test_who_worked_most_of_it_stands_for_it():
    assert gather([timed(1, "a", 10, "ann", "drill"), timed(1, "a", 30, "bob")])[0][0].tech == "bob"


# --- persons, days, hulls


def shop(draw, kinds, persons, tickets=300, day_sd=0.0, noise_sd=0.1, of_person=None):
    """Tickets of three types each, worked by one person; `of_person` limits what a person is given."""
    data = []
    for ticket in range(tickets):
        person = draw.choice(sorted(persons))
        day = draw.gauss(0, day_sd)
        for kind in draw.sample((of_person or {}).get(person, sorted(kinds)), 3):
            data.append(datum(ticket, kind, kinds[kind] + persons[person] + day + draw.gauss(0, noise_sd), person))
    return data


def test_a_slow_person_does_not_make_the_types_that_he_is_given_slow():
    """Bob takes half as long again and is mostly given a to d; all types take what the book says."""
    draw = random.Random(11)
    persons = {"ann": -0.2, "bob": 0.2}
    given = {"ann": list("defgh"), "bob": list("abcde")}
    found = effects_of(shop(draw, dict.fromkeys("abcdefgh", 0.0), persons, of_person=given))
    groups = found.kinds.groups
    assert max(one.believed for one in groups.values()) - min(one.believed for one in groups.values()) < 0.06
    assert found.persons["bob"].believed - found.persons["ann"].believed == pytest.approx(0.4, abs=0.06)


def test_bad_days_are_not_taken_for_the_types_of_those_tickets():
    draw = random.Random(12)
    kinds = {kind: draw.gauss(0, 0.3) for kind in "abcdefgh"}
    found = effects_of(shop(draw, kinds, {"ann": 0.0}, day_sd=0.4))
    assert (found.rest, found.ticket) == pytest.approx((0.01, 0.16), rel=0.3)
    middle = np.mean(list(kinds.values())) - np.mean([one.believed for one in found.kinds.groups.values()])
    apart = [kinds[kind] - found.kinds.groups[kind].believed - middle for kind in kinds]
    assert np.sqrt(np.mean(np.square(apart))) < 0.03  # means of raw ratios would be off by about 0.4 / sqrt(110) = 0.04


def exact(data, variances):
    """Predictions of a mixed model from the whole covariance matrix, with the mean by generalised least squares."""
    kind_var, factor_var, ticket_var, rest_var = variances
    kinds = sorted({one.kind for one in data})
    y = np.array([one.log_ratio for one in data])
    of_kind = np.array([[one.kind == kind for kind in kinds] for one in data], dtype=float)
    ticket = np.array([one.ticket for one in data])
    share = np.array([one.exposed.get("old_hull", 0.0) for one in data])
    v = kind_var * of_kind @ of_kind.T + factor_var * np.outer(share, share)
    v += ticket_var * (ticket[:, None] == ticket[None, :]) + rest_var * np.eye(len(y))
    inverse = np.linalg.inv(v)
    mean = inverse.sum(axis=0) @ y / inverse.sum()
    return dict(zip(kinds, mean + kind_var * of_kind.T @ inverse @ (y - mean), strict=True))


def test_what_is_believed_of_a_type_is_what_a_mixed_model_predicts():
    """Henderson's model (Biometrics 31, 1975), solved at once with numpy over the whole covariance; one person."""
    draw = random.Random(13)
    kinds = {kind: draw.gauss(0.1, 0.3) for kind in "abcdefgh"}
    data = shop(draw, kinds, {"ann": 0.0}, tickets=60, day_sd=0.2, noise_sd=0.25)
    found = effects_of(data)
    predicted = exact(data, (found.kinds.between, 0.0, found.ticket, found.rest))
    for kind, group in found.kinds.groups.items():
        assert group.believed == pytest.approx(predicted[kind], abs=0.015)


def test_a_hull_factor_is_learned_from_tickets_with_it_and_without_it():
    """Old hulls take a fifth longer still than the factor says, on half of a line's minutes."""
    draw = random.Random(14)
    data = []
    for ticket in range(300):
        old = 0.5 if ticket % 3 == 0 else 0.0
        for kind in draw.sample("abcdefgh", 3):
            of_kind = 0.3 * ("abcdefgh".index(kind) - 3.5) / 3.5
            data.append(datum(ticket, kind, of_kind + old * math.log(1.2) + draw.gauss(0, 0.15), old_hull=old))
    delta, believed = effects_of(data).factors["old_hull"]
    assert math.exp(delta) == pytest.approx(1.2, abs=0.06)
    assert believed > 0.8


def test_a_factor_that_always_goes_with_its_type_is_not_learned():
    draw = random.Random(15)
    data = [
        datum(ticket, kind, draw.gauss("abcdefgh".index(kind) / 20, 0.1), old_hull=0.5 if kind == "a" else 0.0)
        for ticket in range(80)
        for kind in draw.sample("abcdefgh", 3)
    ]
    delta, believed = effects_of(data).factors["old_hull"]
    assert (delta, believed) == pytest.approx((0.0, 0.0), abs=1e-9)


# --- forgotten timers


def test_forgotten_timers_are_named_and_not_learned_from():
    draw = random.Random(16)
    rows = [timed(ticket, kind, 40 * math.exp(draw.gauss(0.2, 0.2))) for ticket in range(40) for kind in "abc"]
    rows += [timed("night", "a", 900.0), timed("late", "b", 3.0)]
    found = learn(rows, BOOK, {})
    assert {(one.datum.ticket, one.why) for one in found.left_out} == {("night", RAN_ON), ("late", STARTED_LATE)}
    clean = learn(rows[:-2], BOOK, {})
    assert [one.after for one in found.proposals] == [one.after for one in clean.proposals]
    assert [one.left_out for one in found.proposals] == [1, 1, 0]


def test_a_type_that_is_really_slow_is_not_taken_for_a_forgotten_timer():
    draw = random.Random(17)
    data = [datum(t, kind, draw.gauss(1.0 if kind == "a" else 0.0, 0.15)) for t in range(30) for kind in "abcd"]
    kept, left_out = without_forgotten(data)
    assert (len(kept), left_out) == (120, [])


# --- minutes


def test_the_minutes_give_the_estimator_the_middle_and_the_spread_of_the_work():
    """PERT mean and sd of what is proposed are the log-normal's: e^(r + s^2/2), mean x sqrt(e^(s^2) - 1)."""
    for ratio in (-0.5, 0.0, 0.4):
        for spread in (0.05, 0.3, 0.5, MOST_SD):
            found = learned(40, ratio, spread)
            mean = 40 * math.exp(ratio + spread**2 / 2)
            assert (found.low_min + 4 * found.likely_min + found.high_min) / 6 == pytest.approx(mean)
            sd = mean * math.sqrt(math.exp(spread**2) - 1)
            assert (found.high_min - found.low_min) / 6 == pytest.approx(sd)
            assert 0 <= found.low_min <= found.likely_min <= found.high_min


def test_minutes_are_written_to_the_half_minute_and_small_ones_to_the_tenth():
    assert rounded(Minutes(11.13, 20.26, 40.74)) == Minutes(11.0, 20.5, 40.5)
    assert rounded(Minutes(1.23, 4.56, 9.87)) == Minutes(1.2, 4.6, 9.9)


def test_nothing_timed_is_nothing_learned():
    assert learn([], BOOK, {}) == NOTHING
    assert learn([timed(1, "unknown", 5)], BOOK, {}) == NOTHING


def test_nine_tickets_propose_nothing_yet():
    found = learn([timed(t, "a", 60 + t) for t in range(9)], BOOK, {})
    assert (found.tickets, found.proposals) == (9, ())


def test_a_few_tickets_move_the_catalogue_and_do_not_replace_it():
    """Ten tickets of one type, all at 1.5 times the book: more than the book, and less than 1.5 times."""
    draw = random.Random(19)
    found = learn([timed(t, "a", 60 * math.exp(draw.gauss(0, 0.6))) for t in range(10)], BOOK, {})
    assert 1.05 < found.proposals[0].ratio < found.proposals[0].own_ratio - 0.02


def test_a_longer_history_is_believed_more():
    draw = random.Random(18)
    rows = [
        timed(t, kind, 40 * math.exp(draw.gauss({"a": 0.4, "b": -0.3}.get(kind, 0), 0.3)))
        for t in range(60)
        for kind in ("a", "b", *("cd" if t % 2 else ""), *("e" if t % 20 == 0 else ""))
    ]
    by_kind = {one.kind: one for one in learn(rows, BOOK, {}).proposals}
    assert by_kind["e"].credibility < by_kind["c"].credibility < by_kind["a"].credibility < 1
    assert by_kind["a"].ratio == pytest.approx(math.exp(0.4), rel=0.12)
