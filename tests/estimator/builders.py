"""Small sheets for the tests of weights, labour, order and duties: parts with minutes, steps, needs and masses."""

import json
from pathlib import Path

from builds.estimator.document import read_sheet
from builds.estimator.estimate import estimate
from builds.estimator.files import catalogue
from tests.estimator.electrics import kind, reference_rows, sheet_of

JOBS = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"

__all__ = ["JOBS", "estimated", "job", "jobs", "kind", "part", "reference_rows", "sheet_of", "step"]


def step(phase, share, text="Do it.", **changes):
    return {"phase": phase, "share": share, "text": text, **changes}


def part(low, likely, high, steps=None, repeat_ratio=1.0, **changes):
    """An accessory type that takes minutes; without steps all of them are mounting."""
    minutes = {"low_min": low, "likely_min": likely, "high_min": high, "repeat_ratio": repeat_ratio}
    return kind(labour=minutes, steps=steps or [step("mount", 1.0)], **changes)


def estimated(parts, lines=None, **changes):
    """The estimate of a sheet with one line of each part, named as the part."""
    return estimate(sheet_of(parts, lines, **changes))


def jobs():
    """The names of the ten job sheets."""
    return sorted(path.stem for path in JOBS.glob("*.json") if not path.name.endswith(".expect.json"))


def job(name, **changes):
    """One job sheet, filled from the shipped catalogue."""
    document = json.loads((JOBS / f"{name}.json").read_text(encoding="utf-8"))
    return read_sheet({**document, **changes}, catalogue())
