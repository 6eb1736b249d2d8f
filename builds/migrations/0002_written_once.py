"""Quotes, acceptances, work orders, kept catalogues and work entries are written once."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0001_initial"), ("shop", "0001_initial")]
    operations = [
        Protect("builds_keptcatalogue", unique=["sha256"]),
        Protect("builds_quote", unique=["number"]),
        Protect("builds_acceptance", unique=["quote_id"]),
        Protect("builds_workorder"),
        Protect("builds_workentry"),
    ]
