from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from shop import journal
from shop.keeping import backups, filling


class Command(BaseCommand):
    help = "Bring the database up to the program: a backup first, then the steps, then a look at everything."
    requires_system_checks = ()

    def handle(self, *args, **options):
        ahead = filling.steps_ahead("default")
        if not ahead:
            self.stdout.write("The database is up to date.")
            call_command("check_shop", stdout=self.stdout)
            return
        made = self.backup() if MigrationRecorder(connection).applied_migrations() else None
        call_command("migrate", interactive=False, verbosity=0)
        self.stdout.write(f"{len(ahead)} steps taken.")
        if sealed := journal.seal_older():
            self.stdout.write(f"{sealed} rows from before the journal sealed any are sealed now.")
        if made:
            backups.count(made)
        call_command("verify", stdout=self.stdout)
        call_command("check_shop", stdout=self.stdout)

    def backup(self):
        """A backup of the database as it is, by the tables that it has."""
        try:
            made = backups.make(settings.BACKUPS_DIR)
        except backups.NotMade as error:
            raise CommandError(f"{error} Without a backup nothing is upgraded.") from None
        if not made.report.is_sound:
            told = f"{made.path} was written, but the shop is not sound. Nothing was upgraded."
            raise CommandError("\n".join([told, *made.report.findings]))
        self.stdout.write(f"Backup {made.path}, read back and whole.")
        return made
