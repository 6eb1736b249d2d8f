"""Bundles; what a quote promises and how a link to sign is sent; days until a part is here."""

import catalog.fields
import catalog.vocabulary
import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='Bundle',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=60, unique=True, validators=[django.core.validators.RegexValidator('^[a-z0-9][a-z0-9_]*\\Z', 'A code has small letters, digits and underscores only, such as rod_holder_clamp_on.')])),
                ('name', models.CharField(max_length=80)),
                ('craft', catalog.fields.WordListField(blank=True, choices_from=catalog.vocabulary.Craft, help_text='None ticked: for every craft.', verbose_name='craft')),
                ('uses', catalog.fields.WordListField(blank=True, choices_from=catalog.vocabulary.Use, help_text='It comes first where the customer wants one of these.', verbose_name='use')),
                ('note', models.CharField(blank=True, help_text='What the counter says about it, in one sentence.', max_length=300)),
                ('place', models.PositiveSmallIntegerField(default=1, help_text='1 is offered first.', validators=[django.core.validators.MinValueValidator(1, 'The figure lies between 1 and 999.'), django.core.validators.MaxValueValidator(999, 'The figure lies between 1 and 999.')], verbose_name='place in the list')),
                ('withdrawn', models.BooleanField(default=False, help_text='Is offered no more; tickets that took it keep its lines.')),
                ('folded', catalog.fields.FoldedField(blank=True, default='', editable=False, sources=('name', 'code', 'note'))),
            ],
            options={
                'ordering': ['place', 'name', 'pk'],
            },
        ),
        migrations.AddField(
            model_name='accessorytype',
            name='lead_days',
            field=models.PositiveSmallIntegerField(default=0, help_text='0: on the shelf as a rule.', validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 365 days.'), django.core.validators.MaxValueValidator(365, 'The figure lies between 0 and 365 days.')], verbose_name='days until it is here'),
        ),
        migrations.AddField(
            model_name='shoprates',
            name='mail_from',
            field=models.EmailField(blank=True, help_text='Quotes and links to sign are sent from it.', max_length=254, verbose_name='e-mail address of the shop'),
        ),
        migrations.AddField(
            model_name='shoprates',
            name='quote_rule',
            field=models.CharField(choices=[('not_to_exceed', 'the price is not exceeded'), ('tolerance', 'up to a tolerance above')], default='not_to_exceed', help_text="Work that costs more needs the customer's agreement first.", max_length=20, verbose_name='what a quote promises'),
        ),
        migrations.AddField(
            model_name='shoprates',
            name='quote_tolerance',
            field=models.FloatField(default=0.1, help_text='Counts only where the rule allows one; at most 50 %.', validators=[django.core.validators.MinValueValidator(0, 'The figure lies between 0 and 0.5.'), django.core.validators.MaxValueValidator(0.5, 'The figure lies between 0 and 0.5.')], verbose_name='tolerance above a quote'),
        ),
        migrations.AddField(
            model_name='shoprates',
            name='signature_link_days',
            field=models.PositiveSmallIntegerField(default=14, help_text='After that the customer asks for a new one.', validators=[django.core.validators.MinValueValidator(1, 'The figure lies between 1 and 90 days.'), django.core.validators.MaxValueValidator(90, 'The figure lies between 1 and 90 days.')], verbose_name='a link to sign holds, days'),
        ),
        migrations.CreateModel(
            name='BundleLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveSmallIntegerField(default=1)),
                ('quantity', models.PositiveSmallIntegerField(default=1, validators=[django.core.validators.MinValueValidator(1, 'The figure lies between 1 and 99.'), django.core.validators.MaxValueValidator(99, 'The figure lies between 1 and 99.')], verbose_name='how many')),
                ('mounting', models.CharField(blank=True, choices=[('through_bolt', 'through bolt'), ('rivet', 'rivet'), ('well_nut', 'well nut'), ('flush_cutout', 'flush cut-out'), ('gear_track_t_bolt', 'T-bolt on a gear track'), ('brass_insert', 'brass insert'), ('existing_fastener', 'existing fastener'), ('scupper', 'scupper'), ('clamp', 'clamp'), ('strap', 'strap'), ('lashing', 'lashing'), ('adhesive', 'adhesive'), ('in_hull', 'inside the hull'), ('drop_in', 'dropped in')], help_text='Empty: the one that the type starts with.', max_length=20)),
                ('place_word', models.CharField(blank=True, help_text='What the code of a station starts with, such as console or rear_deck. Empty: the usual place.', max_length=60, validators=[django.core.validators.RegexValidator('^[a-z0-9][a-z0-9_]*\\Z', 'A word has small letters, digits and underscores only.')], verbose_name='station')),
                ('drive', models.BooleanField(default=False, verbose_name='drive battery')),
                ('accessory', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalog.accessorytype', to_field='code', verbose_name='accessory type')),
                ('bundle', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='catalog.bundle')),
            ],
            options={
                'verbose_name': 'line',
                'ordering': ['place', 'pk'],
                'abstract': False,
            },
        ),
    ]
