"""Told that the boat is ready; boats that come back; why a boat left unpaid."""

import django.db.models.deletion
import shop.fields
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0012_found_written_once'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='handoversheet',
            name='unpaid',
            field=models.TextField(blank=True),
        ),
        migrations.CreateModel(
            name='ComeBack',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.PositiveSmallIntegerField()),
                ('cause', models.CharField(choices=[('leak', 'leak'), ('electrical', 'electrical'), ('noise', 'noise'), ('fit', 'fit or place'), ('part', 'part failed'), ('owner', 'owner damage'), ('never_agreed', 'never agreed'), ('before_cure', 'used before cure')], max_length=20)),
                ('words', models.CharField(max_length=500)),
                ('opened_at', models.DateTimeField()),
                ('opened_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='come_backs', to='builds.ticket')),
            ],
            options={
                'ordering': ['ticket', 'n'],
            },
        ),
        migrations.AddField(
            model_name='workentry',
            name='come_back',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='work', to='builds.comeback'),
        ),
        migrations.CreateModel(
            name='ComeBackEnd',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('words', models.CharField(max_length=500)),
                ('parts_cost', shop.fields.MoneyField(default=0)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('come_back', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='end', to='builds.comeback')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ReadyTold',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('way', models.CharField(choices=[('telephone', 'by telephone'), ('message', 'by message'), ('counter', 'at the counter')], max_length=10)),
                ('name', models.CharField(max_length=120)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ready_told', to='builds.ticket')),
            ],
            options={
                'ordering': ['at', 'id'],
            },
        ),
        migrations.AddConstraint(
            model_name='comeback',
            constraint=models.UniqueConstraint(fields=('ticket', 'n'), name='come_back_once'),
        ),
    ]
