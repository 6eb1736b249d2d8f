"""Lengths, masses, currents, temperatures and durations as people type and read them.

Factors: NIST Special Publication 811 (2008), appendix B.8: 1 in = 0.0254 m, 1 ft = 0.3048 m, 1 lb = 0.45359237 kg,
1 oz = 0.028349523125 kg, all exact; degree Fahrenheit: t/°C = (t/°F - 32)/1.8.
"""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop import units
from shop.units import US, UnitError


@pytest.mark.parametrize(
    ("typed", "metres"),
    [
        ("41 mm", 0.041),
        ("3.7", 3.7),
        ("3.7 m", 3.7),
        ("120cm", 1.2),
        ("2 m 30 cm", 2.3),
        ("1 5/8 in", 1.625 * 0.0254),
        ('1-5/8"', 1.625 * 0.0254),
        ("1⅝ in", 1.625 * 0.0254),
        ("5/8in", 0.625 * 0.0254),
        (".5 IN", 0.0127),
        ("12 ft", 3.6576),
        ("12'6\"", 3.81),
        ("12'6", 3.81),
        ("12′-6″", 3.81),
        ("12 ft 6 1/2 in", 150.5 * 0.0254),
        ("-0.25", -0.25),
        ("\u2212250 mm", -0.25),
        ("  41\u202fmm ", 0.041),
    ],
)
def test_a_length_may_be_typed_as_people_write_it(typed, metres):
    assert units.parse_length(typed) == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    "typed",
    ["", "nan", "inf", "1e9", "12,5 mm", "6 in 12 ft", "1/0 in", "5 lb", "1 2", "--3", "3 -4", "1 5/8 5 in"]
    + ["5 ft -", "٣ m", "1.2.3 m", "1/2/3", "3.7 m and a bit", "x" * 500, "1" * 61, "m", "0x10", "5 ft 3 ft"],
)
def test_what_is_no_length_is_refused_with_what_is_accepted(typed):
    with pytest.raises(UnitError, match="Accepted: 41 mm, 3.7 m, 1 5/8 in or 12 ft 6 in"):
        units.parse_length(typed)


def test_a_decimal_comma_is_refused_with_a_hint_since_it_could_be_a_thousand():
    with pytest.raises(UnitError, match="Decimals take a point, not a comma"):
        units.parse_length("1,234 mm")


@pytest.mark.parametrize("typed", ["1001 m", "-1001 m", "9" * 40])
def test_a_length_no_boat_has_is_out_of_range(typed):
    with pytest.raises(UnitError, match="out of range. Accepted: −1,000 to 1,000"):
        units.parse_length(typed)


def test_a_bare_number_takes_the_unit_of_its_field():
    assert units.parse_length("41", bare="mm") == 0.041
    assert units.parse_length("1 5/8", bare="inch", to="mm") == 41.275


@pytest.mark.parametrize(
    ("typed", "kilograms"),
    [("2.6 kg", 2.6), ("450 g", 0.45), ("40 lb", 18.1436948), ("5 lb 8 oz", 2.49475803500), ("5 lb 8", 2.494758035)],
)
def test_masses(typed, kilograms):
    assert units.parse_mass(typed) == pytest.approx(kilograms, rel=1e-12)


def test_a_mass_is_never_below_nothing():
    with pytest.raises(UnitError, match="out of range"):
        units.parse_mass("-1 kg")


@pytest.mark.parametrize(
    ("typed", "celsius"), [("20", 20), ("-4 °C", -4), ("68 °F", 20), ("32F", 0), ("-40 °f", -40), ("5℃", 5)]
)
def test_temperatures(typed, celsius):
    assert units.parse_temperature(typed) == pytest.approx(celsius, abs=1e-9)


def test_no_temperature_lies_below_absolute_zero():
    """-273.15 °C by the definition of the degree Celsius (SI brochure, 9th edition, 2.3.1)."""
    with pytest.raises(UnitError, match="out of range"):
        units.parse_temperature("-274")


@pytest.mark.parametrize(("typed", "amperes"), [("1.5", 1.5), ("350 mA", 0.35), ("2 amps", 2)])
def test_currents(typed, amperes):
    assert units.parse_current(typed) == amperes


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [("90", 90), ("90 min", 90), ("1.5 h", 90), ("1 h 30", 90), ("1h30", 90), ("1:30", 90), ("10 h 15", 615)],
)
def test_durations(typed, minutes):
    assert units.parse_minutes(typed) == minutes


@given(st.text(max_size=80))
def test_any_text_is_either_a_finite_length_or_refused_in_words(typed):
    try:
        assert math.isfinite(units.parse_length(typed))
    except UnitError as error:
        assert "Accepted" in str(error)


@given(st.floats(-900, 900))
def test_a_length_shown_in_feet_reads_back_within_half_a_sixteenth(metres):
    assert units.parse_length(units.format_length(metres, US)) == pytest.approx(metres, abs=0.0254 / 32 + 1e-12)


@given(st.integers(-20_000, 20_000))
def test_whole_millimetres_read_back_exactly(millimetres):
    assert units.parse_length(units.format_small_length(millimetres), to="mm") == millimetres


@given(st.integers(0, 100_000))
def test_minutes_read_back_exactly(minutes):
    assert units.parse_minutes(units.format_minutes(minutes).replace(",", "")) == minutes


@pytest.mark.parametrize(
    ("shown", "text"),
    [
        (units.format_length(3.7), "3.70\u202fm"),
        (units.format_length(3.7, US), "12\u202fft\u00a01 11/16\u202fin"),
        (units.format_length(3.6576, US), "12\u202fft"),
        (units.format_length(-0.0254, US), "−1\u202fin"),
        (units.format_length(-0.001), "0.00\u202fm"),
        (units.format_small_length(41.275, US), "1 5/8\u202fin"),
        (units.format_small_length(-41), "−41\u202fmm"),
        (units.format_mass(34), "34.0\u202fkg"),
        (units.format_mass(18.1436948, US), "40.0\u202flb"),
        (units.format_temperature(20, US), "68\u202f°F"),
        (units.format_current(1.5), "1.5\u202fA"),
        (units.format_minutes(45), "45\u202fmin"),
        (units.format_minutes(600), "10\u202fh"),
        (units.format_minutes(605), "10\u202fh\u00a005"),
    ],
)
def test_figures_carry_their_unit_after_a_space_that_does_not_break(shown, text):
    assert shown == text


def test_a_figure_that_is_none_is_never_shown():
    with pytest.raises(ValueError, match="not a figure"):
        units.format_length(math.nan)


def test_pint_is_not_loaded_before_a_unit_is_converted():
    code = "import shop.units, sys; shop.units.parse_length('3.7'); sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0
