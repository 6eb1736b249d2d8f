"""A new version of the work order marks in the margin what the one before had not; a printed set is what is ticked."""

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from builds import querysets
from builds.actions import papers
from builds.documents import work_order_context
from builds.documents.since import Since
from builds.models import WorkOrder
from tests.builds import hand_made
from tests.builds.conftest import agreed_on_paper, fresh
from tests.builds.printed import estimate_of, one


def marked(before, after, sheet):
    context = work_order_context(replace(hand_made.facts(), before=before), sheet, after)
    steps = [step.n for phase in context["phases"] for step in phase.steps if step.new]
    return context["marks_changes"], sorted(context["new_letters"]), [new for _, new in context["pieces"]], steps


def test_a_first_version_marks_nothing():
    assert marked(None, estimate_of(2), hand_made.sheet(2))[0] is False


def test_the_same_work_printed_again_marks_nothing():
    assert marked(estimate_of(2), estimate_of(2), hand_made.sheet(2))[0] is False


def test_a_line_more_marks_its_steps_and_its_holes_and_leaves_the_others_alone():
    after = estimate_of(2)
    order = [step for step in after["labour"]["order"] if step["line"] != "L2"]
    renumbered = [step | {"n": n} for n, step in enumerate(order, 1)]
    before = estimate_of(1) | {"labour": after["labour"] | {"order": renumbered}}
    says, letters, _, steps = marked(before, after, hand_made.sheet(2))
    assert says
    assert letters == ["E", "F", "G", "H"]
    added = {step["n"] for step in after["labour"]["order"] if step["line"] == "L2"}
    assert set(steps) == added


def test_a_hole_that_only_got_another_letter_is_not_marked():
    before, after = estimate_of(1), estimate_of(1)
    for hole, letter in zip(after["openings"], "PQRS", strict=True):
        hole["letter"] = letter
    assert Since(before).new_letters(after) == set()
    after["openings"][0]["x_mm"] += 5
    assert Since(before).new_letters(after) == {"P"}


def test_a_piece_of_another_length_is_marked():
    before, after = estimate_of(1), estimate_of(1)
    after["cut_list"][0]["length_m"] += 0.5
    assert Since(before).new_pieces(after) == [True, *([False] * (len(after["cut_list"]) - 1))]


def test_the_page_says_what_the_bar_means():
    paper = one("changed_work_order", sheet=hand_made.sheet(2), estimate=estimate_of(2))
    assert "A bar in the margin marks what version 1 had not" in paper.whole
    assert paper.whole.count("changed") >= 1


def test_every_end_of_every_piece_has_a_label_with_the_other_end():
    text = one("end_labels").whole
    pieces = hand_made.estimate()["cut_list"]
    for piece in pieces:
        label = piece["label"].replace("-", "\u2212")
        # Two ends, and each label says the same on both sides of its fold.
        assert text.count(label) >= 4


def test_a_reading_stands_where_it_was_measured_and_a_field_where_not():
    text = one("test_sheet", sheet=hand_made.sheet(3)).whole
    assert text.count("0.93 A") == 2 and "1 of 3 open" in text


# The printed set


@pytest.fixture
def job(rig, counter):
    agreed_on_paper(counter, rig)
    return fresh(rig)


def pages(answer):
    return PdfReader(io.BytesIO(answer.content)).pages


def test_the_set_holds_the_ticked_papers_and_is_refused_in_words(job, counter, tech, client):
    client.force_login(tech)
    address = f"/bench/ticket/{job.number}/papers.pdf"
    assert client.get(address, {"of": "work_order"}).status_code == 409
    papers.issue_work_order(counter, querysets.for_counter().get(pk=job.pk))
    order = pages(client.get(address, {"of": "work_order"}))
    assert len(order) == len(PdfReader(io.BytesIO(bytes(WorkOrder.objects.get().pdf))).pages)
    whole = pages(client.get(address, {"of": ["test_sheet", "end_labels", "work_order"], "paper": "letter"}))
    assert len(whole) > len(order)
    assert "Work order" in whole[0].extract_text() and "Test sheet" in whole[-1].extract_text()
    empty = client.get(address)
    assert (empty.status_code, "Tick at least one" in empty.content.decode()) == (409, True)
    early = client.get(address, {"of": "hand_over"})
    assert (early.status_code, "not handed over yet" in early.content.decode()) == (409, True)
