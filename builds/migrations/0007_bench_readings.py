"""What the tests of a boat came to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0006_bench_marks_written_once'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='BenchReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('key', models.CharField(max_length=64, unique=True)),
                ('test', models.CharField(max_length=40)),
                ('line', models.CharField(blank=True, max_length=20)),
                ('figure', models.FloatField(blank=True, null=True)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('verdict', models.CharField(choices=[('passed', 'passed'), ('failed', 'failed'), ('skipped', 'left out')], max_length=10)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.ticket')),
            ],
            options={
                'ordering': ['at', 'id'],
                'abstract': False,
                'indexes': [models.Index(fields=['ticket', 'at'], name='bench_reading_at')],
            },
        ),
    ]
