"""A ticket on the shipped catalogue for the tests of a ticket's life."""

import io
from functools import cache

import pytest
from pypdf import PdfWriter

import builds.documents
from builds import querysets
from builds.actions import lines, papers, signing, tickets
from builds.models import Ticket
from catalog.models import AccessoryType, HullType
from tests.shipped import put_catalogue


@pytest.fixture
def catalogue(db):
    """The shipped catalogue, in the database."""
    put_catalogue()


@cache
def blank_page() -> bytes:
    writer, out = PdfWriter(), io.BytesIO()
    writer.add_blank_page(width=595, height=842)
    writer.write(out)
    return out.getvalue()


@pytest.fixture
def blank_papers(monkeypatch):
    """Papers of one blank page, where it does not matter what they look like."""
    monkeypatch.setattr(builds.documents, "pdf", lambda html, paper: blank_page())
    monkeypatch.setattr(builds.documents, "html_of", lambda *what: "")
    monkeypatch.setattr(builds.documents, "render_to_string", lambda *what: "")


@pytest.fixture
def kind(catalogue):
    """An accessory type by its code."""
    return lambda code: AccessoryType.objects.get(code=code)


@pytest.fixture
def ticket(catalogue, counter):
    """An empty draft on the 3.7 m angler."""
    return tickets.open_ticket(counter, hull_type=HullType.objects.get(code="sot_3_7_angler"), title="Dawn rig")


RIG = [
    ("display_7in", "console", 1),
    ("transducer_scupper_mount", "hull_bottom_scupper", 1),
    ("ball_base_25mm", "side_deck_starboard", 1),
    ("cable_gland_deck", "console", 1),
    ("battery_lfp_12v_12ah", "centre_hatch", 1),
    ("sealed_battery_box", "centre_hatch", 1),
    ("rod_holder_flush_tube", "rear_deck_port", 1),
]


@pytest.fixture
def rig(ticket, counter, kind):
    """The ticket with a fishing rig that nothing is missing from."""
    for code, station, quantity in RIG:
        mounting = {"rod_holder_flush_tube": "rivet", "ball_base_25mm": "rivet"}.get(code, "")
        lines.add_line(counter, ticket, kind(code), station=station, quantity=quantity, mounting=mounting)
    return Ticket.objects.get(pk=ticket.pk)


def fresh(ticket):
    return Ticket.objects.get(pk=ticket.pk)


def whole(ticket):
    """The ticket as the counter's page has it."""
    return querysets.for_counter().get(pk=ticket.pk)


def agreed_on_paper(counter, ticket):
    """The ticket with a quote that the customer signed on paper."""
    quote = papers.issue_quote(counter, whole(ticket))
    yes = signing.Yes("Customer 0412", signing.places_of(quote), note="The scanner is broken.")
    signing.accept(counter, whole(ticket), yes, way="paper")
    return whole(ticket)
