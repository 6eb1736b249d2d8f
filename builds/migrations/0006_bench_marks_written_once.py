"""Ticks and clocks of the bench are written once."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0005_bench_marks")]
    operations = [
        Protect("builds_stepmark", unique=["key"]),
        Protect("builds_clockmark", unique=["key"]),
    ]
