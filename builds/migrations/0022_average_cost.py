"""What one unit on the shelf cost, and what it cost in each entry."""

from django.db import migrations

import catalog.fields
from shop.append_only import Protect


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0021_come_back_time'),
    ]

    operations = [
        migrations.AddField(
            model_name='movement',
            name='unit_cost',
            field=catalog.fields.UnitPriceField(null=True),
        ),
        migrations.AddField(
            model_name='stockitem',
            name='average_cost',
            field=catalog.fields.UnitPriceField(null=True),
        ),
        Protect("builds_movement", unique=["takes_back_id"]),
    ]
