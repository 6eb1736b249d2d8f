from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from catalog import exchange
from catalog.records import Unusable


class Command(BaseCommand):
    help = "Load the shipped catalogue into the database. Loading it again changes nothing."

    def add_arguments(self, parser):
        parser.add_argument("folder", nargs="?", type=Path, default=exchange.CATALOGUE, help="folder of JSON files")

    def handle(self, *args, folder, **options):
        try:
            counts = exchange.load(folder)
        except Unusable as unusable:
            raise CommandError(str(unusable)) from None
        for loaded in counts:
            self.stdout.write(f"{loaded.kind}: {loaded.records}, {loaded.written} of them new or changed")
