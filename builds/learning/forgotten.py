"""Finds the figures of a forgotten timer, so that they are not learned from."""

import math
from collections.abc import Sequence
from statistics import median

from .apart import Effects, effects_of
from .robust import is_wild, median_deviation
from .timed import PHASE_RAN_ON, RAN_ON, STARTED_LATE, Datum, LeftOut

FEW = 2.0
"""A type with so many figures is first looked for half-way between its own median and everyone's."""
OWN_SPREAD = 10.0
"""A type with so many figures is judged half by its own spread and half by everyone's."""
SWEEPS = 5
NEAREST = math.log(1.8)
"""A figure within 1.8 times of what was expected is work, however alike the others are (common practice, no source)."""
LEAST_EXCESS_MIN = 30.0
"""A timer left running over a break runs at least so long (common practice, no source)."""
PHASE_TIMES, REST_SHARE = 3.0, 0.5


def without_forgotten(data: Sequence[Datum]) -> tuple[list[Datum], list[LeftOut]]:
    """Return the data to learn from and those of a forgotten timer.

    First by medians, which a few wild figures do not move: types and persons in turn, as in median polish. Then, once
    more, all of them against the effects that the others gave: a figure that is explained after all comes back.

    References: median polish, Tukey, Exploratory data analysis (1977), chapter 11; the rule of 3.5: `robust.is_wild`.
    """
    if not data:
        return [], []
    distances = polished(data)
    spreads = spreads_of(data, distances)
    kept = [one for one, far in zip(data, distances, strict=True) if not is_forgotten(far, spreads[one.kind])]
    if not kept:
        return list(data), []
    effects = effects_of(kept)
    distances = [distance(one, effects) for one in data]
    spreads = spreads_of(data, distances)
    kept, left_out = [], []
    for one, far in zip(data, distances, strict=True):
        group = effects.kinds.groups.get(one.kind)
        unsure = effects.kinds.between * (1 - (group.credibility if group else 0.0))
        if is_forgotten(far, math.sqrt(spreads[one.kind] ** 2 + unsure)):
            left_out.append(LeftOut(one, RAN_ON if far > 0 else STARTED_LATE))
        elif has_phase_run_on(one, one.log_ratio - far):
            left_out.append(LeftOut(one, PHASE_RAN_ON))
        else:
            kept.append(one)
    return kept, left_out


def is_forgotten(far: float, spread: float) -> bool:
    return abs(far) > NEAREST and is_wild(far, spread)


def has_phase_run_on(one: Datum, expected: float) -> bool:
    """Return whether one phase alone makes a long line too long, as a timer left running does.

    With X the minutes expected of the line, X_p of the phase, W and W_p the minutes worked: W - X is half an hour or
    more, W_p - X_p is all of it, W_p is 3 times X_p or more, and the other phases took half of theirs or more, so that
    it is not their minutes that stand with this one.
    """
    times = math.exp(expected)
    line = one.planned_min * times
    excess = one.worked_min - line
    if excess < LEAST_EXCESS_MIN or len(one.phases) < 2:
        return False
    planned, worked = max(one.phases.values(), key=lambda phase: phase[1] - phase[0] * times)
    phase = planned * times
    rest = one.worked_min - worked
    return worked - phase >= excess and worked >= PHASE_TIMES * phase and rest >= REST_SHARE * (line - phase)


def polished(data: Sequence[Datum]) -> list[float]:
    """Return how far each datum lies from the medians of its type and its person [log ratio]."""
    everyone = median(one.log_ratio for one in data)
    kinds = dict.fromkeys((one.kind for one in data), everyone)
    persons = dict.fromkeys((one.tech for one in data), 0.0)
    for _ in range(SWEEPS):
        of_kind: dict[str, list[float]] = {kind: [] for kind in kinds}
        for one in data:
            of_kind[one.kind].append(one.log_ratio - persons[one.tech])
        kinds = {
            kind: everyone + len(rows) / (len(rows) + FEW) * (median(rows) - everyone) for kind, rows in of_kind.items()
        }
        of_person: dict[str, list[float]] = {person: [] for person in persons}
        for one in data:
            of_person[one.tech].append(one.log_ratio - kinds[one.kind])
        persons = {person: median(rows) for person, rows in of_person.items()}
    return [one.log_ratio - kinds[one.kind] - persons[one.tech] for one in data]


def spreads_of(data: Sequence[Datum], distances: Sequence[float]) -> dict[str, float]:
    """Return each type's spread about its middle, drawn towards everyone's where its figures are few."""
    everyone = median_deviation(distances, 0.0)
    of_kind: dict[str, list[float]] = {}
    for one, far in zip(data, distances, strict=True):
        of_kind.setdefault(one.kind, []).append(far)
    return {
        kind: math.sqrt(
            (OWN_SPREAD * everyone**2 + len(rows) * median_deviation(rows, 0.0) ** 2) / (OWN_SPREAD + len(rows))
        )
        for kind, rows in of_kind.items()
    }


def distance(one: Datum, effects: Effects) -> float:
    """Return how far a datum lies from what its type, hull and person let expect [log ratio]."""
    group = effects.kinds.groups.get(one.kind)
    person = effects.persons.get(one.tech)
    expected = group.believed if group else effects.kinds.collective
    expected += sum(share * effects.factors.get(name, (0.0, 0.0))[0] for name, share in one.exposed.items())
    return one.log_ratio - expected - (person.believed if person else 0.0)
