from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop.keeping import restoring


class Command(BaseCommand):
    help = "Put a backup back into an empty place: an empty database and a data folder without its files."

    def add_arguments(self, parser):
        parser.add_argument("backup", type=Path)
        parser.add_argument("--accept-findings", action="store_true", help="also where the shop was not sound then")

    def handle(self, *args, backup, accept_findings, **options):
        try:
            report = restoring.restore(backup, accept_findings=accept_findings)
        except restoring.NotRestored as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"Restored {backup.name}: {report.rows} rows written once, {report.files} papers and files.")
        self.stdout.write(f"Journal: {report.entries} entries, head {report.head}")
        if report.findings:
            raise CommandError("\n".join(["Restored as it was, with what was wrong then:", *report.findings]))
        self.stdout.write("Everything is as it was written. Everyone signs in anew.")
