from django.core.management.base import BaseCommand, CommandError

from shop.keeping import sound


class Command(BaseCommand):
    help = "Prove that the journal, the papers and the database are as they were written; the exit code is 1 if not."

    def add_arguments(self, parser):
        parser.add_argument("--head", default="", help="a journal head from a paper or a backup, as '1204 3f9a...'")

    def handle(self, *args, head, **options):
        report = sound.verify()
        findings = [*report.findings, *sound.against(head)]
        self.stdout.write(f"Journal: {report.entries} entries, head {report.head}")
        self.stdout.write(f"Written once: {report.rows} rows, {report.files} files")
        if findings:
            raise CommandError("\n".join([*findings, f"{len(findings)} findings. Nothing was changed."]))
        self.stdout.write("Everything is as it was written.")
