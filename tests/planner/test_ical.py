"""The calendar feed, against RFC 5545 (Internet Calendaring and Scheduling Core Object Specification, 2009)."""

import datetime

import pytest

from builds.planner.ical import Event, escaped, folded, stream

NINE = datetime.datetime(2026, 11, 23, 9, 0, tzinfo=datetime.timezone(datetime.timedelta(hours=1)))
STAMP = datetime.datetime(2026, 11, 22, 20, 0, tzinfo=datetime.UTC)


def lines():
    event = Event("a@bench", NINE, NINE + datetime.timedelta(hours=2), "T-1, leak; \\test", "ö" * 120)
    return stream("Bench", [event], STAMP)


def test_every_line_ends_with_cr_lf_and_has_at_most_75_octets():
    """Section 3.1."""
    text = lines()
    assert text.endswith(b"\r\n") and b"\n" not in text.replace(b"\r\n", b"")
    assert max(len(line) for line in text.split(b"\r\n")) <= 75
    assert text.replace(b"\r\n ", b"").decode().count("ö") == 120


def test_no_character_is_parted_by_a_fold():
    parts = folded("x" * 74 + "ö" * 40).split("\r\n ")
    assert [part.encode().decode() for part in parts] == parts
    assert (parts[0], len(parts[1])) == ("x" * 74, 37)


def test_moments_are_in_utc_and_each_event_has_a_uid_and_a_stamp():
    """Sections 3.3.5 (form 2), 3.6.1, 3.8.4.7, 3.8.7.2."""
    text = lines().decode()
    assert "DTSTART:20261123T080000Z\r\nDTEND:20261123T100000Z\r\n" in text
    assert "UID:a@bench\r\nDTSTAMP:20261122T200000Z\r\n" in text
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")


def test_commas_semicolons_backslashes_and_line_breaks_of_a_text_are_escaped():
    """Section 3.3.11."""
    assert escaped("a,b;c\\d\r\ne\nf\x07") == "a\\,b\\;c\\\\d\\ne\\nf"


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        stream("Bench", [Event("a", NINE.replace(tzinfo=None), NINE, "x")], STAMP)
