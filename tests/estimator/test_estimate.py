"""The whole chain: the ten jobs, determinism, and the document of the contract."""

import json
import os
import subprocess
import sys

import pytest

from builds.estimator.document import canonical
from builds.estimator.estimate import document, estimate, workings_of
from builds.estimator.sources import SOURCES
from tests.estimator.builders import JOBS, job, jobs

SECTIONS = {
    "weights": ["added_dry_kg", "added_in_use_kg", "displacement_kg", "load_kg", "capacity_used", "cog_m"],
    "labour": [
        "lines",
        "plain_sum_min",
        "shared_setup_saved_min",
        "mean_min",
        "sd_min",
        "p50_min",
        "p80_min",
        "quoted_min",
        "order",
        "bench_min",
        "ready_h",
    ],
    "price": [
        "parts",
        "labour",
        "consumables",
        "fees",
        "discount",
        "tax",
        "total",
        "deposit",
        "cost",
        "gross_profit",
        "margin",
    ],
}


def expected(name):
    return json.loads((JOBS / f"{name}.expect.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", jobs())
def test_each_job_shows_the_cautions_that_it_must_and_none_that_it_must_not(name):
    found = {(c.code, c.severity) for c in estimate(job(name)).cautions}
    codes = {code for code, _ in found}
    for wanted in expected(name)["must_have_codes"]:
        assert wanted in codes if isinstance(wanted, str) else (wanted["code"], wanted["severity"]) in found
    assert not codes & set(expected(name)["must_not_have_codes"])


@pytest.mark.parametrize("name", jobs())
def test_the_document_has_the_names_of_the_contract(name):
    found = document(estimate(job(name)))
    assert found["format"] == "hullbench-estimate/1"
    assert len(found["sheet_sha256"]) == 64
    for section, names in SECTIONS.items():
        assert set(names) <= set(found[section])
    assert all({"code", "severity", "sentence", "figures", "source", "mend"} <= set(c) for c in found["cautions"])
    assert all({"line", "strength", "why", "offers"} <= set(part) for part in found["missing"])


def test_the_same_sheet_gives_the_same_estimate_byte_for_byte():
    first, second = (canonical(document(estimate(job("bow_motor_and_screen")))) for _ in range(2))
    assert first == second


def test_another_process_with_other_hashes_gives_the_same_bytes():
    """Sets and dictionaries of another process are laid out another way; nothing of that may show."""
    command = (
        "from hashlib import sha256; from tests.estimator.builders import job, jobs;"
        "from builds.estimator.document import canonical; from builds.estimator.estimate import document, estimate;"
        "print(sha256(''.join(canonical(document(estimate(job(name)))) for name in jobs()).encode()).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", command],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=JOBS.parents[1],
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(digests) == 1


@pytest.mark.parametrize("name", jobs())
def test_every_working_names_sources_that_are_listed(name):
    for working in workings_of(estimate(job(name))):
        assert working.formula
        assert set(working.sources) <= set(SOURCES)


@pytest.mark.parametrize("name", jobs())
def test_the_lowest_opening_of_a_ticket_can_be_opened_to_its_working(name):
    found = estimate(job(name))
    heights = [(o.height_above_water_mm, o.letter) for o in found.openings if o.height_above_water_mm is not None]
    figures = {working.figure for working in workings_of(found)}
    assert not heights or f"openings.{min(heights)[1]}.height_above_water_mm" in figures


def test_stops_come_before_cautions_and_notes():
    severities = [c.severity for c in estimate(job("bow_motor_and_screen")).cautions]
    assert severities == sorted(severities, key=("stop", "caution", "note").index)
