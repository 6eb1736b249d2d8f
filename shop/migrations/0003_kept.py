from django.db import migrations, models

from shop import append_only


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0002_sent_forms"),
    ]

    operations = [
        migrations.CreateModel(
            name="Backup",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("made_at", models.DateTimeField()),
                ("verified_at", models.DateTimeField(db_index=True)),
                ("file", models.CharField(max_length=200)),
                ("bytes", models.PositiveBigIntegerField()),
                ("sha256", models.CharField(max_length=64)),
                ("journal_number", models.PositiveBigIntegerField()),
                ("journal_hash", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["-verified_at"],
            },
        ),
        migrations.AddField(
            model_name="journalentry",
            name="seals_json",
            field=models.TextField(blank=True, default=""),
        ),
        append_only.Protect("shop_journalentry", unique=["number", "entry_hash"]),
        append_only.Protect("shop_backup"),
    ]
