"""How a figure reads on paper: no line break ever parts a number from its unit."""

import datetime
import math
import re
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from builds.drawings.text import shorten, width
from shop.units import MINUS, THIN, US, WIDE, format_small_length, number

UNITS = "mm|cm|m|km|ml|l|L|kg|g|lb|lbf|oz|A|mA|V|W|Wh|Ah|AWG|h|min|s|Nm|psi|months?|weeks?|days?|hours?|minutes?"
_PARTED = re.compile(rf"(?<=\d) (?=(?:{UNITS})(?![A-Za-z])|[%°])")
# "in" is a word too, so it keeps the width of a word's space.
_INCHES = re.compile(r"(?<=\d) (?=(?:in|ft)(?![A-Za-z]))")
_TIMES = re.compile(r"(?<=\d) × (?=\d)")
# The head of an A4 page: 62 % and 38 % of 182 mm (print.css).
HEAD_PT, LEFT_PT, RIGHT_PT = 10.5, 318.0, 195.0
LETTERS = 26
LONGEST_RUN = 2


def with_unit(value: float, digits: int, unit: str) -> str:
    return f"{number(value, digits)}{THIN}{unit}"


def trimmed(value: float, digits: int, unit: str) -> str:
    """Return a figure without the noughts at its end: "5 mm", "4.9 mm", "7.5 A"."""
    text = number(value, digits)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text}{THIN}{unit}"


def inches(length_mm: float) -> str:
    """Return millimetres in inches to 1/32, kept together."""
    return format_small_length(length_mm, US).replace(" ", THIN)


def in_fraction(inches_: float, parts: int) -> str:
    """Return inches as a whole number and a fraction to the nearest 1/parts: "2 1/8", kept together."""
    whole, top = divmod(round(inches_ * parts), parts)
    fraction = str(Fraction(top, parts)) if top else ""
    return THIN.join(filter(None, (str(whole) if whole or not top else "", fraction)))


def percent(fraction: float | Decimal, digits: int = 0) -> str:
    return trimmed(float(fraction) * 100, digits, "%")


def money(amount: str | Decimal, currency: str = "") -> str:
    """Return an amount with thousands separators and all its minor digits; with its currency where one is given."""
    exact = Decimal(amount)
    text = f"{MINUS if exact < 0 else ''}{abs(exact):,f}"
    return f"{text}{WIDE}{currency}" if currency else text


def bound(text: str | None) -> str:
    """Return a sentence in which every number keeps its unit: "24 h" and "4 × 5 mm" stand on one line."""
    words = _PARTED.sub(THIN, " ".join((text or "").split()))
    return _TIMES.sub(f"{WIDE}×{WIDE}", _INCHES.sub(WIDE, words))


def day(date: datetime.date | None) -> str:
    """Return a date as "25 Nov 2026"."""
    return f"{date.day}{WIDE}{date:%b}{WIDE}{date.year}" if date else ""


def weekday(date: datetime.date | None) -> str:
    return f"{date:%a}{WIDE}{day(date)}" if date else ""


def moment(at: datetime.datetime | None) -> str:
    """Return a moment as "25 Nov 2026, 14:58"."""
    return f"{day(at)}, {at:%H:%M}" if at else ""


def counted(count: int, one: str, many: str = "") -> str:
    return f"{count}{WIDE}{one if count == 1 else many or one + 's'}"


def for_left_edge(text: str) -> str:
    """Return a text as much of it as the left half of a page's head has room for; the first page has the whole."""
    return shorten(" ".join(text.split()), HEAD_PT, LEFT_PT, bold=True)


def for_right_edge(text: str, after: str = "") -> str:
    """Return a text with what follows it, shortened so that both fit the right half of a page's head."""
    room = RIGHT_PT - width(f"  {after}", HEAD_PT)
    return f"{shorten(' '.join(text.split()), HEAD_PT, room)}  {after}".strip()


def at_least(value: float, step: float) -> float:
    """Return the least multiple of a step that is no smaller than the value: what is cut or counted out."""
    return math.ceil(value / step - 1e-9) * step


def place_in_alphabet(letter: str) -> int:
    """Return the place of a letter in A, B … Z, AA, AB …, from 1; 0 for what is no such letter."""
    place = 0
    for char in letter:
        if not "A" <= char <= "Z":
            return 0
        place = place * LETTERS + ord(char) - ord("A") + 1
    return place


def letters_in_short(letters: Iterable[str]) -> str:
    """Return letters with runs of three and more joined: A to D, G, K, L is "A–D, G, K, L"."""
    runs: list[list[str]] = []
    for letter in letters:
        place = place_in_alphabet(letter)
        if runs and place and place == place_in_alphabet(runs[-1][-1]) + 1:
            runs[-1].append(letter)
        else:
            runs.append([letter])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > LONGEST_RUN else ", ".join(run) for run in runs)
