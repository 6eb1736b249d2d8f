from getpass import getpass

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from shop import people, roles


class Command(BaseCommand):
    help = "Write down one who works in the shop, above all the first owner; the password is asked for."

    def add_arguments(self, parser):
        parser.add_argument("username")
        parser.add_argument("--name", required=True)
        parser.add_argument("--initials", default="")
        parser.add_argument("--role", choices=roles.ROLES, default=roles.OWNER, help="(%(default)s)")

    def handle(self, *args, username, name, initials, role, **options):
        password = getpass("Password: ")
        if password != getpass("The same again: "):
            raise CommandError("The two passwords differ. Nothing was saved.")
        try:
            people.make_person(None, username=username, name=name, initials=initials, role=role, password=password)
        except ValidationError as error:
            raise CommandError("\n".join([*error.messages, "Nothing was saved."])) from None
        self.stdout.write(f"{name} may sign in as {username}, role {role}.")
