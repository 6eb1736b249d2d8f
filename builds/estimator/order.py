"""The order of work: one sequence of steps for one tech, and when the boat is ready, cure included."""

import heapq
import re
from collections.abc import Mapping
from dataclasses import dataclass

from .accessory import PHASES, Step
from .drilled import bit_for, for_mounting
from .fitted import Fitted
from .labour import LineMinutes
from .network import timings_of
from .requirements import base_keys, need_each_other, seat_keys
from .sheet import BuildSheet
from .specs import Problem, Unusable

LEAK_TEST, FLOAT_TEST, HAND_OVER = "op_leak_test", "op_float_trim_test", "op_handover"
AFTER_CURE = (LEAK_TEST, FLOAT_TEST)
LAST = (LEAK_TEST, FLOAT_TEST, HAND_OVER)
WAITS = re.compile(r"\bafter cure\b|\bonce\b.*\bha(s|ve) cured\b")
"""How a step of the catalogue says that it waits for its own line's cure."""
# Among steps of one phase: operations that open the work, the lines, closing operations, what waits, the last ones.
OPENING, OF_LINE, CLOSING, WAITING, FINAL = range(5)
MOUNTED = ("bed", "mount")
# Beds come before routes, so that sealant cures while cables are run; a bed that waits for its own cable comes when
# every cable is run, so that hands stay with one tool. What is bedded is mounted at once.
RANK = {
    phase: rank
    for rank, phase in enumerate(
        ("check", "mark", "dry_fit", "drill", "bed", "route", "late_bed", "mount", "terminate", "set", "test", "finish")
    )
}
HEADINGS = {
    "check": "Check",
    "mark": "Mark",
    "dry_fit": "Dry-fit",
    "drill": "Drill and cut",
    "bed": "Bed and mount",
    "late_bed": "Bed and mount",
    "route": "Run cables",
    "mount": "Mount",
    "terminate": "Terminate",
    "set": "Set",
    "test": "Test",
    "finish": "Finish",
}


@dataclass(frozen=True)
class WorkStep:
    """One step of the order: number from 1, phase, line (or operation) id, text, minutes [min] and what goes with it.

    `heading` groups steps that are done with the same tool in hand; `waits_cure` marks what starts after the cure.
    `cure_h` stands on the step after which a line begins to cure.
    """

    n: int
    phase: str
    line: str
    text: str
    minutes: float
    heading: str
    bit: str | None = None
    caution: str | None = None
    check: bool = False
    quantity: int = 1
    name: str = ""
    waits_cure: bool = False
    cure_h: float = 0.0


@dataclass(frozen=True)
class Order:
    """Steps in their order; bench minutes [min] (the mean of the ticket); hours until ready with the cure [h]."""

    steps: tuple[WorkStep, ...]
    bench_min: float
    ready_h: float


@dataclass
class Draft:
    """A step before it has its number: what sorts it, and what comes before it."""

    key: tuple[int, int, float, int, int]
    step: WorkStep
    after: list["Draft"]


def order_of_work(sheet: BuildSheet, fitted: tuple[Fitted, ...], minutes: tuple[LineMinutes, ...]) -> Order:
    """Return the order of work of a ticket; `minutes` are those of the lines, then of the billable operations.

    A stable topological sort by phase: every check and mark before the first drill; each type's steps in their own
    order; a base before what sits on it; routes before the gland on their way is closed; beds as early as they may
    be, the longest cure first. The minutes of the steps are means and add to the ticket's.

    Raises `Unusable` with the lines of a circle, where what sits on what runs in one.
    References: common practice, no source.
    """
    of_lines, of_operations = minutes[: len(fitted)], minutes[len(fitted) :]
    drafts = {one.id: line_drafts(one, line) for one, line in zip(fitted, of_lines, strict=True) if one.is_new}
    link_marks_before_drills(drafts)
    link_bases(fitted, drafts)
    link_routes_before_glands(fitted, drafts)
    every = [draft for line in drafts.values() for draft in line] + operation_drafts(sheet, of_operations)
    steps = numbered(topological(every))
    return Order(steps, sum(step.minutes for step in steps), ready_hours(steps))


def line_drafts(one: Fitted, minutes: LineMinutes) -> list[Draft]:
    """Return the steps of one line in their own order, each with its share of the line's expected minutes."""
    steps = steps_of(one, minutes)
    expected = step_minutes(steps, minutes)
    cures_after = cure_start(one, steps)
    drafts: list[Draft] = []
    beds = ""
    for i, step in enumerate(steps):
        if step.phase == "bed" and not beds:
            beds = "late_bed" if any(earlier.phase == "route" for earlier in steps[:i]) else "bed"
        group = beds if step.phase in MOUNTED and beds else step.phase
        waits = one.cure_h > 0 and WAITS.search(step.text) is not None
        work = WorkStep(
            n=0,
            phase=step.phase,
            line=one.id,
            text=for_mounting(step.text, one) or "",
            minutes=expected[i],
            heading=HEADINGS[group],
            bit=bit_for(step.bit, one),
            caution=step.caution,
            check=step.check,
            quantity=one.quantity,
            name=one.kind.name,
            waits_cure=waits,
            cure_h=one.cure_h if i == cures_after else 0.0,
        )
        drafts.append(Draft(line_key(group, waits, one, i), work, drafts[-1:]))
    return drafts


def line_key(group: str, waits: bool, one: Fitted, i: int) -> tuple[int, int, float, int, int]:
    """Return what sorts a step of a line: what waits for a cure holds up no other work, long cures begin first."""
    rank = max(RANK[group], RANK["test"]) if waits else RANK[group]
    cure_h = one.cure_h if group in ("bed", "late_bed") else 0.0
    return rank, WAITING if waits and group != "finish" else OF_LINE, -cure_h, one.place, i


def steps_of(one: Fitted, minutes: LineMinutes) -> list[Step]:
    """Return the type's steps, with one for a long run where the type has none, and one where it has no steps."""
    steps = list(one.kind.steps)
    if minutes.by_phase.get("route") and not any(step.phase == "route" for step in steps):
        at = next((i for i, step in enumerate(steps) if RANK[step.phase] >= RANK["mount"]), len(steps))
        text = f"Run the conductors of {one.kind.name} by the cable cut list, tied every 450 mm."
        steps.insert(at, Step(phase="route", share=0.0, text=text))
    if not steps and minutes.mean_min:
        steps.append(Step(phase="mount", share=1.0, text=f"Fit {one.kind.name}."))
    return steps


def step_minutes(steps: list[Step], minutes: LineMinutes) -> list[float]:
    """Return the expected minutes of each step: the line's mean, by phase and by the shares within it [min]."""
    weights = minutes.by_phase if minutes.likely_min else dict.fromkeys(PHASES, 1.0)
    shares: dict[str, float] = {}
    counts: dict[str, int] = {}
    for step in steps:
        shares[step.phase] = shares.get(step.phase, 0.0) + step.share
        counts[step.phase] = counts.get(step.phase, 0) + 1
    parts = [
        weights.get(step.phase, 0.0)
        * (step.share / shares[step.phase] if shares[step.phase] else 1 / counts[step.phase])
        for step in steps
    ]
    total = sum(parts)
    return [minutes.mean_min * part / total if total else 0.0 for part in parts]


def cure_start(one: Fitted, steps: list[Step]) -> int | None:
    """Return the step after which a line cures: its last bed, else its last mounting, else its last step."""
    if not one.cure_h or not steps:
        return None
    for phase in ("bed", "mount"):
        found = [i for i, step in enumerate(steps) if step.phase == phase]
        if found:
            return found[-1]
    return len(steps) - 1


def first_drill(drafts: list[Draft]) -> int:
    return next((i for i, draft in enumerate(drafts) if draft.step.phase == "drill"), len(drafts))


def link_marks_before_drills(drafts: Mapping[str, list[Draft]]) -> None:
    """Put every check and mark that comes before a line's own drilling before the first drill of all."""
    gate = gate_at("drill")
    for line in drafts.values():
        cut = first_drill(line)
        gate.after += [draft for draft in line[:cut] if draft.step.phase in ("check", "mark")]
    for line in drafts.values():
        for draft in line:
            if draft.step.phase == "drill":
                draft.after.append(gate)


def link_bases(fitted: tuple[Fitted, ...], drafts: Mapping[str, list[Draft]]) -> None:
    """Put the last mounting step of every base before the first mounting step of what sits on such a base.

    One gate for each tag or base type keeps the links as many as the lines.
    """
    gates: dict[str, Draft] = {}
    kinds = {one.kind.id: one.kind for one in fitted}
    for one in fitted:
        mounted = [d for d in drafts.get(one.id, []) if d.step.phase in MOUNTED]
        for key in base_keys(one.kind) if mounted else ():
            gates.setdefault(key, gate_at("bed")).after.append(mounted[-1])
    for one in fitted:
        seat = next((d for d in drafts.get(one.id, []) if d.step.phase in MOUNTED), None)
        if seat is None:
            continue
        for key in sorted(seat_keys(one.kind) - base_keys(one.kind)):
            if key in gates and not need_each_other(one.kind, kinds.get(key)):
                seat.after.append(gates[key])


def gate_at(phase: str) -> Draft:
    """Return a step of no work that others wait for."""
    return Draft((RANK[phase], OPENING, 0.0, -1, -1), WorkStep(0, "", "", "", 0.0, ""), [])


def link_routes_before_glands(fitted: tuple[Fitted, ...], drafts: Mapping[str, list[Draft]]) -> None:
    """Put every cable run before a gland or port is closed over it."""
    gate = gate_at("bed")
    glands = {one.id for one in fitted if "sealed_way" in one.kind.provides}
    for key, line in drafts.items():
        closing = next((i for i, d in enumerate(line) if d.step.phase in MOUNTED), len(line))
        routes = [i for i, d in enumerate(line) if d.step.phase == "route" and (key not in glands or i < closing)]
        gate.after += [line[i] for i in routes]
    for key in glands & drafts.keys():
        closing_step = next((d for d in drafts[key] if d.step.phase in MOUNTED), None)
        if closing_step:
            closing_step.after.append(gate)


def operation_drafts(sheet: BuildSheet, minutes: tuple[LineMinutes, ...]) -> list[Draft]:
    """Return a step for each billable operation; tests and finishing come after the lines' own, hand-over last."""
    drafts = []
    rows = [row for row in sheet.operations if sheet.shop_operations[row.operation].billable]
    for i, (row, line) in enumerate(zip(rows, minutes, strict=True)):
        operation = sheet.shop_operations[row.operation]
        group = CLOSING if operation.phase in ("terminate", "test", "finish") else OPENING
        last = LAST.index(operation.id) if operation.id in LAST else 0
        step = WorkStep(
            n=0,
            phase=operation.phase,
            line=operation.id,
            text=operation.name + ".",
            minutes=line.mean_min,
            heading=HEADINGS[operation.phase],
            quantity=row.quantity,
            name=operation.name,
            waits_cure=operation.id in AFTER_CURE,
        )
        drafts.append(Draft((RANK[operation.phase], FINAL if operation.id in LAST else group, last, i, 0), step, []))
    return drafts


def topological(drafts: list[Draft]) -> list[Draft]:
    """Return drafts so that each comes after all that it waits for, the least key first among those that may come."""
    every: dict[int, Draft] = {}
    stack = list(drafts)
    while stack:
        draft = stack.pop()
        if id(draft) not in every:
            every[id(draft)] = draft
            stack += draft.after
    waiting = {key: len({id(d) for d in draft.after}) for key, draft in every.items()}
    followers: dict[int, list[Draft]] = {}
    for draft in every.values():
        for before in {id(d) for d in draft.after}:
            followers.setdefault(before, []).append(draft)
    ready = [(draft.key, draft.step.line, key) for key, draft in every.items() if not waiting[key]]
    heapq.heapify(ready)
    sequence = []
    while ready:
        _, _, key = heapq.heappop(ready)
        sequence.append(every[key])
        for follower in followers.get(key, []):
            waiting[id(follower)] -= 1
            if not waiting[id(follower)]:
                heapq.heappush(ready, (follower.key, follower.step.line, id(follower)))
    if len(sequence) < len(every):
        placed = {id(draft) for draft in sequence}
        circle = in_circle([draft for key, draft in every.items() if key not in placed], followers)
        stuck = sorted({draft.step.line for draft in circle if draft.step.line})
        raise Unusable([Problem("lines", f"sit on one another in a circle: {', '.join(stuck)}; accepted: no circle")])
    return [draft for draft in sequence if draft.step.phase]


def in_circle(drafts: list[Draft], followers: Mapping[int, list[Draft]]) -> list[Draft]:
    """Return those of some drafts that wait for one another, without what only waits for them."""
    left = {id(draft): draft for draft in drafts}
    waited = {key: sum(id(f) in left for f in followers.get(key, [])) for key in left}
    loose = [key for key, count in waited.items() if not count]
    while loose:
        for before in {id(d) for d in left.pop(loose.pop()).after} & left.keys():
            waited[before] -= 1
            if not waited[before]:
                loose.append(before)
    return list(left.values())


def numbered(sequence: list[Draft]) -> tuple[WorkStep, ...]:
    """Return the steps with their numbers from 1."""
    return tuple(WorkStep(**{**vars(draft.step), "n": n}) for n, draft in enumerate(sequence, start=1))


def ready_hours(steps: tuple[WorkStep, ...]) -> float:
    """Return the hours until the boat may float: one tech's steps in order, waiting for what cures [h].

    A network of activities: a stretch of work waits for the one before it; a cure waits for its bed and keeps no tech;
    a line's own test after cure waits for that line's, leak and float tests wait for every cure that has begun. The
    boat is ready when the last activity ends.
    """
    durations: dict[str, float] = {}
    after: dict[str, list[str]] = {}
    cures: dict[str, str] = {}
    work = ""
    ended = True
    for step in steps:
        if ended or step.waits_cure:
            before, work, ended = [work] if work else [], f"work from step {step.n}", False
            begun = cures if step.line in AFTER_CURE else {step.line: cures.get(step.line, "")}
            waits = [cure for cure in begun.values() if cure] if step.waits_cure else []
            durations[work], after[work] = 0.0, before + waits
        durations[work] += step.minutes / 60
        if step.cure_h:
            cure = f"cure after step {step.n}"
            durations[cure], after[cure], cures[step.line], ended = step.cure_h, [work], cure, True
    return max((timing.earliest_finish for timing in timings_of(durations, after).values()), default=0.0)
