"""The counter's pages: what they answer, what they refuse with a sentence, how few queries they take."""

import json
import re

import pytest

from builds import querysets
from builds.actions import lines
from builds.models import Ticket
from tests.builds.conftest import fresh


def page(client, path, **data):
    return client.get(path, data).content.decode()


@pytest.fixture
def at_counter(client_of, counter):
    return client_of(counter)


def url(ticket, *rest):
    return "/".join([ticket.get_absolute_url().rstrip("/"), *rest, ""])


def test_a_walk_in_begins_with_a_hull_type_and_nothing_else(catalogue, at_counter):
    answer = at_counter.post("/counter/new/", {"hull_type": "canoe_4_9_tandem"})
    ticket = Ticket.objects.get()
    assert answer.headers["Location"] == ticket.get_absolute_url()
    assert (ticket.customer, ticket.hull.craft, ticket.hull.assumed) == (None, "canoe", False)


def test_a_boat_that_is_not_known_yet_is_the_usual_one_and_says_so(catalogue, at_counter):
    at_counter.post("/counter/new/", {"hull_type": "", "asked": "screen for a kayak"})
    assert Ticket.objects.get().hull.assumed
    assert "not known yet" in page(at_counter, Ticket.objects.get().get_absolute_url())


def test_search_finds_a_customer_by_a_phone_number_in_any_spelling(ticket, counter, at_counter):
    from builds.actions.tickets import set_customer

    set_customer(counter, ticket, name="Customer 0412", phone="555-0142")
    for spelled in ("5550142", "555 0142", "(555) 0142"):
        assert "Customer 0412" in page(at_counter, "/counter/", q=spelled)


def test_the_last_way_on_is_always_a_new_ticket(catalogue, at_counter):
    assert "New ticket" in page(at_counter, "/counter/", q="no such thing").rsplit("<li>", 1)[-1]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("display_7in", "display_7in"),
        ("7 in chartplotter/sonar display", "display_7in"),
        ("FLUSH tube", "rod_holder_flush_tube"),
    ],
)
def test_a_line_is_named_by_its_code_its_name_or_a_few_words(words, code, ticket, at_counter):
    at_counter.post(url(ticket, "lines"), {"part": words, "where": "", "quantity": "1"})
    assert ticket.lines.get().accessory.code == code


def test_words_that_name_several_parts_ask_which_one(ticket, at_counter):
    answer = at_counter.post(url(ticket, "lines"), {"part": "gear track", "where": "", "quantity": "2"})
    assert answer.status_code == 422
    assert "Which one?" in answer.content.decode()
    assert not ticket.lines.exists()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"part": "", "quantity": "1"}, "Write a part"),
        ({"part": "zeppelin", "quantity": "1"}, "names no part in the catalogue"),
        ({"part": "display_7in", "quantity": "0"}, "How many starts at 1"),
        ({"part": "display_7in", "quantity": "many"}, "How many is a whole number"),
        ({"part": "display_7in", "quantity": "1", "where": "the moon"}, "is no place on this boat"),
    ],
)
def test_what_cannot_be_added_is_said_and_what_was_typed_stays(typed, sentence, ticket, at_counter):
    answer = at_counter.post(url(ticket, "lines"), {"where": "", **typed})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in text
    assert all(f'value="{value}"' in text for value in typed.values() if value)


def test_a_place_is_named_by_its_words(ticket, at_counter):
    at_counter.post(url(ticket, "lines"), {"part": "rod_holder_flush_tube", "where": "rear port", "quantity": "1"})
    assert ticket.lines.get().station == "rear_deck_port"


def test_a_line_is_changed_in_any_unit(rig, at_counter):
    line = rig.lines.first()
    form = {
        "quantity": "1",
        "station": "console",
        "offset_x": "1 5/8 in",
        "supplied_by": "shop",
        "revision": rig.revision,
    }
    answer = at_counter.post(url(rig, "lines", line.key), {"line": line.key, **form})
    assert answer.status_code == 302
    assert fresh(rig).lines.get(pk=line.pk).offset_x_m == pytest.approx(0.041275)


def test_a_wrong_figure_keeps_the_form_open_with_what_was_typed(rig, at_counter):
    line = rig.lines.first()
    form = {
        "quantity": "1",
        "station": "console",
        "offset_x": "a hand",
        "supplied_by": "shop",
        "revision": rig.revision,
    }
    answer = at_counter.post(url(rig, "lines", line.key), {"line": line.key, **form})
    assert answer.status_code == 422
    assert "a hand" in answer.content.decode()


def test_two_people_on_one_line_the_later_is_told_and_keeps_what_was_typed(rig, counter, at_counter):
    line, shown = rig.lines.first(), rig.revision
    lines.change_line(counter, rig, line.key, quantity=4)
    form = {"quantity": "2", "station": "seat", "supplied_by": "shop", "revision": shown}
    answer = at_counter.post(url(rig, "lines", line.key), {"line": line.key, **form})
    text = answer.content.decode()
    assert answer.status_code == 409
    assert "changed this ticket in the meantime" in text
    assert rig.lines.get(pk=line.pk).quantity == 4


def test_pressing_a_mend_adds_the_part_that_was_missing(ticket, counter, kind, at_counter):
    lines.add_line(counter, ticket, kind("battery_lfp_12v_20ah"))
    answer = at_counter.post(
        url(ticket, "mend"), {"mend": json.dumps({"do": "add", "accessory": "sealed_battery_box"})}
    )
    assert answer.status_code == 302
    assert ticket.lines.filter(accessory__code="sealed_battery_box").exists()


@pytest.mark.parametrize("mend", ["", "[]", "{", '{"do": "sink"}', '{"do": "add", "accessory": "zeppelin"}'])
def test_a_mend_that_is_none_is_refused_with_a_sentence(mend, ticket, at_counter):
    answer = at_counter.post(url(ticket, "mend"), {"mend": mend})
    assert answer.status_code == 409
    assert "There is a problem" in answer.content.decode()


def test_aboard_water_and_day_are_taken_in_any_unit(rig, at_counter):
    screen = rig.lines.get(accessory__code="display_7in")
    form = {
        "revision": rig.revision,
        "water": "sea",
        "air_temp": "50 F",
        "a-TOTAL_FORMS": "2",
        "a-INITIAL_FORMS": "0",
        "a-0-is_person": "on",
        "a-0-name": "paddler",
        "a-0-mass": "190 lb",
        "a-0-station": "seat",
        "a-1-name": "",
        "a-1-mass": "",
        "d-TOTAL_FORMS": "1",
        "d-INITIAL_FORMS": "0",
        "d-0-name": "dawn",
        "d-0-hours": "90 min",
        f"d-0-on_{screen.key}": "50",
    }
    assert at_counter.post(url(rig, "afloat"), form).status_code == 302
    saved = fresh(rig)
    assert saved.water == "sea"
    assert saved.air_temp_c == pytest.approx(10.0)
    assert saved.aboard.get().mass_kg == pytest.approx(86.18, abs=0.01)
    assert saved.spells.get().hours == pytest.approx(1.5)
    assert saved.spells.get().on == {screen.key: 0.5}


def test_the_boat_is_corrected_by_what_was_measured(rig, at_counter):
    got = at_counter.get(url(rig, "boat"))
    form, stations = got.context["form"], got.context["stations"]
    data = {
        name: field.value() for name, field in ((f.html_name, f) for f in form) if field.value() not in (None, False)
    }
    data |= {
        "length_m": "12 ft 4 in",
        "s-TOTAL_FORMS": stations.total_form_count(),
        "s-INITIAL_FORMS": stations.initial_form_count(),
    }
    for row in stations:
        data |= {f.html_name: f.value() for f in row if f.value() not in (None, False)}
    answer = at_counter.post(url(rig, "boat"), data)
    assert answer.status_code == 302, answer.content.decode()[:2000]
    assert fresh(rig).hull.length_m == pytest.approx(3.7592)
    assert fresh(rig).hull.stations.count() == rig.hull.stations.count()


def test_an_empty_ticket_and_a_long_one_take_the_same_few_queries(
    ticket, counter, kind, at_counter, django_assert_max_num_queries
):
    page(at_counter, url(ticket))
    for _ in range(3):
        lines.add_line(counter, ticket, kind("ball_base_25mm"), station="console")
    with django_assert_max_num_queries(20) as few:
        page(at_counter, url(ticket))
    for _ in range(30):
        lines.add_line(counter, ticket, kind("rod_holder_track_mount"), station="console")
    with django_assert_max_num_queries(20) as many:
        page(at_counter, url(ticket))
    assert len(few) == len(many)


def test_the_bench_list_does_not_load_the_price(rig, tech, client_of):
    Ticket.objects.update(state="accepted")
    assert "quoted_total" in querysets.for_bench().get().get_deferred_fields()
    assert client_of(tech).get("/bench/").status_code == 200


def test_each_battery_has_its_own_verdict(ticket, counter, kind, at_counter):
    """A screen that drains a small house battery says nothing of the drive battery beside it."""
    lines.add_line(counter, ticket, kind("battery_lfp_12v_100ah"), role="drive")
    lines.add_line(counter, ticket, kind("trolling_motor_bow"))
    lines.add_line(counter, ticket, kind("battery_lfp_12v_12ah"))
    lines.add_line(counter, ticket, kind("display_10in"))
    figures = at_counter.get(url(ticket)).context["answers"].figures
    verdicts = {figure.name: figure.verdict for figure in figures if figure.key == "battery"}
    assert verdicts == {"Battery 1, lasts": "within", "Battery 3, lasts": "caution"}


def test_words_of_a_hull_type_open_a_new_boat_before_one_that_the_shop_knows(ticket, at_counter):
    hits = page(at_counter, "/counter/", q="3.7 angler")
    assert hits.index('name="hull_type" value="sot_3_7_angler"') < hits.index(
        f'name="hull" value="{ticket.hull.number}"'
    )
    first = re.search(r'value="([^"]+)"><button autofocus', hits)
    assert first[1] == "sot_3_7_angler"


def test_the_number_of_a_boat_opens_that_boat(ticket, at_counter):
    hits = page(at_counter, "/counter/", q=ticket.hull.number)
    assert "autofocus" in hits and 'name="hull_type"' not in hits
