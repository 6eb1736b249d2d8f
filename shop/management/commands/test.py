import sys

from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Run every test with pytest; arguments are passed on (--postgres first: on a PostgreSQL of its own)."

    def run_from_argv(self, argv):
        from tests.run import main

        sys.exit(main(argv[2:]))

    def handle(self, *args, **options):
        raise AssertionError("run_from_argv answers")
