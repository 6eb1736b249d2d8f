"""How figures, bits, letters and bins read on paper, before they are printed."""

import datetime
from decimal import Decimal

import pytest

from builds.documents.bits import Value, bits_of
from builds.documents.figures import (
    at_least,
    balance_words,
    bound,
    gained,
    in_fraction,
    in_rows,
    letters_in_short,
    moment,
    money,
    percent,
    place_in_alphabet,
    trimmed,
    unbroken,
    weekday,
)
from builds.documents.parts import parts_of
from builds.documents.picking import bins_of, consumables_of
from builds.documents.places import openings_of
from builds.documents.wiring import pieces_of, systems_of
from tests.builds import hand_made

THIN, WIDE = "\u202f", "\u00a0"


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("24 h of cure", f"24{THIN}h of cure"),
        ("at 100 mm and 5 A, 70 %", f"at 100{THIN}mm and 5{THIN}A, 70{THIN}%"),
        ("above 0 °C", f"above 0{THIN}°C"),
        ("12 V 20 Ah", f"12{THIN}V 20{THIN}Ah"),
        ("a 10 in screen", f"a 10{WIDE}in screen"),
        ("4 × 5 mm", f"4{WIDE}×{WIDE}5{THIN}mm"),
        ("3 holes", "3 holes"),
        ("2 minutes", f"2{THIN}minutes"),
        ("  two\n lines ", "two lines"),
        (None, ""),
    ],
)
def test_a_number_in_a_sentence_keeps_its_unit(typed, read):
    assert bound(typed) == read


def test_money_has_its_thousands_parted_its_minor_digits_and_a_true_minus():
    assert money("3369.89", "USD") == f"3,369.89{WIDE}USD"
    assert money("-25.40") == "\u221225.40"
    assert money("5000", "JPY") == f"5,000{WIDE}JPY"


def test_what_an_amount_rises_by_has_its_sign_before_it():
    assert gained("40.00") == f"+{THIN}40.00"
    assert gained("-1234.50", "USD") == f"\u2212{THIN}1,234.50{WIDE}USD"
    assert gained("0.00") == f"+{THIN}0.00"


def test_a_balance_is_due_to_be_paid_back_or_nothing():
    words = [balance_words(Decimal(amount)) for amount in ("0.01", "0.00", "-0.01")]
    assert words == ["Balance due", "Paid in full", "To be paid back"]


def test_a_telephone_number_stays_on_one_line():
    assert unbroken(" 555  0142 ") == f"555{WIDE}0142"


def test_cells_stand_three_to_a_row_and_the_last_row_is_filled_up():
    assert in_rows([("a", "1"), ("b", "2"), ("c", "3"), ("d", "4")])[1] == [("d", "4"), ("", ""), ("", "")]
    assert in_rows([]) == []


def test_dates_name_the_day_and_leave_no_room_for_a_swapped_month():
    assert weekday(datetime.date(2026, 12, 1)) == f"Tue{WIDE}1{WIDE}Dec{WIDE}2026"
    assert moment(datetime.datetime(2026, 11, 5, 8, 5)) == f"5{WIDE}Nov{WIDE}2026, 08:05"
    assert weekday(None) == "" and moment(None) == ""


def test_figures_lose_the_noughts_that_say_nothing():
    assert trimmed(5.0, 1, "mm") == f"5{THIN}mm"
    assert trimmed(4.9, 1, "mm") == f"4.9{THIN}mm"
    assert trimmed(100.0, 0, "A") == f"100{THIN}A"
    assert percent("0.0625", 3) == f"6.25{THIN}%"


def test_what_is_cut_or_counted_out_is_rounded_up_and_never_down():
    assert at_least(1.502, 0.01) == pytest.approx(1.51)
    assert at_least(1.5, 0.01) == pytest.approx(1.5)
    assert at_least(34.2, 1.0) == 35.0


def test_inches_are_fractions_in_their_lowest_terms():
    """54 mm is 2.126 in, nearest sixteenth 2 1/8; 1 in = 25.4 mm exactly (international inch)."""
    assert in_fraction(54 / 25.4, 16) == f"2{THIN}1/8"
    assert in_fraction(25.4 / 25.4, 16) == "1"
    assert in_fraction(12.7 / 25.4, 64) == "1/2"


def test_letters_run_from_a_to_z_and_then_to_aa():
    assert [place_in_alphabet(letter) for letter in ("A", "Z", "AA", "AZ", "BA", "a1")] == [1, 26, 27, 52, 53, 0]
    assert letters_in_short(["A", "B", "C", "D", "G", "K", "L"]) == "A–D, G, K, L"
    assert letters_in_short(["Y", "Z", "AA"]) == "Y–AA"
    assert letters_in_short([]) == ""


# Bits


def test_each_tool_of_a_step_has_a_row_of_its_own():
    """A saw by the nearest sixteenth: 25 mm is 1 in (25.4), 54 mm is 2 1/8 in (53.98)."""
    assert list(bits_of("25 mm hole saw, then 5.2 mm", [])) == [
        Value("hole saw", f"25{THIN}mm", f"1{THIN}in"),
        Value("bit", f"5.2{THIN}mm", f"13/64{THIN}in"),
    ]
    sizes = [value.figure for value in bits_of("8, 6.2 and 4.9 mm", [])]
    assert sizes == [f"8{THIN}mm", f"6.2{THIN}mm", f"4.9{THIN}mm"]
    assert [(v.word, v.figure) for v in bits_of("10 mm starter, then jigsaw; 4.2 mm", [])] == [
        ("starter", f"10{THIN}mm"),
        ("", "jigsaw"),
        ("bit", f"4.2{THIN}mm"),
    ]
    assert list(bits_of(None, [])) == []


def test_a_drill_has_a_fraction_only_where_it_is_that_drill():
    """5.2 mm is 13/64 in (5.16); 4.9 mm lies between 3/16 (4.76) and 13/64 and is neither."""
    assert next(bits_of("5.2 mm", [])).under == f"13/64{THIN}in"
    assert next(bits_of("4.9 mm", [])).under == ""


def test_a_bit_names_the_holes_that_it_makes_and_the_schedule_s_other_name():
    body, *fasteners = hand_made.openings(1)
    assert list(bits_of("54 mm hole saw, then 5.2 mm", [body, *fasteners])) == [
        Value("hole saw", f"54{THIN}mm", "2 1/8 in; A"),
        Value("bit", f"5.2{THIN}mm", "no. 5; B–D"),
    ]


def test_a_bit_that_the_mounting_has_changed_is_not_printed():
    """Riveted, the pattern's 5.2 mm becomes 4.9 mm: the step sends the tech to the schedule."""
    body, *fasteners = hand_made.openings(1)
    riveted = [opening | {"diameter_mm": 4.9, "bit": "4.9 mm, no. 10"} for opening in fasteners]
    assert list(bits_of("5.2 mm", [body, *riveted])) == [Value("bit", "by schedule", "B–D")]


# Places


def test_one_part_at_one_place_is_one_place_with_its_letters_sizes_and_count():
    parts = parts_of(hand_made.sheet(2))
    openings = openings_of(hand_made.estimate(2), parts)
    assert [(place.letters, place.count, place.number) for place in openings.places] == [("A–D", 4, 1), ("E–H", 4, 2)]
    assert openings.places[0].sizes == f"3{THIN}×{THIN}5.2{THIN}mm, 1{THIN}×{THIN}54{THIN}mm"
    assert openings.places[0].where == "Rear deck, port"
    assert openings.count_words == f"8{WIDE}openings, at 2{WIDE}places"


def test_a_part_at_two_places_names_the_side_of_each():
    estimate = hand_made.estimate(1)
    for opening, (place, y_mm) in zip(
        estimate["openings"], [("L1/1", -290.0), ("L1/1", -280.0), ("L1/2", 290.0), ("L1/2", 0.0)], strict=True
    ):
        opening |= {"place": place, "y_mm": y_mm}
    places = openings_of(estimate, parts_of(hand_made.sheet(1))).places
    assert [place.where for place in places] == ["Rear deck, port", "Rear deck, port, starboard"]


def test_a_cut_out_shows_both_its_sides_and_the_tool_under_them():
    opening = hand_made.openings(1)[0] | {
        "shape": "rectangle", "diameter_mm": None, "width_mm": 95.0, "height_mm": 60.0, "bit": "jigsaw",
        "height_above_water_mm": None, "y_mm": 0.0,
    }  # fmt: skip
    hole = openings_of({"openings": [opening]}, parts_of(hand_made.sheet(1))).holes[0]
    assert (hole.bit, hole.bit_in) == (f"95{THIN}×{THIN}60{THIN}mm", "jigsaw")
    assert (hole.y, hole.y_in, hole.above_water) == ("centre", "", "not known")


def test_an_estimate_without_the_section_does_not_know_of_openings():
    assert not openings_of({}, {}).known
    assert openings_of({"openings": []}, {}).known


# Picking and wiring


def test_bins_come_in_the_order_of_the_shelf_and_parts_without_one_last():
    sheet = hand_made.sheet(4)
    for line, kind in zip(sheet["lines"], ("a", "b", "c", "d"), strict=True):
        line["accessory"] = kind
    bins = bins_of(parts_of(sheet), {"a": "B10", "b": "B2", "d": "A1"})
    assert [(found.name, [row.number for row in found.rows]) for found in bins] == [
        ("A1", [4]),
        ("B2", [2]),
        ("B10", [1]),
        ("", [3]),
    ]


def test_what_is_on_the_boat_already_is_not_picked():
    sheet = hand_made.sheet(2)
    sheet["lines"][0]["supplied_by"] = "already_fitted"
    assert [row.number for found in bins_of(parts_of(sheet), {}) for row in found.rows] == [2]


def test_consumables_are_laid_out_in_whole_pieces_millilitres_and_tenths_of_a_metre():
    used = [
        {"item": "marine_sealant", "quantity": 34.53, "unit": "ml", "name": "Marine sealant"},
        {"item": "wire_18_awg", "quantity": 4.215, "unit": "m"},
        {"item": "cable_tie", "quantity": 24.0, "unit": "each"},
    ]
    rows = list(consumables_of({"consumables": used}))
    assert [row.quantity for row in rows] == [f"35{THIN}ml", f"4.3{THIN}m", "24"]
    assert rows[0].name == "Marine sealant" and rows[2].name == "cable tie"


def test_a_feed_has_the_main_fuse_and_a_leg_its_limit_in_volts():
    """1 % of 12 V is 0.12 V."""
    estimate = hand_made.estimate(1)
    estimate["power"][0]["feed"] = {
        "distribution": "L1", "current_a": 1.5, "awg": "16", "drop_v": 0.08, "limit_fraction": 0.01,
    }  # fmt: skip
    system = systems_of(estimate, parts_of(hand_made.sheet(1)))[0]
    feed = system.circuits[0]
    assert (feed.fuse, feed.colour, feed.legs[0].limit) == (f"10{THIN}A", "main fuse", f"0.12{THIN}V")


def test_a_conductor_that_no_size_fits_says_so():
    estimate = hand_made.estimate(1)
    estimate["power"][0]["circuits"][0]["legs"][0] |= {"awg": None, "drop_v": None}
    leg = systems_of(estimate, parts_of(hand_made.sheet(1)))[0].circuits[0].legs[0]
    assert (leg.gauge, leg.drop) == ("none fits", "not known")


def test_the_ends_of_a_piece_are_named_by_their_lines():
    piece = hand_made.estimate(1)["cut_list"][0] | {"from_line": "L1", "to_line": "L9"}
    found = pieces_of({"cut_list": [piece]}, parts_of(hand_made.sheet(1)))[0]
    assert (found.start.number, found.end.number, found.end.name) == (1, None, "1 Tube")


def test_a_boat_that_does_not_carry_its_load_is_drawn_with_the_reason_and_no_waterline():
    from builds.documents.boats import boat_of

    floats = {"fits": False, "greatest_load_kg": 180.4, "draft_mid_mm": None, "trim_mm": None}
    sheet = hand_made.sheet(1)
    boat = boat_of(sheet, hand_made.estimate(1, flotation=floats), parts_of(sheet))
    assert boat.water is None
    assert boat.note.startswith("does not float with this load; at most 180")
