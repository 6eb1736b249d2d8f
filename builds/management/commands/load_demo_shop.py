import os

from django.core.management.base import BaseCommand

from builds import demo
from builds.models import Ticket


class Command(BaseCommand):
    help = "Write the invented demo shop: a year of tickets. A shop that has a ticket is left as it is."

    def handle(self, *args, **options):
        if Ticket.objects.exists():
            self.stdout.write("There are tickets already; nothing was added.")
            return
        made = demo.write_year(self.stdout.write, workers=os.cpu_count() or 1)
        self.stdout.write(f"Demo shop: {made} tickets.")
