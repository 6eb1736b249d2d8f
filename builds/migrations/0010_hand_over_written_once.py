"""Hand-over sheets are written once."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0009_hand_over_sheet")]
    operations = [Protect("builds_handoversheet", unique=["ticket_id"])]
