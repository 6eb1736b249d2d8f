"""What storage costs after the customer was told."""

import django.core.validators
import shop.fields
from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0002_bundles_and_promises'),
    ]

    operations = [
        migrations.AddField(
            model_name='shoprates',
            name='storage_fee_per_day',
            field=shop.fields.MoneyField(default=Decimal('0.00'), verbose_name='storage after that, a day'),
        ),
        migrations.AddField(
            model_name='shoprates',
            name='storage_free_days',
            field=models.PositiveSmallIntegerField(default=14, validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 365 days.'), django.core.validators.MaxValueValidator(365, 'The figure lies between 0 and 365 days.')], verbose_name='storage free after the customer is told, days'),
        ),
    ]
