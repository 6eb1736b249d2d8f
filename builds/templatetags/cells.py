"""The cells of a row of the office's tables. Tables have thousands of them, so that no template is asked for each."""

from typing import Any

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from builds.office import tables
from builds.office.tables import Column
from shop import clock
from shop.templatetags.show import NOTHING
from shop.units import MINUS, THIN, number

register = template.Library()


@register.filter
def cells(pairs: list[tuple[Column, Any]]) -> SafeString:
    """Return the cells of a row, each written as its column says."""
    return mark_safe("".join(cell(column, value) for column, value in pairs))


def cell(column: Column, value: Any) -> str:
    if column.kind == tables.TEXT:
        return f"<td>{escape(value or '')}</td>"
    if column.kind == tables.DATE:
        return f'<td class="nb">{clock.local(value):%-d %b %Y}</td>'
    written = NOTHING if value is None else WRITTEN[column.kind](value)
    return f'<td class="num"><b>{written}</b></td>' if column.strong else f'<td class="num">{written}</td>'


def money(amount: Any) -> str:
    return f"{MINUS if amount < 0 else ''}{abs(amount):,f}"


def plus(value: Any) -> str:
    return "" if value < 0 else "+"


WRITTEN = {
    tables.MONEY: money,
    tables.MINUTES: lambda value: number(value, 0),
    tables.COUNT: lambda value: number(value, 0),
    tables.QUANTITY: lambda value: number(value, 1),
    tables.SHARE: lambda value: f'{number(float(value) * 100, 0)}{THIN}<span class="u">%</span>',
    tables.SIGNED_MONEY: lambda value: plus(value) + money(value),
    tables.SIGNED_MINUTES: lambda value: plus(value) + number(value, 0),
}
