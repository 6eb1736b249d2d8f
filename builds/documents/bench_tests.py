"""The tests that the parts on a ticket ask for, with what the estimate expects to be read."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from .figures import trimmed, with_unit
from .parts import Part

Document = Mapping[str, Any]
CURRENT_SLACK = 0.25


@dataclass(frozen=True)
class Kind:
    """A test: its name, what is done, the unit of what is read, and whether it is done once for the whole boat."""

    name: str
    done: str
    unit: str = ""
    whole_boat: bool = False
    word: str = ""
    after_cure: bool = False


KINDS = {
    "polarity": Kind("Polarity", "Meter each plug before anything is connected to it.", "V"),
    "running_current": Kind("Running current", "Run the item alone and read its current.", "A"),
    "voltage_drop_under_load": Kind("Drop under load", "Read what is lost on the way to the item, load on.", "V"),
    "fuse_pull": Kind("Fuse pull", "Pull its fuse: the item dies, and nothing else does."),
    "noise_with_all_loads": Kind("Noise", "Sonar on, then every other item in turn.", whole_boat=True),
    "kill_test": Kind("Motor stop", "The motor stops by its kill, and when the remote is lost."),
    "steering_full_lock": Kind("Steering", "Full lock both ways, equal."),
    "hand_load_or_shake_test": Kind("Hand load", "The load that the step names. Nothing moves."),
    "pull_test": Kind("Pull", "The pull that the step names. Nothing moves."),
    "roll_test": Kind("Roll", "The boat on its side. Nothing shifts.", whole_boat=True),
    "bucket_test": Kind("Pump time", "Pour in 10\u202fL and time it until the boat is empty.", "s"),
    "leak_test": Kind(
        "Leak", "After the cure: flood, half-fill, or low-pressure air and soap.", whole_boat=True, after_cure=True
    ),
    "hose_test": Kind("Hose", "After the cure: water on the fitting from outside.", after_cure=True),
    "flood_test": Kind("Flood", "After the cure: water standing on the deck.", after_cure=True),
    "water_in_tube": Kind("Water in the tube", "After the cure: none may reach the hull.", after_cure=True),
    "tub_or_float_sonar_return": Kind("Sonar", "In a tub or afloat: a steady bottom return."),
    "float_and_trim": Kind(
        "Float and trim", "Afloat, loaded as agreed: read the draft amidships.", "mm", True, after_cure=True
    ),
}
"""In the order in which they are done: dry first, then wet, and wet only after the cure."""
OPERATIONS = {"op_leak_test": "leak_test", "op_float_trim_test": "float_and_trim"}


@dataclass(frozen=True)
class Row:
    """One reading: on which part, what is expected in words, and the limits that a figure passes within."""

    number: int | None
    name: str
    expected: str
    line: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class BenchTest:
    kind: Kind
    rows: tuple[Row, ...]


def tests_of(estimate: Document, parts: Mapping[str, Part]) -> list[BenchTest]:
    """Return the tests of the parts that are fitted now, each with a row for every part, or one for the whole boat.

    A test that the ticket has as an operation is asked for whatever the parts say.
    """
    legs = legs_of(estimate)
    ordered = {OPERATIONS.get(step["line"]) for step in estimate.get("labour", {}).get("order") or ()}
    tests = []
    for word, kind in KINDS.items():
        asked = [part for part in parts.values() if part.is_new and word in (part.kind.get("bench_tests") or ())]
        if kind.whole_boat and (asked or word in ordered):
            tests.append(BenchTest(kind, (Row(None, "the whole boat", whole_boat_figure(word, estimate)),)))
        elif asked:
            tests.append(BenchTest(kind, tuple(row_of(word, part, legs.get(part.id)) for part in asked)))
    return [BenchTest(replace(test.kind, word=word_of(test.kind)), test.rows) for test in tests]


def word_of(kind: Kind) -> str:
    return next(word for word, one in KINDS.items() if one is kind)


def row_of(word: str, part: Part, leg: Document | None) -> Row:
    low, high = limits(word, part, leg)
    return Row(part.number, part.name, expected(word, part, leg), part.id, low, high)


def limits(word: str, part: Part, leg: Document | None) -> tuple[float | None, float | None]:
    """Return the least and the most that a figure passes with, in the unit of the test; None where there is no limit.

    A running current passes within a quarter of what is expected (the shop's policy), a drop up to its class's limit.
    """
    load = part.kind.get("load") or {}
    if word == "running_current" and load.get("typical_a"):
        usual = load["typical_a"] * part.quantity
        return usual * (1 - CURRENT_SLACK), usual * (1 + CURRENT_SLACK)
    if word == "voltage_drop_under_load" and leg and leg.get("drop_v") is not None:
        return 0.0, leg["limit_fraction"] * leg["volts"]
    return None, None


def legs_of(estimate: Document) -> dict[str, Document]:
    """Return the legs of an estimate document by their line, each with the volts that it runs on."""
    return {leg["line"]: leg | {"volts": volts} for leg, volts in legs_and_volts(estimate)}


def legs_and_volts(estimate: Document) -> Iterator[tuple[Document, float]]:
    for system in estimate.get("power") or ():
        for circuit in system["circuits"]:
            for leg in circuit["legs"]:
                yield leg, circuit.get("volts_v") or system["system_v"]


def expected(word: str, part: Part, leg: Document | None) -> str:
    """Return what the estimate expects to be read, or nothing where it has no figure."""
    if word == "running_current":
        return current_of(part)
    if word == "voltage_drop_under_load" and leg and leg.get("drop_v") is not None:
        most_v = leg["limit_fraction"] * leg["volts"]
        return f"about {with_unit(leg['drop_v'], 2, 'V')}, at most {with_unit(most_v, 2, 'V')}"
    if word == "polarity" and leg:
        return f"{trimmed(leg['volts'], 0, 'V')}, red positive"
    return ""


def current_of(part: Part) -> str:
    """Return the current that a part takes in use and at most, all of its units together."""
    load = part.kind.get("load") or {}
    if load.get("typical_a") is None or load.get("max_a") is None:
        return ""
    usual, most = load["typical_a"] * part.quantity, load["max_a"] * part.quantity
    return f"about {trimmed(usual, 2, 'A')}, at most {trimmed(most, 2, 'A')}"


def whole_boat_figure(word: str, estimate: Document) -> str:
    draft_mm = (estimate.get("flotation") or {}).get("draft_mid_mm")
    return f"about {with_unit(draft_mm, 0, 'mm')}" if word == "float_and_trim" and draft_mm is not None else ""
