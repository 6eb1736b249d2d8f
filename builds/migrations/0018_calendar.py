"""The bench's calendar: hours, days off, places held by hand, feeds."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0017_privacy'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='BenchHours',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('week_min', models.JSONField()),
                ('opens_min', models.PositiveSmallIntegerField(default=540)),
                ('person', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='bench_hours', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='FeedLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('secret_sha256', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField()),
                ('person', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='feed_link', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='HeldPlace',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField(null=True)),
                ('after', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='builds.ticket')),
                ('before', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='builds.ticket')),
                ('tech', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='held_place', to='builds.ticket')),
            ],
        ),
        migrations.CreateModel(
            name='DayOff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='days_off', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['day'],
                'constraints': [models.UniqueConstraint(fields=('person', 'day'), name='day_off_once')],
            },
        ),
    ]
