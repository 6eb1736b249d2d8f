"""A ticket on the shipped catalogue for the tests of a ticket's life."""

import io
from functools import cache

import pytest
from django.apps import apps
from django.db import connection
from pypdf import PdfWriter

import builds.documents
from builds.actions import lines, tickets
from builds.models import Ticket
from catalog import exchange
from catalog.models import AccessoryType, HullType

_kept: dict[str, tuple[list[str], list[tuple]]] = {}
"""The rows of the shipped catalogue by table, once they were loaded: put back as they are, in a tenth of the time."""


@pytest.fixture
def catalogue(db):
    """The shipped catalogue, in the database; in the same rows, it is the same version, which the shelf keeps."""
    models = apps.get_app_config("catalog").get_models()
    # What others point at comes first.
    tables = [model._meta.db_table for model in sorted(models, key=points_at_others)]
    with connection.cursor() as cursor:
        if _kept:
            for table, (columns, rows) in _kept.items():
                places = ", ".join(["%s"] * len(columns))
                names = ", ".join(f'"{column}"' for column in columns)
                cursor.executemany(f'INSERT INTO "{table}" ({names}) VALUES ({places})', rows)
            return
        exchange.load()
        for table in tables:
            cursor.execute(f'SELECT * FROM "{table}"')
            if rows := cursor.fetchall():
                _kept[table] = [column[0] for column in cursor.description], rows


def points_at_others(model) -> bool:
    return any(field.is_relation for field in model._meta.fields)


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
