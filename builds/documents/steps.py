"""The order of work as a tech reads it: one step, one box, and at its right the values to act on."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from shop.units import THIN, format_minutes

from .bits import Value, bits_of
from .figures import bound, trimmed
from .parts import Part
from .places import Opening
from .warned import Warned, warned

PHASES = {
    "check": "Check",
    "mark": "Mark",
    "dry_fit": "Dry-fit",
    "drill": "Drill and cut",
    "route": "Run cables",
    "bed": "Bed",
    "mount": "Mount",
    "terminate": "Terminate",
    "set": "Set",
    "test": "Test",
    "finish": "Finish",
}
TURNED = re.compile(r"\b(bolt|screw|tighten|fasten)", re.IGNORECASE)


@dataclass(frozen=True)
class Step:
    """One step: what to do, on which part, with which values; `caution` stands before it.

    `new` says that the work order before this one had not the step.
    """

    n: int
    text: str
    number: int | None
    name: str
    values: tuple[Value, ...]
    minutes: str
    check: bool
    caution: Warned | None
    new: bool = False


@dataclass(frozen=True)
class Phase:
    """Steps that are done one after the other with the same kind of tool; `warned` stands before the first."""

    heading: str
    minutes: str
    steps: tuple[Step, ...]
    warned: tuple[Warned, ...] = ()


def phases_of(
    estimate: Mapping[str, Any],
    parts: Mapping[str, Part],
    before_drilling: tuple[Warned, ...] = (),
    new: Collection[int] = (),
) -> list[Phase]:
    """Return the order of work of an estimate document, by heading; `before_drilling` stands before the first drill."""
    order = estimate.get("labour", {}).get("order", ())
    shown = StepValues(estimate, parts)
    phases = []
    for heading, group in groupby(order, key=heading_of):
        steps = list(group)
        drills = any(step["phase"] == "drill" for step in steps)
        phases.append(
            Phase(
                heading=heading,
                minutes=format_minutes(sum(step["minutes"] for step in steps)),
                steps=tuple(step_of(step, parts, shown, step["n"] in new) for step in steps),
                warned=before_drilling if drills else (),
            )
        )
        before_drilling = () if drills else before_drilling
    return phases


def heading_of(step: Mapping[str, Any]) -> str:
    return str(step.get("heading") or PHASES.get(step["phase"], step["phase"]))


def step_of(step: Mapping[str, Any], parts: Mapping[str, Part], shown: "StepValues", new: bool = False) -> Step:
    part = parts.get(step["line"])
    name = part.name if part else bound(step.get("name"))
    text = bound(step["text"])
    return Step(
        n=step["n"],
        text=text,
        number=part.number if part else None,
        name="" if text.rstrip(".") == name.rstrip(".") else name,
        values=tuple(shown.of(step)),
        minutes=f"{max(1, round(step['minutes']))}{THIN}min",
        check=bool(step.get("check")),
        caution=shown.caution_of(step),
        new=new,
    )


class StepValues:
    """What stands at the right of a step: it knows the lines' openings, each line's last bed, and the cure."""

    def __init__(self, estimate: Mapping[str, Any], parts: Mapping[str, Part]):
        order = estimate.get("labour", {}).get("order", ())
        self.parts = parts
        self.openings: dict[str, list[Opening]] = {}
        for opening in estimate.get("openings") or ():
            self.openings.setdefault(opening["line"], []).append(opening)
        self.last_bed = {step["line"]: step["n"] for step in order if step["phase"] == "bed"}
        self.cure_h = max((step.get("cure_h") or 0.0 for step in order), default=0.0)
        self.by_hand = {n for line in lines_in(estimate, "insert_torque") for n in turned_by_hand(line, order)}

    def of(self, step: Mapping[str, Any]) -> Iterator[Value]:
        line = step["line"]
        if (step.get("quantity") or 1) > 1:
            yield Value("on each of", str(step["quantity"]))
        yield from bits_of(step.get("bit"), self.openings.get(line, []))
        if self.last_bed.get(line) == step["n"] and step.get("cure_h"):
            yield from self.bedding_of(line, step["cure_h"])
        if step["n"] in self.by_hand:
            yield Value("torque", "by hand")

    def bedding_of(self, line: str, cure_h: float) -> Iterator[Value]:
        seal = self.parts[line].kind.get("seal") if line in self.parts else None
        if seal and seal.get("kind") == "bead" and seal.get("bead_mm"):
            yield Value("bead", trimmed(seal["bead_mm"], 1, "mm"))
        yield Value("cure", trimmed(cure_h, 1, "h"))

    def caution_of(self, step: Mapping[str, Any]) -> Warned | None:
        """Return the step's own caution; a step that waits for the cure says for how long."""
        if step.get("waits_cure") and self.cure_h:
            wait = f"Only after the cure: {trimmed(self.cure_h, 1, 'h')} after the last bed."
            return warned("caution", f"{wait} {step.get('caution') or ''}")
        return warned("caution", step["caution"]) if step.get("caution") else None


def lines_in(estimate: Mapping[str, Any], code: str) -> list[str]:
    """Return the lines that a caution of a code is about."""
    figures = (c.get("figures", {}) for c in estimate.get("cautions", ()) if c["code"] == code)
    return [line for named in figures for line in named.get("lines", ())]


def turned_by_hand(line: str, order: Iterable[Mapping[str, Any]]) -> list[int]:
    """Return the steps of a line that turn a bolt, or the first mounting step where none speaks of one."""
    mounts = [step for step in order if step["line"] == line and step["phase"] == "mount"]
    turned = [step["n"] for step in mounts if TURNED.search(step["text"])]
    return turned or [step["n"] for step in mounts[:1]]
