"""After how many days a part that ran out is here again."""

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0008_price_age'),
    ]

    operations = [
        migrations.AddField(
            model_name='shoprates',
            name='restock_days',
            field=models.PositiveSmallIntegerField(default=5, help_text='For types without days of their own.', validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 365 days.'), django.core.validators.MaxValueValidator(365, 'The figure lies between 0 and 365 days.')], verbose_name='a part that ran out is here after, days'),
        ),
    ]
