"""Drilling templates: true size, every opening of the accepted quote, and none before the customer's yes."""

import io
import re

import pdfplumber
import pytest

from builds.documents import hole_templates_pdf
from builds.documents.places import by_place
from builds.estimator.document import expand
from builds.estimator.estimate import document, estimate
from builds.estimator.files import catalogue as shipped
from tests.builds import hand_made
from tests.builds.conftest import agreed_on_paper
from tests.estimator.builders import job

MM_PER_PT = 25.4 / 72


def printed(name, paper):
    sheet = job(name)
    found = document(estimate(sheet))
    raw = expand(hand_made_job(name), shipped())
    return found, pdfplumber.open(io.BytesIO(hole_templates_pdf(hand_made.facts(), raw, found, paper)))


def hand_made_job(name):
    import json

    from tests.estimator.builders import JOBS

    return json.loads((JOBS / f"{name}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_opening_stands_on_a_template_or_among_those_marked_by_the_tape(paper):
    found, pdf = printed("first_fishing_rig", paper)
    text = " ".join(page.extract_text() for page in pdf.pages)
    tape = text.split("marked by the tape")[-1]
    for group in by_place(found["openings"]).values():
        for opening in group:
            assert re.search(rf"\b{opening['letter']} {opening['diameter_mm']:g}", text) or "Anchor trolley" in tape


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_sheet_says_stop_and_carries_the_line_to_check_the_printer_by(paper):
    _, pdf = printed("first_fishing_rig", paper)
    assert len(pdf.pages) >= 6
    for page in pdf.pages:
        text = page.extract_text()
        assert "measure this line: 100 mm" in text
        assert "STOP" in text


def test_holes_lie_as_far_apart_as_the_schedule_says():
    """Two tube openings of one part: letters M and N (rivets) are 65.8 mm apart on paper as on the hull."""
    found, pdf = printed("first_fishing_rig", "a4")
    tube = next(o for o in found["openings"] if o["diameter_mm"] == 54)
    rivets = [o for o in found["openings"] if o["line"] == tube["line"] and o["diameter_mm"] < 6]
    a, b = sorted(rivets, key=lambda o: o["x_mm"])[:2]
    wanted_mm = ((a["x_mm"] - b["x_mm"]) ** 2 + (a["y_mm"] - b["y_mm"]) ** 2) ** 0.5
    page = next(p for p in pdf.pages if f"{tube['letter']} 54" in p.extract_text())
    centres = {
        (round((c["x0"] + c["x1"]) / 2, 1), round((c["top"] + c["bottom"]) / 2, 1))
        for c in page.curves
        if abs((c["x1"] - c["x0"]) * MM_PER_PT - 4.9) < 0.6
    }
    apart = [
        ((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5 * MM_PER_PT
        for x1, y1 in centres
        for x2, y2 in centres
        if (x1, y1) < (x2, y2)
    ]
    assert min(abs(gap - wanted_mm) for gap in apart) < 0.2


def test_nothing_is_drilled_before_the_customers_yes(rig, tech, counter, client):
    client.force_login(tech)
    address = f"/bench/ticket/{rig.number}/hole-templates.pdf"
    assert client.get(address).status_code == 409
    agreed_on_paper(counter, rig)
    answer = client.get(address, {"paper": "letter"})
    assert answer.content.startswith(b"%PDF")
