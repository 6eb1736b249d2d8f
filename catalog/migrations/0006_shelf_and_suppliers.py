"""Where things lie, who delivers them, and how few are too few."""

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0005_texts'),
    ]

    operations = [
        migrations.AddField(
            model_name='accessorytype',
            name='order_pack',
            field=models.PositiveSmallIntegerField(default=1, help_text='Ordered in whole packs.', validators=[django.core.validators.MinValueValidator(1, 'The figure lies between 1 and 1,000.'), django.core.validators.MaxValueValidator(1000, 'The figure lies between 1 and 1,000.')], verbose_name='pieces in a pack'),
        ),
        migrations.AddField(
            model_name='accessorytype',
            name='part_number',
            field=models.CharField(blank=True, max_length=60, verbose_name="supplier's part number"),
        ),
        migrations.AddField(
            model_name='accessorytype',
            name='stock_minimum',
            field=models.PositiveIntegerField(default=0, help_text='Fewer than this beyond what tickets need are ordered. 0: ordered for tickets alone.', validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 100,000.'), django.core.validators.MaxValueValidator(100000, 'The figure lies between 0 and 100,000.')], verbose_name='fewest on the shelf'),
        ),
        migrations.AddField(
            model_name='accessorytype',
            name='supplier',
            field=models.CharField(blank=True, help_text='Empty: no supplier yet.', max_length=80),
        ),
        migrations.AddField(
            model_name='consumable',
            name='bin',
            field=models.CharField(blank=True, max_length=60, verbose_name='where it lies'),
        ),
        migrations.AddField(
            model_name='consumable',
            name='part_number',
            field=models.CharField(blank=True, max_length=60, verbose_name="supplier's part number"),
        ),
        migrations.AddField(
            model_name='consumable',
            name='stock_minimum',
            field=models.PositiveIntegerField(default=0, help_text='Fewer than this beyond what tickets need are ordered. 0: ordered for tickets alone.', validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 100,000.'), django.core.validators.MaxValueValidator(100000, 'The figure lies between 0 and 100,000.')], verbose_name='fewest on the shelf'),
        ),
        migrations.AddField(
            model_name='consumable',
            name='supplier',
            field=models.CharField(blank=True, help_text='Empty: no supplier yet.', max_length=80),
        ),
    ]
