"""What the bench found, the answers, photos; places of a change order that were agreed to one by one."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0010_hand_over_written_once'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='changeorder',
            name='initialled',
            field=models.JSONField(default=list),
        ),
        migrations.CreateModel(
            name='Found',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('key', models.CharField(max_length=64, unique=True)),
                ('step', models.CharField(blank=True, max_length=120)),
                ('n', models.PositiveSmallIntegerField(default=0)),
                ('words', models.CharField(max_length=500)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.ticket')),
            ],
            options={
                'ordering': ['at', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='BenchPhoto',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('key', models.CharField(max_length=64, unique=True)),
                ('n', models.PositiveSmallIntegerField(default=0)),
                ('note', models.CharField(blank=True, max_length=120)),
                ('jpeg', models.BinaryField()),
                ('sha256', models.CharField(max_length=64)),
                ('width_px', models.PositiveSmallIntegerField()),
                ('height_px', models.PositiveSmallIntegerField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.ticket')),
                ('found', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='builds.found')),
            ],
            options={
                'ordering': ['at', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='FoundAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('words', models.CharField(max_length=500)),
                ('changes', models.BooleanField(default=False)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('found', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='answer', to='builds.found')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddIndex(
            model_name='found',
            index=models.Index(fields=['ticket', 'at'], name='found_at'),
        ),
        migrations.AddIndex(
            model_name='benchphoto',
            index=models.Index(fields=['ticket', 'at'], name='bench_photo_at'),
        ),
    ]
