from django.core.management.base import BaseCommand, CommandError

from builds import demo
from builds.models import Ticket
from catalog.models import HullType
from shop.pdf import Unavailable


class Command(BaseCommand):
    help = "Write the invented demo shop: a year of tickets up to now. A shop that has a ticket is left as it is."

    def handle(self, *args, **options):
        if Ticket.objects.exists():
            self.stdout.write("There are tickets already; nothing was added.")
            return
        if not HullType.objects.exists():
            raise CommandError("The catalogue is empty. Load it first: python3 manage.py load_catalogue")
        try:
            made = demo.write_year(self.say)
        except Unavailable as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"Demo shop: {made} tickets")

    def say(self, text):
        if self.stdout.isatty():
            self.stdout.write(f"  {text}")
            self.stdout.flush()
