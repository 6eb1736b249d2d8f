from django.core.management.base import BaseCommand, CommandError

from builds import demo
from builds.models import Ticket
from catalog.models import HullType
from shop.pdf import Unavailable


class Command(BaseCommand):
    help = "Write the invented demo shop: a year of tickets up to now. A shop that has a ticket is left as it is."

    def add_arguments(self, parser):
        parser.add_argument("--days", type=int, default=demo.WHOLE_YEAR_DAYS, help="how far back (the whole year)")

    def handle(self, *args, days, **options):
        if Ticket.objects.exists():
            self.stdout.write("There are tickets already; nothing was added.")
            return
        if not HullType.objects.exists():
            raise CommandError("The catalogue is empty. Load it first: python3 manage.py load_catalogue")
        try:
            made = demo.write_year(self.say, days=days)
        except Unavailable as error:
            raise CommandError(str(error)) from None
        self.stdout.write(f"Demo shop: {made} tickets")

    def say(self, text):
        if self.stdout.isatty():
            self.stdout.write(f"  {text}")
            self.stdout.flush()
