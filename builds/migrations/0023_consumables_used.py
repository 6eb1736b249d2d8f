"""What tickets used of each consumable, written once."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import shop.fields
from shop.append_only import Protect


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0022_average_cost'),
        ('catalog', '0008_price_age'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='UsedConsumable',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', shop.fields.ThousandthsField()),
                ('estimated', shop.fields.ThousandthsField(default=0)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalog.consumable')),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.ticket')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        Protect("builds_usedconsumable"),
    ]
