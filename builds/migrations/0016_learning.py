"""Reckonings over many tickets, and the learned minutes that the owner took, which are written once."""

import django.core.serializers.json
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop.append_only import Protect


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0015_kept_totals'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Reckoning',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('learning', 'learning'), ('what_if', 'what if')], max_length=10)),
                ('asked', models.JSONField(default=dict)),
                ('tickets', models.JSONField(default=list)),
                ('begun_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('found', models.JSONField(encoder=django.core.serializers.json.DjangoJSONEncoder, null=True)),
                ('begun_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='ReckoningSlice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.PositiveIntegerField()),
                ('found', models.JSONField(encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('reckoning', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='slices', to='builds.reckoning')),
            ],
            options={
                'ordering': ['n'],
            },
        ),
        migrations.CreateModel(
            name='LearnedChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('type', 'accessory type'), ('operation', 'shop operation'), ('factor', 'hull factor'), ('correlation', 'correlation of labour')], max_length=12)),
                ('code', models.CharField(max_length=60)),
                ('before', models.JSONField()),
                ('after', models.JSONField()),
                ('tickets', models.PositiveIntegerField()),
                ('credibility', models.FloatField(null=True)),
                ('holds_from', models.DateField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('takes_back', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='taken_back_by', to='builds.learnedchange')),
            ],
            options={
                'ordering': ['-id'],
                'indexes': [models.Index(fields=['kind', 'code', '-id'], name='learned_of')],
            },
        ),
        migrations.AddIndex(
            model_name='reckoning',
            index=models.Index(fields=['kind', '-id'], name='reckoning_kind'),
        ),
        migrations.AddConstraint(
            model_name='reckoningslice',
            constraint=models.UniqueConstraint(fields=('reckoning', 'n'), name='reckoning_slice_once'),
        ),
        Protect("builds_learnedchange", unique=["takes_back_id"]),
    ]
