"""The sheet that a boat leaves with."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0008_readings_written_once'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='HandOverSheet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('paper', models.CharField(max_length=6)),
                ('pdf', models.BinaryField()),
                ('pdf_sha256', models.CharField(max_length=64)),
                ('at', models.DateTimeField()),
                ('why', models.TextField(blank=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='hand_over_sheet', to='builds.ticket')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
