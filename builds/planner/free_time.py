"""The hours of one tech from a moment on, what of them is still free, and what a piece of work takes."""

import datetime
from bisect import bisect_left, bisect_right

from .workload import DAY, DAY_MIN, Tech

LEAST_PIECE_MIN = 15
"""Nobody begins on a ticket for less, unless that ends it (common practice, no source)."""
MOST_DAYS = 3 * 366
Piece = tuple[int, int]
"""Begin and end, counted from the midnight that begins the first day [min]."""


class Hours:
    """The spells in which a tech works, a day after the other, looked up as far as anyone asked."""

    def __init__(self, tech: Tech, begin: datetime.datetime):
        self.tech = tech
        self.first_day = begin.date()
        self.begin_min = begin.hour * 60 + begin.minute
        self.starts: list[int] = []
        self.ends: list[int] = []
        self.days = 0

    def extend(self) -> bool:
        """Look up the next day with hours; False where there is none in three years."""
        while self.tech.works and self.days < MOST_DAYS:
            opens = self.days * DAY_MIN + self.tech.opens_min
            closes = opens + self.tech.minutes_on(self.first_day + self.days * DAY)
            self.days += 1
            opens = max(opens, self.begin_min)
            if opens < closes:
                self.starts.append(opens)
                self.ends.append(closes)
                return True
        return False


class FreeTime:
    """What is left of a tech's hours while tickets are placed."""

    def __init__(self, hours: Hours):
        self.hours = hours
        self.starts = hours.starts[:]
        self.ends = hours.ends[:]
        self.known = len(self.starts)

    def find(self, minutes: int, earliest: int) -> list[Piece] | None:
        """Return the first free pieces from a moment on that hold so many minutes, or None where there are none.

        What was placed before is worked round: the work stops for it and goes on after it.
        """
        pieces: list[Piece] = []
        starts, ends = self.starts, self.ends
        i = bisect_right(ends, earliest)
        while minutes > 0:
            while i >= len(starts):
                if not self.look_on():
                    return None
            start, end = starts[i], ends[i]
            if start < earliest:
                start = earliest
            room = end - start
            if room >= minutes:
                pieces.append((start, start + minutes))
                return pieces
            if room >= LEAST_PIECE_MIN:
                pieces.append((start, end))
                minutes -= room
            i += 1
        return pieces

    def look_on(self) -> bool:
        """Take the next day of the hours in; False where there is none."""
        hours = self.hours
        if self.known == len(hours.starts) and not hours.extend():
            return False
        self.starts.append(hours.starts[self.known])
        self.ends.append(hours.ends[self.known])
        self.known += 1
        return True

    def take(self, pieces: list[Piece]) -> None:
        """Take pieces that were found out of what is free."""
        starts, ends = self.starts, self.ends
        for start, end in pieces:
            i = bisect_right(ends, start)
            if starts[i] == start:
                if ends[i] == end:
                    del starts[i], ends[i]
                else:
                    starts[i] = end
            elif ends[i] == end:
                ends[i] = start
            else:
                starts.insert(i, starts[i])
                ends.insert(i, start)
                starts[i + 1] = end

    def give(self, pieces: list[Piece]) -> None:
        """Give pieces that were taken back; what then touches is one piece again."""
        starts, ends = self.starts, self.ends
        for start, end in pieces:
            i = bisect_left(starts, end)
            if i < len(starts) and starts[i] == end:
                end = ends[i]
                del starts[i], ends[i]
            if i and ends[i - 1] == start:
                ends[i - 1] = end
            else:
                starts.insert(i, start)
                ends.insert(i, end)

    def copy(self) -> "FreeTime":
        """Return the same free time, to be taken from on its own."""
        same = FreeTime(self.hours)
        same.starts, same.ends, same.known = self.starts[:], self.ends[:], self.known
        return same
