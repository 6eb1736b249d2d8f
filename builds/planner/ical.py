"""A calendar as an iCalendar stream: RFC 5545 (2009), with the name and the refresh interval of RFC 7986 (2016)."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

LONGEST_LINE = 75
"""Octets of a content line without its line break (RFC 5545, section 3.1)."""
PRODUCT = "-//Hullbench//Bench calendar//EN"


@dataclass(frozen=True)
class Event:
    """One entry: a stable `uid`, aware moments, a line that is shown and more words below it."""

    uid: str
    start: datetime.datetime
    end: datetime.datetime
    summary: str
    description: str = ""


def stream(name: str, events: Iterable[Event], stamp: datetime.datetime) -> bytes:
    """Return the events as one iCalendar object, every moment in UTC, each line folded and ended by CRLF.

    `stamp` is the moment at which this stream is made. Raises ValueError on a moment without a time zone.
    """
    return "".join(f"{folded(line)}\r\n" for line in lines_of(name, events, stamp)).encode()


def lines_of(name: str, events: Iterable[Event], stamp: datetime.datetime) -> Iterator[str]:
    yield "BEGIN:VCALENDAR"
    yield "VERSION:2.0"
    yield f"PRODID:{PRODUCT}"
    yield "CALSCALE:GREGORIAN"
    yield f"NAME:{escaped(name)}"
    yield "REFRESH-INTERVAL;VALUE=DURATION:PT1H"
    for event in events:
        yield "BEGIN:VEVENT"
        yield f"UID:{event.uid}"
        yield f"DTSTAMP:{in_utc(stamp)}"
        yield f"DTSTART:{in_utc(event.start)}"
        yield f"DTEND:{in_utc(event.end)}"
        yield f"SUMMARY:{escaped(event.summary)}"
        if event.description:
            yield f"DESCRIPTION:{escaped(event.description)}"
        yield "END:VEVENT"
    yield "END:VCALENDAR"


def in_utc(moment: datetime.datetime) -> str:
    """Return a moment as form 2 of DATE-TIME (section 3.3.5)."""
    if moment.tzinfo is None:
        raise ValueError("A moment of a calendar needs a time zone.")
    return moment.astimezone(datetime.UTC).strftime("%Y%m%dT%H%M%SZ")


def escaped(text: str) -> str:
    """Return text as a value of type TEXT (section 3.3.11); characters that no value may hold are left out."""
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(c for c in text if c == "\t" or (ord(c) >= 32 and ord(c) != 127))


def folded(line: str) -> str:
    """Return a content line folded to 75 octets, never within a character (section 3.1)."""
    parts, part, room = [], "", LONGEST_LINE
    for character in line:
        size = len(character.encode())
        if size > room:
            parts.append(part)
            part, room = "", LONGEST_LINE - 1
        part += character
        room -= size
    return "\r\n ".join([*parts, part])
