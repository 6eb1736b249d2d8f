"""What was found, its answer and the photos are written once; change orders got a column."""

from django.db import migrations

from shop.append_only import Protect


class Migration(migrations.Migration):
    dependencies = [("builds", "0011_found_and_photos")]
    operations = [
        Protect("builds_found", unique=["key"]),
        Protect("builds_foundanswer", unique=["found_id"]),
        Protect("builds_benchphoto", unique=["key"]),
        Protect("builds_changeorder", unique=["number"]),
    ]
