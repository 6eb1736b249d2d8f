"""How a figure reads on paper: no line break ever parts a number from its unit."""

import datetime
import math
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

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
CELLS_IN_ROW = 3


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


def gained(amount: str | Decimal, currency: str = "") -> str:
    """Return what an amount rises or falls by, its sign before it: "+ 40.00", "− 12.50"."""
    exact = Decimal(amount)
    return f"{MINUS if exact < 0 else '+'}{THIN}{money(abs(exact), currency)}"


def currency_of(sheet: Mapping[str, Any], estimate: Mapping[str, Any]) -> str:
    return estimate["price"].get("currency") or sheet.get("shop", {}).get("currency") or "USD"


def balance_words(balance: Decimal) -> str:
    """Return how a customer stands with the shop, in words that go before the amount."""
    if balance < 0:
        return "To be paid back"
    return "Balance due" if balance else "Paid in full"


def bound(text: str | None) -> str:
    """Return a sentence in which every number keeps its unit: "24 h" and "4 × 5 mm" stand on one line."""
    words = _PARTED.sub(THIN, " ".join((text or "").split()))
    return _TIMES.sub(f"{WIDE}×{WIDE}", _INCHES.sub(WIDE, words))


def unbroken(text: str) -> str:
    """Return a text that stays on one line, such as a telephone number."""
    return WIDE.join(text.split())


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


def in_rows(cells: list[tuple[str, str]]) -> list[list[tuple[str, str]]]:
    """Return cells three to a row, the last row filled up with empty ones."""
    filled = cells + [("", "")] * (-len(cells) % CELLS_IN_ROW)
    return [filled[at : at + CELLS_IN_ROW] for at in range(0, len(filled), CELLS_IN_ROW)]


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
