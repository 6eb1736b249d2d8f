from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, models
from django.db.models import F, Max, Sum

from shop import forms
from shop.fields import MoneyField


class Till(models.Model):
    amount = MoneyField(null=True)

    class Meta:
        app_label = "shop"
        managed = False


@pytest.fixture
def till(db):
    """A table that only these tests have."""
    with connection.schema_editor() as editor:
        editor.create_model(Till)
    yield Till.objects
    with connection.schema_editor() as editor:
        editor.delete_model(Till)


needs_its_own_table = pytest.mark.django_db(transaction=True)


@needs_its_own_table
def test_the_column_holds_whole_minor_units(till):
    till.create(amount=Decimal("129.50"))
    with connection.cursor() as cursor:
        cursor.execute("SELECT amount FROM shop_till")
        assert cursor.fetchone() == (12950,)


@needs_its_own_table
def test_a_thousand_dimes_make_a_hundred_exactly(till):
    """0.10 is no binary float: summed as floats a thousand of them make 99.9999999999986."""
    till.bulk_create(Till(amount=Decimal("0.10")) for _ in range(1000))
    assert sum([0.1] * 1000) != 100
    assert till.aggregate(total=Sum("amount"))["total"] == Decimal("100.00")


@needs_its_own_table
def test_amounts_are_found_ordered_and_compared_as_money(till):
    for amount in ("9.99", "10.00", "100.00", None):
        till.create(amount=amount)
    assert till.get(amount=Decimal("10")).amount == Decimal("10.00")
    assert till.filter(amount__gt=Decimal("9.99")).count() == 2
    assert till.aggregate(most=Max("amount"))["most"] == Decimal("100.00")
    assert till.exclude(amount=None).latest("amount").amount == Decimal("100.00")
    assert till.filter(amount__isnull=True).count() == 1
    till.exclude(amount=None).update(amount=F("amount") + F("amount"))
    assert till.aggregate(total=Sum("amount"))["total"] == Decimal("239.98")


@pytest.mark.parametrize("amount", [Decimal("1.005"), 0.1, "ten", "NaN", "Infinity"])
def test_an_amount_that_is_not_rounded_or_not_money_is_never_written(amount):
    with pytest.raises(ValidationError):
        MoneyField().get_prep_value(amount)


def test_an_amount_keeps_all_its_minor_digits():
    assert str(MoneyField().to_python("5")) == "5.00"


def test_a_model_form_asks_for_money_in_words():
    assert isinstance(MoneyField().formfield(), forms.MoneyField)
