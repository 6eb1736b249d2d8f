from django.core.management.base import BaseCommand

from builds.office import keeping


class Command(BaseCommand):
    help = "Write the office's totals anew, from the quotes, change orders and work entries of all tickets."

    def handle(self, *args, **options):
        count = keeping.recompute(self.say)
        self.stdout.write(f"Totals of {count} tickets are written anew.")

    def say(self, text):
        if self.stdout.isatty():
            self.stdout.write(f"  {text}")
