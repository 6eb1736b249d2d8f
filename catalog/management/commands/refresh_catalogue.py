from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from catalog import exchange
from catalog.records import Unusable


class Command(BaseCommand):
    help = "Check the trade data of a folder and write it into fixtures/ in the spelling of the catalogue."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("source", type=Path, help="folder with accessories.json, hull_types.json, … and jobs/")

    def handle(self, *args, source, **options):
        try:
            counts = exchange.refresh(source)
        except Unusable as unusable:
            raise CommandError(str(unusable)) from None
        for loaded in counts:
            self.stdout.write(f"{loaded.kind}: {loaded.records}")
