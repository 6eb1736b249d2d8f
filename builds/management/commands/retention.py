from django.core.management.base import BaseCommand

from builds.actions import erasing


class Command(BaseCommand):
    help = "Empty the papers whose time has ended by the owner's rules, and the customers who have been away for long."

    def handle(self, *args, **options):
        done = erasing.run_retention(None)
        for kind, keys in done.items():
            self.stdout.write(f"{kind}: {len(keys)}")
        self.stdout.write("Done." if done else "Nothing is over its time.")
