"""The shelf: what is on hand, needed, on order and received; the customer's own parts; what the bench waits for."""

import catalog.fields
import django.db.models.deletion
import shop.fields
from django.conf import settings
from django.db import migrations, models

from shop.append_only import Protect


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0018_calendar'),
        ('catalog', '0006_shelf_and_suppliers'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='OrderLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('packs', models.PositiveIntegerField()),
                ('quantity', shop.fields.ThousandthsField()),
                ('unit_cost', catalog.fields.UnitPriceField()),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='Movement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('received', 'received'), ('used', 'used on a ticket'), ('counted', 'counted'), ('returned', 'came back'), ('sent_back', 'sent back'), ('damaged', 'damaged')], max_length=10)),
                ('quantity', shop.fields.ThousandthsField()),
                ('on_hand_after', shop.fields.ThousandthsField()),
                ('at', models.DateTimeField()),
                ('why', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('takes_back', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='taken_back_by', to='builds.movement')),
                ('ticket', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.ticket')),
                ('order_line', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='builds.orderline')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='Delivery',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', shop.fields.ThousandthsField()),
                ('boxes_opened', models.BooleanField()),
                ('condition', models.CharField(choices=[('good', 'good'), ('short', 'good, but fewer than the note says'), ('damaged', 'damaged'), ('wrong', 'the wrong part')], max_length=10)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deliveries', to='builds.orderline')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='OwnPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('line_key', models.CharField(max_length=20)),
                ('received_on', models.DateField(null=True)),
                ('condition', models.CharField(choices=[('good', 'good'), ('worn', 'worn, can be fitted'), ('damaged', 'damaged, cannot be fitted'), ('missing', 'not brought, or not complete')], max_length=10)),
                ('powered', models.CharField(choices=[('not_tried', 'not tried'), ('passed', 'passed'), ('failed', 'failed')], default='not_tried', max_length=10)),
                ('reading', models.CharField(blank=True, max_length=60)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='own_parts', to='builds.ticket')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.CreateModel(
            name='PartMissing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('key', models.CharField(max_length=64, unique=True)),
                ('line_key', models.CharField(max_length=20)),
                ('name', models.CharField(max_length=120)),
                ('quantity', models.PositiveSmallIntegerField(default=1)),
                ('step', models.PositiveSmallIntegerField(null=True)),
                ('words', models.CharField(max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('movement', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.movement')),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.ticket')),
            ],
            options={
                'ordering': ['at', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PartFound',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('how', models.CharField(choices=[('found', 'it was here after all'), ('other', 'solved in another way'), ('received', 'it came'), ('changed', 'no longer on the ticket')], max_length=10)),
                ('words', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('missing', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='found', to='builds.partmissing')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PurchaseOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=20, unique=True)),
                ('supplier', models.CharField(blank=True, max_length=80)),
                ('reference', models.CharField(blank=True, max_length=60)),
                ('ordered_on', models.DateField()),
                ('expected_on', models.DateField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('closed', models.BooleanField(default=False)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.AddField(
            model_name='orderline',
            name='order',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='builds.purchaseorder'),
        ),
        migrations.CreateModel(
            name='StockItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on_hand', shop.fields.ThousandthsField(default=0)),
                ('kept', models.BooleanField(default=False)),
                ('accessory', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stock', to='catalog.accessorytype')),
                ('consumable', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stock', to='catalog.consumable')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.AddField(
            model_name='partmissing',
            name='item',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.stockitem'),
        ),
        migrations.AddField(
            model_name='orderline',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='order_lines', to='builds.stockitem'),
        ),
        migrations.CreateModel(
            name='Need',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('line_key', models.CharField(blank=True, max_length=20)),
                ('quantity', shop.fields.ThousandthsField()),
                ('since', models.DateField()),
                ('needed_on', models.DateField(null=True)),
                ('used', models.BooleanField(default=False)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='needs', to='builds.ticket')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='needs', to='builds.stockitem')),
            ],
            options={
                'ordering': ['id'],
            },
        ),
        migrations.AddField(
            model_name='movement',
            name='item',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='movements', to='builds.stockitem'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.CheckConstraint(condition=models.Q(('on_hand__gte', 0)), name='stock_never_below_nothing'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('accessory__isnull', False), ('consumable__isnull', True)), models.Q(('accessory__isnull', True), ('consumable__isnull', False)), _connector='OR'), name='stock_of_one_thing'),
        ),
        migrations.AddIndex(
            model_name='partmissing',
            index=models.Index(fields=['ticket', 'at'], name='part_missing_at'),
        ),
        migrations.AddIndex(
            model_name='need',
            index=models.Index(fields=['used', 'item'], name='need_open_of_item'),
        ),
        Protect("builds_orderline"),
        Protect("builds_movement", unique=["takes_back_id"]),
        Protect("builds_delivery"),
        Protect("builds_ownpart"),
        Protect("builds_partmissing", unique=["key", "movement_id"]),
        Protect("builds_partfound", unique=["missing_id"]),
    ]
