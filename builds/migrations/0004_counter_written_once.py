"""Links to sign, change orders, money and invoices are written once; tables that were altered are protected again."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0003_counter")]
    operations = [
        Protect("builds_quote", unique=["number"]),
        Protect("builds_acceptance", unique=["quote_id", "link_id"]),
        Protect("builds_workorder"),
        Protect("builds_signaturelink", unique=["secret_sha256"]),
        Protect("builds_changeorder", unique=["number"]),
        Protect("builds_moneyentry", unique=["number"]),
        Protect("builds_invoice", unique=["number", "cancels_id"]),
    ]
