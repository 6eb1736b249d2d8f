from django.core.management.base import BaseCommand, CommandError

from shop.running import condition

MARKS = {condition.GOOD: "ok", condition.CAUTION: "caution", condition.STOP: "STOP"}


class Command(BaseCommand):
    help = (
        "Look at database, disk, backups, clock, permissions and papers; the exit code is 1 where anything must stop."
    )
    requires_system_checks = ()

    def handle(self, *args, **options):
        found = condition.conditions()
        for one in found:
            self.stdout.write(f"{MARKS[one.severity]:8} {one.name}: {one.words}")
        if any(one.severity == condition.STOP for one in found):
            raise CommandError("Mend what is marked STOP before the shop is served.")
