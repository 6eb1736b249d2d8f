"""The counter: interview, alternatives, links to sign, change orders, money; tickets found without accents."""

import catalog.fields
import catalog.vocabulary
import django.db.models.deletion
import shop.fields
from django.conf import settings
from django.db import migrations, models


def fold_tickets(apps, schema_editor):
    for ticket in apps.get_model("builds", "Ticket").objects.iterator():
        ticket.save(update_fields=["folded"])


def find_agreed(apps, schema_editor):
    for acceptance in apps.get_model("builds", "Acceptance").objects.order_by("at").iterator():
        tickets = apps.get_model("builds", "Ticket").objects.filter(quotes=acceptance.quote_id)
        tickets.exclude(state__in=("draft", "quoted", "declined", "lapsed")).update(agreed_quote=acceptance.quote_id)


class Migration(migrations.Migration):

    dependencies = [
        ('builds', '0002_written_once'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='acceptance',
            name='agreed_electronically',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='acceptance',
            name='drawing',
            field=models.JSONField(default=list),
        ),
        migrations.AddField(
            model_name='acceptance',
            name='initials',
            field=models.CharField(blank=True, max_length=10),
        ),
        migrations.AddField(
            model_name='acceptance',
            name='scan',
            field=models.BinaryField(null=True),
        ),
        migrations.AddField(
            model_name='acceptance',
            name='scan_name',
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.AddField(
            model_name='acceptance',
            name='signed_pdf',
            field=models.BinaryField(null=True),
        ),
        migrations.AddField(
            model_name='acceptance',
            name='signed_sha256',
            field=models.CharField(blank=True, max_length=64),
        ),
        migrations.AddField(
            model_name='line',
            name='bundle',
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name='quote',
            name='alternative',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='quote',
            name='most',
            field=shop.fields.MoneyField(null=True),
        ),
        migrations.AddField(
            model_name='ticket',
            name='agreed_bench_min',
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='ticket',
            name='agreed_quote',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.quote'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='changing',
            field=models.BooleanField(default=False, help_text='A change order is being written; the bench waits for it.'),
        ),
        migrations.AddField(
            model_name='ticket',
            name='folded',
            field=catalog.fields.FoldedField(blank=True, default='', editable=False, sources=('number', 'title', 'asked')),
        ),
        migrations.AlterField(
            model_name='acceptance',
            name='recorded_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='acceptance',
            name='way',
            field=models.CharField(choices=[('counter', "on the counter's screen"), ('paper', 'on paper'), ('link', 'by a link')], max_length=10),
        ),
        migrations.CreateModel(
            name='Alternative',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveSmallIntegerField(default=0)),
                ('name', models.CharField(max_length=40)),
                ('is_current', models.BooleanField(default=False)),
                ('said', models.JSONField(blank=True, default=dict)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='alternatives', to='builds.ticket')),
            ],
            options={
                'ordering': ['place', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ChangeOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sheet_json', models.TextField()),
                ('estimate_json', models.TextField()),
                ('paper', models.CharField(max_length=6)),
                ('pdf', models.BinaryField()),
                ('pdf_sha256', models.CharField(max_length=64)),
                ('n', models.PositiveSmallIntegerField()),
                ('number', models.CharField(max_length=30, unique=True)),
                ('replaces', models.CharField(max_length=30)),
                ('what', models.JSONField()),
                ('why', models.TextField()),
                ('added_parts', shop.fields.MoneyField()),
                ('added_labour', shop.fields.MoneyField()),
                ('added_minutes', models.FloatField()),
                ('added_total', shop.fields.MoneyField()),
                ('total', shop.fields.MoneyField()),
                ('ready_on', models.DateField()),
                ('consent_way', models.CharField(choices=[('telephone', 'by telephone'), ('counter', 'at the counter'), ('message', 'by message')], max_length=10)),
                ('consent_name', models.CharField(max_length=120)),
                ('number_called', models.CharField(blank=True, max_length=40)),
                ('consent_at', models.DateTimeField()),
                ('recorded_at', models.DateTimeField()),
                ('override_reason', models.TextField(blank=True)),
                ('catalogue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.keptcatalogue')),
                ('quote', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='change_orders', to='builds.quote')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='change_orders', to='builds.ticket')),
            ],
            options={
                'ordering': ['ticket', 'n'],
            },
        ),
        migrations.AddField(
            model_name='ticket',
            name='agreed_change',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='builds.changeorder'),
        ),
        migrations.AddField(
            model_name='workorder',
            name='change_order',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='work_orders', to='builds.changeorder'),
        ),
        migrations.CreateModel(
            name='Interview',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveSmallIntegerField(default=0)),
                ('uses', catalog.fields.WordListField(blank=True, choices_from=catalog.vocabulary.Use)),
                ('hours_afloat', models.FloatField(blank=True, null=True)),
                ('hours_dark', models.FloatField(blank=True, null=True)),
                ('trips', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('motor', models.CharField(blank=True, choices=[('no', 'no'), ('later', 'later'), ('now', 'now')], max_length=10)),
                ('transport', models.CharField(blank=True, choices=[('roof', 'on the roof'), ('truck_bed', 'in a truck bed'), ('trailer', 'on a trailer'), ('cart', 'on a cart, on foot')], max_length=12)),
                ('lifters', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('storage', models.CharField(blank=True, choices=[('indoors', 'indoors'), ('shed', 'in a shed'), ('outdoors', 'outdoors')], max_length=10)),
                ('freezes', models.BooleanField(blank=True, null=True)),
                ('battery_now', models.CharField(blank=True, choices=[('none', 'none'), ('lead_acid', 'lead-acid'), ('lithium', 'lithium')], max_length=12)),
                ('side', models.CharField(blank=True, choices=[('port', 'port'), ('starboard', 'starboard')], max_length=10)),
                ('holes', models.CharField(blank=True, choices=[('fine', 'fine'), ('few', 'few'), ('none', 'none')], max_length=6)),
                ('own_parts', models.CharField(blank=True, max_length=300)),
                ('float_by', models.DateField(blank=True, null=True)),
                ('approver', models.CharField(blank=True, max_length=120)),
                ('approver_phone', models.CharField(blank=True, max_length=40)),
                ('ticket', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='asked_of', to='builds.ticket')),
            ],
            options={
                'ordering': ['place', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Invoice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('paper', models.CharField(max_length=6)),
                ('pdf', models.BinaryField()),
                ('pdf_sha256', models.CharField(max_length=64)),
                ('number', models.CharField(max_length=20, unique=True)),
                ('kind', models.CharField(choices=[('invoice', 'invoice'), ('credit', 'credit note')], default='invoice', max_length=10)),
                ('agreed', models.CharField(max_length=30)),
                ('at', models.DateTimeField()),
                ('why', models.CharField(blank=True, max_length=300)),
                ('parts', shop.fields.MoneyField()),
                ('labour', shop.fields.MoneyField()),
                ('consumables', shop.fields.MoneyField()),
                ('fees', shop.fields.MoneyField()),
                ('discount', shop.fields.MoneyField()),
                ('tax', shop.fields.MoneyField()),
                ('total', shop.fields.MoneyField()),
                ('balance', shop.fields.MoneyField()),
                ('cancels', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='cancelled_by', to='builds.invoice')),
                ('issued_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='invoices', to='builds.ticket')),
            ],
            options={
                'ordering': ['at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='MoneyEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('paper', models.CharField(max_length=6)),
                ('pdf', models.BinaryField()),
                ('pdf_sha256', models.CharField(max_length=64)),
                ('number', models.CharField(max_length=20, unique=True)),
                ('kind', models.CharField(choices=[('deposit', 'deposit'), ('payment', 'payment'), ('refund', 'refund')], max_length=10)),
                ('way', models.CharField(choices=[('cash', 'cash'), ('card', 'card'), ('transfer', 'bank transfer'), ('cheque', 'cheque')], max_length=10)),
                ('amount', shop.fields.MoneyField()),
                ('at', models.DateTimeField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('taken_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='money', to='builds.ticket')),
            ],
            options={
                'ordering': ['at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='SignatureLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('secret_sha256', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField()),
                ('expires_at', models.DateTimeField()),
                ('sent_to', models.EmailField(blank=True, max_length=254)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('quote', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links', to='builds.quote')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='acceptance',
            name='link',
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='acceptance', to='builds.signaturelink'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.UniqueConstraint(fields=('ticket', 'n'), name='change_order_once'),
        ),
        migrations.RunPython(fold_tickets, migrations.RunPython.noop),
        migrations.RunPython(find_agreed, migrations.RunPython.noop),
    ]
