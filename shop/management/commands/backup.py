from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.keeping import backups


class Command(BaseCommand):
    help = "Make a backup while the shop works, read it back, and drop the ones that the schedule no longer keeps."

    def add_arguments(self, parser):
        kept = backups.Keep()
        parser.add_argument("--into", type=Path, help="the folder (HULLBENCH_BACKUPS, else backups beside the data)")
        parser.add_argument("--daily", type=int, default=kept.daily, help="days that keep one (%(default)s)")
        parser.add_argument("--weekly", type=int, default=kept.weekly, help="weeks that keep one (%(default)s)")
        parser.add_argument("--monthly", type=int, default=kept.monthly, help="months that keep one (%(default)s)")

    def handle(self, *args, into, daily, weekly, monthly, **options):
        if min(daily, weekly, monthly) < 0 or daily < 1:
            raise CommandError("At least one day keeps its backup, and no count is below 0.")
        folder = into or settings.BACKUPS_DIR
        try:
            made = backups.make(folder)
        except backups.NotMade as error:
            raise CommandError(str(error)) from None
        if not made.report.is_sound:
            told = f"{made.path} was written, but the shop is not sound. Earlier backups stay."
            raise CommandError("\n".join([told, *made.report.findings]))
        backups.count(made)
        rows = sum(table["rows"] for table in made.manifest["tables"].values())
        self.stdout.write(f"{made.path}: {rows} rows, {len(made.manifest['files'])} files, read back and whole.")
        self.stdout.write(f"Journal head {made.report.head}" if made.report.entries else "The journal is empty.")
        for path in backups.drop_old(folder, backups.Keep(daily, weekly, monthly)):
            self.stdout.write(f"Dropped by the schedule: {path.name}")
