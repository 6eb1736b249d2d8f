"""Readings of the bench are written once."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0007_bench_readings")]
    operations = [Protect("builds_benchreading", unique=["key"])]
