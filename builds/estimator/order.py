"""The order of work: one sequence of steps for one tech, and when the boat is ready, cure included."""

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from .accessory import PHASES
from .fitted import Fitted
from .labour import LineMinutes
from .network import timings_of
from .requirements import base_keys, seat_keys
from .sheet import BuildSheet
from .specs import Problem, Unusable

LEAK_TEST, FLOAT_TEST, HAND_OVER = "op_leak_test", "op_float_trim_test", "op_handover"
AFTER_CURE = (LEAK_TEST, FLOAT_TEST)
LAST = (LEAK_TEST, FLOAT_TEST, HAND_OVER)
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

    key: tuple[int, int, int, int]
    step: WorkStep
    after: list["Draft"]


def order_of_work(sheet: BuildSheet, fitted: tuple[Fitted, ...], minutes: Iterable[LineMinutes]) -> Order:
    """Return the order of work of a ticket.

    A stable topological sort by phase: every check and mark before the first drill; each type's steps in their own
    order; a base before what sits on it; routes before the gland on their way is closed; beds as early as they may be.

    Raises `Unusable` with the lines of a circle, where what sits on what runs in one.
    References: common practice, no source.
    """
    by_line = {line.line: line for line in minutes}
    drafts = {one.id: line_drafts(one, by_line[one.id]) for one in fitted if one.is_new}
    link_marks_before_drills(drafts)
    link_bases(fitted, drafts)
    link_routes_before_glands(fitted, drafts)
    every = [draft for line in drafts.values() for draft in line] + operation_drafts(sheet, by_line)
    steps = numbered(topological(every))
    return Order(steps, sum(step.minutes for step in steps), ready_hours(steps))


def line_drafts(one: Fitted, minutes: LineMinutes) -> list[Draft]:
    """Return the steps of one line in their own order, each with its share of the line's expected minutes."""
    kind = one.kind
    expected = minutes.mean_min / minutes.likely_min if minutes.likely_min else 0.0
    shares: dict[str, float] = {}
    for step in kind.steps:
        shares[step.phase] = shares.get(step.phase, 0.0) + step.share
    rows = [
        (
            step.phase,
            step.text,
            expected * minutes.by_phase.get(step.phase, 0.0) * step.share / shares[step.phase]
            if shares[step.phase]
            else 0.0,
            step,
        )
        for step in kind.steps
    ]
    if "route" in minutes.by_phase and not shares.get("route"):
        at = next((i for i, row in enumerate(rows) if PHASES.index(row[0]) > PHASES.index("route")), len(rows))
        text = f"Run the conductors of {kind.name} by the cable cut list, tied every 450 mm."
        rows.insert(at, ("route", text, expected * minutes.by_phase["route"], None))
    drafts: list[Draft] = []
    beds = ""
    for i, (phase, text, step_min, step) in enumerate(rows):
        if phase == "bed" and not beds:
            beds = "late_bed" if any(row[0] == "route" for row in rows[:i]) else "bed"
        group = beds if phase in ("bed", "mount") and beds else phase
        work = WorkStep(
            n=0,
            phase=phase,
            line=one.id,
            text=text,
            minutes=step_min,
            heading=HEADINGS[group],
            bit=step.bit if step else None,
            caution=step.caution if step else None,
            check=step.check if step else False,
            quantity=one.quantity,
            name=kind.name,
            cure_h=one.cure_h if phase == "bed" else 0.0,
        )
        drafts.append(Draft((RANK[group], 1, one.place, i), work, drafts[-1:]))
    return drafts


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
    for one in fitted:
        mounted = [d for d in drafts.get(one.id, []) if d.step.phase in ("drill", "bed", "mount")]
        for key in base_keys(one.kind) if mounted else ():
            gates.setdefault(key, gate_at("bed")).after.append(mounted[-1])
    for one in fitted:
        seat = next((d for d in drafts.get(one.id, []) if RANK[d.step.phase] >= RANK["bed"]), None)
        own = base_keys(one.kind)
        for key in seat_keys(one.kind) - own if seat else ():
            if key in gates:
                seat.after.append(gates[key])


def gate_at(phase: str) -> Draft:
    """Return a step of no work that others wait for."""
    return Draft((RANK[phase], 0, -1, -1), WorkStep(0, "", "", "", 0.0, ""), [])


def link_routes_before_glands(fitted: tuple[Fitted, ...], drafts: Mapping[str, list[Draft]]) -> None:
    """Put every cable run before a gland or port is closed over it."""
    gate = gate_at("bed")
    glands = {one.id for one in fitted if "sealed_way" in one.kind.provides}
    for key, line in drafts.items():
        closing = next((i for i, d in enumerate(line) if d.step.phase in ("bed", "mount")), len(line))
        routes = [i for i, d in enumerate(line) if d.step.phase == "route" and (key not in glands or i < closing)]
        gate.after += [line[i] for i in routes]
    for key in glands & drafts.keys():
        closing_step = next((d for d in drafts[key] if d.step.phase in ("bed", "mount")), None)
        if closing_step:
            closing_step.after.append(gate)


def operation_drafts(sheet: BuildSheet, by_line: Mapping[str, LineMinutes]) -> list[Draft]:
    """Return a step for each billable operation; tests and finishing come after the lines' own, hand-over last."""
    drafts = []
    for i, row in enumerate(sheet.operations):
        operation = sheet.shop_operations[row.operation]
        if not operation.billable:
            continue
        after_lines = 2 if operation.phase in ("terminate", "test", "finish") else 0
        last = LAST.index(operation.id) + 1 if operation.id in LAST else 0
        line = by_line[operation.id]
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
        drafts.append(Draft((RANK[operation.phase], after_lines, last, i), step, []))
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
        stuck = sorted({d.step.line for d in drafts if id(d) not in placed})
        raise Unusable([Problem("lines", f"sit on one another in a circle: {', '.join(stuck)}; accepted: no circle")])
    return [draft for draft in sequence if draft.step.phase]


def numbered(sequence: list[Draft]) -> tuple[WorkStep, ...]:
    """Return the steps with their numbers from 1."""
    return tuple(replace(draft.step, n=n) for n, draft in enumerate(sequence, start=1))


def ready_hours(steps: tuple[WorkStep, ...]) -> float:
    """Return the hours until the boat may float: one tech's steps in order, waiting for what cures [h].

    A network of activities: each step waits for the one before it; a cure waits for its bed and keeps no tech; leak
    and float tests wait for every cure that has begun. The boat is ready when the last activity ends.
    """
    durations: dict[str, float] = {}
    after: dict[str, list[str]] = {}
    cures: list[str] = []
    previous: list[str] = []
    for step in steps:
        name = f"step {step.n}"
        durations[name] = step.minutes / 60
        after[name] = previous + (cures if step.waits_cure else [])
        previous = [name]
        if step.cure_h:
            cure = f"cure after step {step.n}"
            durations[cure], after[cure] = step.cure_h, [name]
            cures = [*cures, cure]
    return max((timing.earliest_finish for timing in timings_of(durations, after).values()), default=0.0)
