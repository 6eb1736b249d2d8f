"""What follows the check is written once; sheets and minutes got a column."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0013_handing")]
    operations = [
        Protect("builds_readytold"),
        Protect("builds_comeback"),
        Protect("builds_comebackend", unique=["come_back_id"]),
        Protect("builds_handoversheet", unique=["ticket_id"]),
        Protect("builds_workentry"),
    ]
