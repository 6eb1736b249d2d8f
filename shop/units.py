"""Quantities at the edges: what a person types becomes one canonical float, a float becomes what a person reads.

Canonical units: metres, millimetres (diameters and small distances), kilograms, amperes, degrees Celsius, minutes.
pint holds the conversion factors; its registry takes a third of a second to build, so it is built on first use.
"""

import math
import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

METRIC, US = "metric", "us"
LONGEST_TEXT = 60
# Narrow no-break space, between a number and its unit; wider one between two such pairs.
THIN, WIDE = "\u202f", "\u00a0"
MINUS = "\u2212"


class UnitError(ValueError):
    """What was typed is no such quantity; the message says what is accepted."""


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity: its units with their spellings, the largest first, and the range that makes sense."""

    name: str
    canonical: str
    units: dict[str, tuple[str, ...]]
    low: float
    high: float
    accepted: str
    # The unit of a last number that has none, by the unit before it: 12'6 is 12 ft 6 in.
    then: tuple[str, str] = ("", "")


LENGTH = Dimension(
    "length",
    "m",
    {
        "m": ("m", "metre", "metres", "meter", "meters"),
        "foot": ("ft", "foot", "feet", "'"),
        "inch": ("in", "inch", "inches", '"', "''"),
        "cm": ("cm",),
        "mm": ("mm",),
    },
    -1000.0,
    1000.0,
    "41 mm, 3.7 m, 1 5/8 in or 12 ft 6 in",
    ("foot", "inch"),
)
MASS = Dimension(
    "mass",
    "kg",
    {
        "kg": ("kg", "kilo", "kilos"),
        "pound": ("lb", "lbs", "pound", "pounds"),
        "ounce": ("oz", "ounce", "ounces"),
        "g": ("g", "gram", "grams"),
    },
    0.0,
    100_000.0,
    "2.6 kg, 450 g, 40 lb or 5 lb 8 oz",
    ("pound", "ounce"),
)
CURRENT = Dimension(
    "current",
    "A",
    {"A": ("a", "amp", "amps", "ampere", "amperes"), "mA": ("ma",)},
    0.0,
    10_000.0,
    "1.5 A or 350 mA",
)
TEMPERATURE = Dimension(
    "temperature",
    "degC",
    {"degC": ("°c", "c", "degc"), "degF": ("°f", "f", "degf")},
    -273.15,
    1000.0,
    "20 °C or 68 °F",
)
DURATION = Dimension(
    "duration",
    "minute",
    {
        "hour": ("h", "hr", "hrs", "hour", "hours", ":"),
        "minute": ("min", "mins", "minute", "minutes"),
    },
    0.0,
    1_000_000.0,
    "90 min, 1.5 h, 1 h 30 or 1:30",
    ("hour", "minute"),
)

_FRACTION = r"(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
_DECIMAL = r"(?P<decimal>[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_UNIT = r"(?P<unit>''|['\":]|°?[a-z]+)?"
_PART = re.compile(f"(?:{_FRACTION}|{_DECIMAL}) ?{_UNIT}(?:[ -]*(?=[0-9.])|$)")


@cache
def registry() -> Any:
    """The one pint registry."""
    import pint

    return pint.UnitRegistry()


def parse_length(text: str, bare: str = "m", to: str = "m") -> float:
    """Return a length [m, or the unit `to`] from text such as "1 5/8 in", "41 mm" or 12'6".

    A number without a unit is in `bare`. Raises UnitError naming what is accepted.
    """
    return parse(text, LENGTH, bare, to)


def parse_mass(text: str, bare: str = "kg") -> float:
    """Return a mass [kg] from text such as "2.6 kg", "40 lb" or "5 lb 8 oz". Raises UnitError."""
    return parse(text, MASS, bare)


def parse_current(text: str, bare: str = "A") -> float:
    """Return a current [A] from text such as "1.5 A" or "350 mA". Raises UnitError."""
    return parse(text, CURRENT, bare)


def parse_temperature(text: str, bare: str = "degC") -> float:
    """Return a temperature [°C] from text such as "20", "-4 °C" or "68 °F". Raises UnitError."""
    return parse(text, TEMPERATURE, bare)


def parse_minutes(text: str, bare: str = "minute") -> float:
    """Return a duration [min] from text such as "90", "1.5 h", "1 h 30" or "1:30". Raises UnitError."""
    return parse(text, DURATION, bare)


def parse(text: str, dimension: Dimension, bare: str | None = None, to: str | None = None) -> float:
    """Return the quantity that `text` says, in the unit `to` (default: the dimension's canonical unit).

    A number without a unit is in `bare` (default: `to`). Mixed numbers, fractions and falling units add up
    (12 ft 6 1/2 in); a minus sign stands at the front only. Raises UnitError on anything else, and on a value
    outside the dimension's range.
    """
    to = to or dimension.canonical
    typed = text.strip()
    try:
        if len(typed) > LONGEST_TEXT:
            raise ValueError
        value = sum(convert(number, unit, to) for number, unit in _parts(_normalise(typed), dimension, bare or to))
    except (ValueError, ZeroDivisionError):
        raise UnitError(_refusal(typed, dimension)) from None
    ends = [convert(Fraction(str(end)), dimension.canonical, to) for end in (dimension.low, dimension.high)]
    if not ends[0] <= value <= ends[1]:
        low, high = (number(end, 2).rstrip("0").rstrip(".") for end in (dimension.low, dimension.high))
        unit = UNIT_MARKS.get(dimension.canonical, dimension.canonical)
        raise UnitError(f"“{_short(typed)}” is out of range. Accepted: {low} to {high}{THIN}{unit}.")
    return float(value)


def convert(number: Fraction, unit: str, to: str) -> Fraction:
    """Return a number of `unit` in the unit `to`; both are pint's names, of one dimension."""
    if unit == to:
        return number
    if unit.startswith("deg"):
        return Fraction(str(round(registry().Quantity(float(number), unit).to(to).magnitude, 9)))
    return number * _factor(unit, to)


@cache
def _factor(unit: str, to: str) -> Fraction:
    # The units here are defined by short decimals (1 in = 0.0254 m), so twelve digits are the definition itself.
    return Fraction(f"{registry().Quantity(1.0, unit).to(to).magnitude:.12g}")


def _normalise(text: str) -> str:
    # A vulgar fraction opens into 5⁄8, which must not run into the number before it.
    spaced = "".join(f" {char}" if unicodedata.category(char) == "No" else char for char in text)
    plain = unicodedata.normalize("NFKC", spaced).lower()
    for chars, replacement in (("⁄", "/"), ("′’‘", "'"), ("″”“", '"'), ("−–", "-"), ("º", "°")):
        for char in chars:
            plain = plain.replace(char, replacement)
    return " ".join(plain.split())


def _parts(words: str, dimension: Dimension, bare: str) -> list[tuple[Fraction, str]]:
    """The signed (number, unit) pairs of a text, units falling; ValueError where it is no such quantity."""
    size = list(dimension.units)
    spelled = {spelling: unit for unit, spellings in dimension.units.items() for spelling in spellings}
    sign = -1 if words.startswith("-") else 1
    words = words.removeprefix("-").removeprefix("+").lstrip()
    parts: list[tuple[Fraction, str]] = []
    place = 0
    while place < len(words) or not parts:
        match = _PART.match(words, place)
        if match is None:
            raise ValueError
        before = parts[-1][1] if parts else None
        if match["unit"]:
            unit = spelled.get(match["unit"])
        elif match.end() < len(words):
            unit = None
        else:
            unit = bare if before is None else dict([dimension.then]).get(before)
        if unit is None or (before is not None and size.index(unit) <= size.index(before)):
            raise ValueError
        parts.append((sign * _value(match), unit))
        place = match.end()
    return parts


def _value(match: re.Match[str]) -> Fraction:
    if match["decimal"]:
        return Fraction(match["decimal"])
    return int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))


def _refusal(typed: str, dimension: Dimension) -> str:
    hint = " Decimals take a point, not a comma." if "," in typed else ""
    said = f"“{_short(typed)}” is not a {dimension.name}." if typed else f"A {dimension.name} is missing."
    return f"{said} Accepted: {dimension.accepted}.{hint}"


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else text[:LONGEST_TEXT] + "…"


# What a person reads. `figures_of_...` give (number, unit) pairs, `format_...` the same as one string.

UNIT_MARKS = {"degC": "°C", "degF": "°F", "minute": "min", "hour": "h"}


def figures_of_length(length_m: float, system: str = METRIC, digits: int = 2) -> list[tuple[str, str]]:
    """Return a length [m] as metres with `digits` decimals, or as feet and sixteenths of an inch."""
    if system == US:
        return _feet_and_inches(length_m / 0.0254, 16)
    return [(_figure(length_m, digits), "m")]


def figures_of_small_length(length_mm: float, system: str = METRIC, digits: int = 0) -> list[tuple[str, str]]:
    """Return a length [mm] as millimetres with `digits` decimals, or as inches to the nearest 1/32."""
    if system == US:
        return [(_inches(length_mm / 25.4, 32), "in")]
    return [(_figure(length_mm, digits), "mm")]


def figures_of_mass(mass_kg: float, system: str = METRIC, digits: int = 1) -> list[tuple[str, str]]:
    """Return a mass [kg] as kilograms or pounds (1 lb = 0.45359237 kg) with `digits` decimals."""
    return [(_figure(mass_kg / 0.45359237, digits), "lb")] if system == US else [(_figure(mass_kg, digits), "kg")]


def figures_of_temperature(temperature_c: float, system: str = METRIC, digits: int = 0) -> list[tuple[str, str]]:
    """Return a temperature [°C] as degrees Celsius or Fahrenheit with `digits` decimals."""
    if system == US:
        return [(_figure(temperature_c * 9 / 5 + 32, digits), "°F")]
    return [(_figure(temperature_c, digits), "°C")]


def figures_of_current(current_a: float, system: str = METRIC, digits: int = 1) -> list[tuple[str, str]]:
    """Return a current [A] with `digits` decimals; the same in both systems."""
    return [(_figure(current_a, digits), "A")]


def figures_of_minutes(minutes: float) -> list[tuple[str, str]]:
    """Return a duration [min] as "45 min" or "10 h 15", to the whole minute."""
    whole = round(abs(minutes))
    sign = MINUS if minutes < 0 and whole else ""
    if whole < 60:
        return [(f"{sign}{whole}", "min")]
    hours, rest = divmod(whole, 60)
    return [(f"{sign}{hours:,}", "h"), *([(f"{rest:02}", "")] if rest else [])]


def join(figures: list[tuple[str, str]]) -> str:
    """Return the pairs as one string that no line break parts."""
    return WIDE.join(f"{number}{THIN}{unit}" if unit else number for number, unit in figures)


def format_length(length_m: float, system: str = METRIC, digits: int = 2) -> str:
    """Return `figures_of_length` as text: "3.70 m", "12 ft 1 11/16 in"."""
    return join(figures_of_length(length_m, system, digits))


def format_small_length(length_mm: float, system: str = METRIC, digits: int = 0) -> str:
    """Return `figures_of_small_length` as text: "41 mm", "1 5/8 in"."""
    return join(figures_of_small_length(length_mm, system, digits))


def format_mass(mass_kg: float, system: str = METRIC, digits: int = 1) -> str:
    """Return `figures_of_mass` as text: "34.0 kg", "75.0 lb"."""
    return join(figures_of_mass(mass_kg, system, digits))


def format_temperature(temperature_c: float, system: str = METRIC, digits: int = 0) -> str:
    """Return `figures_of_temperature` as text: "20 °C", "68 °F"."""
    return join(figures_of_temperature(temperature_c, system, digits))


def format_current(current_a: float, system: str = METRIC, digits: int = 1) -> str:
    """Return `figures_of_current` as text: "1.5 A"."""
    return join(figures_of_current(current_a, system, digits))


def format_minutes(minutes: float) -> str:
    """Return `figures_of_minutes` as text: "45 min", "10 h 15"."""
    return join(figures_of_minutes(minutes))


def _figure(value: float, digits: int) -> str:
    # Never grouped by a comma, which many read as a decimal sign (ISO 80000-1, from memory).
    return number(value, digits).replace(",", "")


def number(value: float, digits: int) -> str:
    """Return a count or amount with `digits` decimals, thousands separators and a real minus sign."""
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a figure to show")
    text = f"{abs(value):,.{digits}f}"
    return f"{MINUS}{text}" if value < 0 and text.strip("0.,") else text


def _inches(inches: float, parts: int) -> str:
    whole, top = divmod(round(abs(inches) * parts), parts)
    sign = MINUS if inches < 0 and (whole or top) else ""
    if not top:
        return f"{sign}{whole}"
    fraction = Fraction(top, parts)
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def _feet_and_inches(inches: float, parts: int) -> list[tuple[str, str]]:
    feet, rest = divmod(round(abs(inches) * parts), 12 * parts)
    if not feet:
        return [(_inches(inches, parts), "in")]
    sign = MINUS if inches < 0 else ""
    return [(f"{sign}{feet}", "ft"), *([(_inches(rest / parts, parts), "in")] if rest else [])]
