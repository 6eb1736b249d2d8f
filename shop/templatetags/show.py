"""How figures look on a page: number, narrow no-break space, unit in a quiet span. Display only."""

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import mark_safe

from shop import units
from shop.money import round_money

register = template.Library()

# What stands in place of a figure that is not there.
NOTHING = "–"


def _marked(figures):
    pairs = (
        format_html('{}{}<span class="u">{}</span>', number, units.THIN, unit) if unit else number
        for number, unit in figures
    )
    return format_html_join(mark_safe(units.WIDE), "{}", ((pair,) for pair in pairs))


def _system(user_or_name):
    """The unit system named outright, or that of the user given."""
    return getattr(user_or_name, "units", user_or_name) or units.METRIC


@register.filter
def metres(length_m, system=units.METRIC):
    """Metres with two decimals; feet and inches for one who reads US customary."""
    return NOTHING if length_m is None else _marked(units.figures_of_length(length_m, _system(system)))


@register.filter
def millimetres(length_mm, system=units.METRIC):
    """Whole millimetres, or inches to 1/32."""
    return NOTHING if length_mm is None else _marked(units.figures_of_small_length(length_mm, _system(system)))


@register.filter
def mass(mass_kg, system=units.METRIC):
    return NOTHING if mass_kg is None else _marked(units.figures_of_mass(mass_kg, _system(system)))


@register.filter
def temperature(temperature_c, system=units.METRIC):
    return NOTHING if temperature_c is None else _marked(units.figures_of_temperature(temperature_c, _system(system)))


@register.filter
def current(current_a, digits=1):
    return NOTHING if current_a is None else _marked(units.figures_of_current(current_a, digits=digits))


@register.filter
def degrees(angle_deg, digits=1):
    """An angle, such as heel."""
    return NOTHING if angle_deg is None else _marked([(units.number(angle_deg, digits), "°")])


@register.filter
def percent(fraction, digits=0):
    """A fraction as a percentage."""
    return NOTHING if fraction is None else _marked([(units.number(float(fraction) * 100, digits), "%")])


@register.filter
def signed_percent(fraction, digits=0):
    """A share that something changes by: with its sign, a plus included."""
    return NOTHING if fraction is None else format_html("{}{}", "" if fraction < 0 else "+", percent(fraction, digits))


@register.filter
def minutes(value):
    """Minutes as "45 min" or "10 h 15"."""
    return NOTHING if value is None else _marked(units.figures_of_minutes(float(value)))


@register.filter
def number(value, digits=0):
    """A plain number with thousands separators."""
    return NOTHING if value is None else units.number(value, digits)


@register.filter
def quantity(value, unit=""):
    """A quantity without noughts at its end, with its unit where one is given."""
    if value is None:
        return NOTHING
    text = f"{value:,f}"
    return _marked([(text.rstrip("0").rstrip(".") if "." in text else text, unit)])


@register.filter
def money(amount, currency=""):
    """An amount with thousands separators and all its minor digits; with its currency where one is given."""
    if amount is None:
        return NOTHING
    sign = units.MINUS if amount < 0 else ""
    return _marked([(f"{sign}{abs(amount):,f}", currency)])


@register.filter
def signed_money(amount):
    """An amount that something changes by: with its sign, a plus included."""
    return format_html("{}{}", "" if amount < 0 else "+", money(amount))


@register.filter
def signed_minutes(value):
    """Minutes that something changes by: with their sign."""
    return format_html("{}{}", units.MINUS if value < 0 else "+", minutes(abs(value)))


@register.filter
@register.filter
def rate(amount, currency=""):
    """Money for an hour."""
    return NOTHING if amount is None else money(round_money(amount, currency or "USD"), f"{currency}/h")
