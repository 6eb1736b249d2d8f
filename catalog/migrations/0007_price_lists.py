"""Whose price list a waiting file is."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0006_shelf_and_suppliers'),
    ]

    operations = [
        migrations.AddField(
            model_name='waitingfile',
            name='supplier',
            field=models.CharField(blank=True, help_text='Whose price list it is.', max_length=80),
        ),
    ]
