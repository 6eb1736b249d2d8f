from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from shop import server
from shop.accounts import first_owner


class Command(BaseCommand):
    help = "Serve the shop: plain http for a proxy on this machine that ends TLS. DEVELOPERS.md names the settings."

    def add_arguments(self, parser):
        parser.add_argument("--bind", default="127.0.0.1:8000", help="address:port or unix:/path (%(default)s)")

    def handle(self, *args, bind, **options):
        if settings.DEMO or settings.DEBUG:
            raise CommandError("HULLBENCH_DEMO and HULLBENCH_DEBUG are for work on the program: unset them to serve.")
        call_command("check", deploy=True, fail_level="WARNING")
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise CommandError("The database is older than the program. Bring it up to date: python3 manage.py migrate")
        if first_owner.is_wanted():
            self.stdout.write(first_owner.console_words())
        server.collect_static()
        connection.close()
        server.become_gunicorn(bind, "--access-logfile", "-")
