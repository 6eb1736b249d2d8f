import django.contrib.auth.validators
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from shop import append_only


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="User",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "Someone has this user name already."},
                        max_length=60,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="user name",
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("initials", models.CharField(blank=True, max_length=5)),
                ("email", models.EmailField(blank=True, max_length=254)),
                (
                    "role",
                    models.CharField(
                        choices=[("counter", "Counter"), ("tech", "Tech"), ("owner", "Owner")],
                        default="counter",
                        max_length=10,
                    ),
                ),
                (
                    "units",
                    models.CharField(
                        choices=[("metric", "Metric"), ("us", "US customary")], default="metric", max_length=10
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Take the tick away when someone leaves; what they did stays on record.",
                        verbose_name="may sign in",
                    ),
                ),
                ("joined", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
            ],
            options={
                "ordering": ["name", "username"],
            },
        ),
        migrations.CreateModel(
            name="SignInLink",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("secret_sha256", models.CharField(max_length=64, unique=True)),
                ("expires", models.DateTimeField()),
                ("user", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name="JournalEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveBigIntegerField(unique=True)),
                ("at", models.DateTimeField()),
                ("actor_name", models.CharField(max_length=120)),
                ("action", models.CharField(max_length=60)),
                ("subject_kind", models.CharField(max_length=80)),
                ("subject_key", models.CharField(max_length=60)),
                ("subject_name", models.CharField(max_length=200)),
                ("before_json", models.TextField()),
                ("after_json", models.TextField()),
                ("why", models.TextField(blank=True)),
                ("previous_hash", models.CharField(max_length=64)),
                ("entry_hash", models.CharField(max_length=64, unique=True)),
                (
                    "actor",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "journal",
                "ordering": ["number"],
                "indexes": [models.Index(fields=["subject_kind", "subject_key", "number"], name="journal_subject")],
            },
        ),
        append_only.Protect("shop_journalentry", unique=["number", "entry_hash"]),
    ]
