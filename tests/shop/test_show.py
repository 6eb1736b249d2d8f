from decimal import Decimal

import pytest
from django.template import Context, Template

from shop.models import User


@pytest.mark.parametrize(
    ("tag", "value", "shown"),
    [
        ("metres", 3.7, '3.70\u202f<span class="u">m</span>'),
        ("metres:'us'", 3.6576, '12\u202f<span class="u">ft</span>'),
        ("millimetres", -41, '−41\u202f<span class="u">mm</span>'),
        ("mass", 34, '34.0\u202f<span class="u">kg</span>'),
        ("temperature", -4, '−4\u202f<span class="u">°C</span>'),
        ("current", 1.5, '1.5\u202f<span class="u">A</span>'),
        ("degrees", -2.14, '−2.1\u202f<span class="u">°</span>'),
        ("percent", 0.735, '74\u202f<span class="u">%</span>'),
        ("minutes", 615, '10\u202f<span class="u">h</span>\u00a015'),
        ("money", Decimal("-1234.50"), "−1,234.50"),
        ("money:'USD'", Decimal("3312.53"), '3,312.53\u202f<span class="u">USD</span>'),
        ("money", None, "–"),
        ("mass", None, "–"),
    ],
)
def test_figures_on_a_page(tag, value, shown):
    assert Template(f"{{% load show %}}{{{{ value|{tag} }}}}").render(Context({"value": value})) == shown


def test_what_someone_typed_as_a_currency_is_escaped():
    context = Context({"amount": Decimal("1.00"), "currency": "<b>"})
    shown = Template("{% load show %}{{ amount|money:currency }}").render(context)
    assert shown == '1.00\u202f<span class="u">&lt;b&gt;</span>'


def test_a_figure_is_shown_in_the_units_that_its_reader_chose():
    template = Template("{% load show %}{{ 18.1436948|mass:user }}")
    assert "40.0" in template.render(Context({"user": User(units=User.Units.US)}))
    assert "18.1" in template.render(Context({"user": User()}))
