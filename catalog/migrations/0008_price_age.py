"""From which age a price is old."""

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0007_price_lists'),
    ]

    operations = [
        migrations.AddField(
            model_name='shoprates',
            name='price_age_months',
            field=models.PositiveSmallIntegerField(default=12, help_text='The counter is then told to ask before quoting. 0: no price is old.', validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 120 months.'), django.core.validators.MaxValueValidator(120, 'The figure lies between 0 and 120 months.')], verbose_name='a price is old after, months'),
        ),
    ]
