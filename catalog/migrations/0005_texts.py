"""The owner words the papers anew."""

import catalog.models.rates
from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0004_waiting_file'),
    ]

    operations = [
        migrations.AddField(
            model_name='shoprates',
            name='texts',
            field=catalog.models.rates.TextsField(blank=True, default=dict),
        ),
    ]
